package web

import (
	"net/url"
	"slices"
	"strings"
	"testing"
)

// Which addresses lead nobody else here: RFC 6761 (localhost), RFC 6762
// (.local), RFC 1918 and RFC 4193 (addresses of one's own network); an address
// without https is common practice, no source.
func TestReachOfTheAddress(t *testing.T) {
	const alone, near, open, good = "Nobody else can open these links.", "Only your own network can open these links.", "What viewers type travels open.", ""
	for address, want := range map[string]string{
		"http://localhost:8080": alone, "http://give.localhost": alone, "http://127.0.0.1:8080": alone, "http://[::1]:8080": alone, "https://localhost": alone,
		"http://192.168.1.20:8080": near, "http://10.0.0.3": near, "http://172.31.0.1": near, "http://[fd00::1]": near, "http://studio.local": near, "http://studio:8080": near,
		"http://172.32.0.1": open, "http://give.example.com": open, "http://203.0.113.7:8080": open,
		"https://give.example.com": good, "https://203.0.113.7": good,
	} {
		u, err := url.Parse(address)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if w := reach(u, false); w != nil {
			got = w.Head
		}
		if got != want {
			t.Errorf("%s: %q, want %q", address, got, want)
		}
		if can := phoneWords(u) == ""; can != (want != alone) {
			t.Errorf("%s: a phone can open it: %v", address, can)
		}
		if trial := trialWords(u) != ""; trial != (want == alone || want == near) {
			t.Errorf("%s: called a trial: %v", address, trial)
		}
		if w := reach(u, false); w != nil && !slices.Contains(w.Words(), "-url") {
			t.Errorf("%s: the command %q has no word -url in one piece", address, w.Command)
		}
		if w := reach(u, true); (w == nil) != (want == good) || w != nil && strings.Contains(w.Text, "another data folder") == (want == open) {
			t.Errorf("%s, with something posted: %+v", address, w)
		}
	}
}
