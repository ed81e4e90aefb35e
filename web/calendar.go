package web

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A calendarEvent is one instant for a calendar (RFC 5545, 3.6.1).
type calendarEvent struct {
	UID      string
	At       time.Time // when it is; it has no length
	Changed  time.Time // of this version
	Sequence int       // grows with each version
	Off      bool      // called off
	Summary  string
	About    string
	Link     string
}

// foldAt is the most octets of a line without its break (RFC 5545, 3.1).
const foldAt = 75

// write gives the file: lines end in CRLF, and long ones are folded.
func (e calendarEvent) write() []byte {
	status := "CONFIRMED"
	if e.Off {
		status = "CANCELLED"
	}
	var b bytes.Buffer
	for _, line := range []string{
		"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Evenhand//Draw//EN", "BEGIN:VEVENT",
		"UID:" + calendarText(e.UID), "DTSTAMP:" + calendarTime(e.Changed), "LAST-MODIFIED:" + calendarTime(e.Changed),
		"SEQUENCE:" + strconv.Itoa(e.Sequence), "DTSTART:" + calendarTime(e.At), "SUMMARY:" + calendarText(e.Summary),
		"DESCRIPTION:" + calendarText(e.About), "URL:" + e.Link, "STATUS:" + status, "TRANSP:TRANSPARENT",
		"END:VEVENT", "END:VCALENDAR",
	} {
		fold(&b, line)
	}
	return b.Bytes()
}

// fold writes a line in parts of at most foldAt octets, each further one behind
// a blank that counts. No character is cut in two.
func fold(b *bytes.Buffer, line string) {
	for most := foldAt; len(line) > most; most = foldAt - 1 {
		cut := most
		for !utf8.RuneStart(line[cut]) {
			cut--
		}
		b.WriteString(line[:cut] + "\r\n ")
		line = line[cut:]
	}
	b.WriteString(line + "\r\n")
}

// calendarEscapes are those of a text (RFC 5545, 3.3.11).
var calendarEscapes = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", "")

func calendarText(s string) string { return calendarEscapes.Replace(s) }

// calendarTime is an instant, in UTC (RFC 5545, 3.3.5, form 2).
func calendarTime(t time.Time) string { return t.UTC().Format("20060102T150405Z") }

func calendarURL(id string) string { return "/g/" + id + "/calendar.ics" }

// calendarOf is where the draw's calendar file is, while the draw is to come;
// otherwise "".
func calendarOf(g giveaway.Giveaway) string {
	switch g.State {
	case giveaway.StateOpen, giveaway.StateFreezing, giveaway.StateFrozen:
		return calendarURL(g.ID)
	}
	return ""
}

// calendar is the draw's entry. The id never changes, and each change of the
// posted terms is a newer version.
func (s *Site) calendar(g giveaway.Giveaway) calendarEvent {
	e := calendarEvent{
		UID: "draw-" + g.ID + "@" + s.cfg.PublicURL.Hostname(), At: g.Opening.Event, Changed: g.Opened, Sequence: g.Revision - 1,
		Summary: g.Terms.Channel + ": the draw for " + g.Terms.PrizeWithin(), Link: s.link(homeURL(g.ID)),
	}
	if g.Opening.Revised.After(e.Changed) {
		e.Changed = g.Opening.Revised
	}
	e.About = "The draw is live, " + timeWords(g.Terms.Event) + ". Nobody has to be there to win.\n" + e.Link
	if g.State == giveaway.StateCancelled {
		e.Off, e.Changed = true, g.Cancelled
		e.Sequence++
		e.About = "This giveaway was called off: " + offWhy(g.CancelReason) + ". Nothing is drawn.\n" + e.Link
		if draw.ValidID(g.Successor) {
			e.About += "\nAnother giveaway takes its place: " + s.link(homeURL(g.Successor))
		}
	}
	return e
}

// getCalendar sends the draw's calendar file.
func (s *Site) getCalendar(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", `attachment; filename="`+g.ID+`-draw.ics"`)
	return c.Blob(http.StatusOK, "text/calendar; charset=utf-8", s.calendar(g).write())
}
