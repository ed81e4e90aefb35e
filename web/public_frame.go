package web

import (
	"net/url"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// The addresses of a giveaway's pages. An id and a ticket need no escaping; a
// private link might, since it comes from the address.
func homeURL(id string) string                  { return "/g/" + id }
func fairURL(id string) string                  { return "/g/" + id + "/fair/" }
func rulesURL(id string) string                 { return "/g/" + id + "/rules" }
func ticketURL(id string, t draw.Ticket) string { return "/g/" + id + "/t/" + t.String() }
func privateURL(id, link string) string         { return "/g/" + id + "/r/" + url.PathEscape(link) }

// frame is what stands around the pages of a giveaway.
func frame(g giveaway.Giveaway, at time.Time, title string) Frame {
	return Frame{Title: title + " · " + g.Terms.Channel, Left: g.Terms.Channel, Home: homeURL(g.ID), Right: headStamp(g, at), Sample: g.Sample}
}

// headStamp is where the giveaway stands, in a few words.
func headStamp(g giveaway.Giveaway, at time.Time) Stamp {
	t := g.Terms
	switch g.Phase(at) {
	case giveaway.PhaseSoon:
		return headTime("Opens", t.Opens.UTC, t.Opens.Zone)
	case giveaway.PhaseTaking:
		return headTime("Closes", t.Closes.UTC, t.Closes.Zone)
	case giveaway.PhaseDrawn, giveaway.PhaseFinished:
		return headTime("Drawn", g.Drawn, t.Event.Zone)
	case giveaway.PhaseOff:
		return Stamp{Before: "Called off"}
	}
	return headTime(drawIs(g, at), t.Event.UTC, t.Event.Zone)
}

// drawIs says before the draw's time whether that is still to come.
func drawIs(g giveaway.Giveaway, at time.Time) string {
	if at.Before(g.Terms.Event.UTC) {
		return "The draw is on"
	}
	return "The draw was set for"
}

// headTime leaves the year out: the full time stands in the text.
func headTime(before string, at time.Time, zone string) Stamp {
	s := stamp(before, at, zone)
	s.Words = strings.Replace(s.Words, at.Format(" 2006,"), ",", 1)
	return s
}

// ticketGroups are a ticket in groups of four.
func ticketGroups(t draw.Ticket) [4]string {
	s := t.String()
	return [4]string{s[:4], s[4:8], s[8:12], s[12:]}
}
