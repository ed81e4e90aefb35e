package web

import (
	"net/netip"
	"net/url"
	"slices"
	"strings"

	"evenhand/giveaway"
)

// anyPosted reports whether any giveaway here was posted.
func anyPosted(all []giveaway.Giveaway) bool {
	return slices.ContainsFunc(all, func(g giveaway.Giveaway) bool { return g.State != giveaway.StateDraft })
}

// A reachWarning says that the address under which this site runs is none for
// a real giveaway.
type reachWarning struct {
	Head    string
	Text    string
	Command string // that starts the server as it should be; it ends the text
}

// Words are the command's, none of which is broken at its hyphen.
func (w reachWarning) Words() []string { return strings.Fields(w.Command) }

// reach looks at the public address, on the page where the terms are posted:
// there it can still be changed, and there it is signed; later pages only say
// that it is a trial (trialWords). It is nil for one that is as it should be. It
// can't know whether anybody answers there: it knows the addresses that lead
// nobody else here, and those under which what people type travels open.
// Sources: RFC 6761 (localhost), RFC 6762 (.local), RFC 1918 and RFC 4193
// (addresses of one's own network).
//
// The host name signs what is posted, and a server with another name refuses
// the same data then; so what is to be done depends on whether anything here,
// a sample too, was posted already.
func reach(public *url.URL, posted bool) *reachWarning {
	again := " That will do for a trial. For a real giveaway stop the server first, and start it again with the address that viewers will see:"
	command := "go run ./cmd/server -url https://give.example.com"
	if posted {
		again = " What is posted here stays a trial. For a real giveaway start the server with another data folder and a real address:"
		command = "go run ./cmd/server -data real-data -url https://give.example.com"
	}
	host, ip := hostOf(public)
	switch {
	case onlyHere(host, ip):
		return &reachWarning{"Nobody else can open these links.", strings.TrimSpace(again), command}
	case onlyNear(host, ip):
		return &reachWarning{"Only your own network can open these links.", "They begin with " + public.String() + ", which leads nowhere from outside." + again, command}
	case public.Scheme != "https":
		return &reachWarning{"What viewers type travels open.", "The links begin with " + public.String() + ", and whoever is on the way can read what goes over an http:// address. For a real giveaway have it served over https, and start the server again with that:", "-url https://" + host}
	}
	return nil
}

// hostOf is the address's host, and its IP address where it is one.
func hostOf(public *url.URL) (host string, ip netip.Addr) {
	host = strings.ToLower(strings.TrimSuffix(public.Hostname(), "."))
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return host, netip.Addr{}
	}
	return host, ip
}

// onlyHere reports whether a host is this computer alone.
func onlyHere(host string, ip netip.Addr) bool {
	return host == "localhost" || strings.HasSuffix(host, ".localhost") || ip.IsValid() && (ip.IsLoopback() || ip.IsUnspecified())
}

// onlyNear reports whether a host is one of one's own network.
func onlyNear(host string, ip netip.Addr) bool {
	if ip.IsValid() {
		return ip.IsPrivate() || ip.IsLinkLocalUnicast()
	}
	return strings.HasSuffix(host, ".local") || !strings.Contains(host, ".")
}

// trialWords say beside the text for under the video that its links lead no
// viewer here; "" where they do.
func trialWords(public *url.URL) string {
	switch host, ip := hostOf(public); {
	case onlyHere(host, ip):
		return "This is a trial: only this computer can open the links in the text."
	case onlyNear(host, ip):
		return "This is a trial: only your own network can open the links in the text."
	}
	return ""
}

// phoneWords say under a code for a phone that none can open it; "" where one
// can.
func phoneWords(public *url.URL) string {
	if !onlyHere(hostOf(public)) {
		return ""
	}
	return "A phone can’t open this code: it leads to " + public.Host + ", and that is this computer alone. Here the remote opens on this screen."
}
