package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A paperPage takes a card or letter that the host types in.
type paperPage struct {
	entryPage
	ID      string
	Came    field  // the day that its postmark bears, or that it came
	Problem string // such as an address that is in already
	Days    string // first and last day that are in time, in words
}

func (d *desk) getPaper(c echo.Context) error {
	g, err := d.openDoor(c)
	if err != nil {
		return err
	}
	return d.showPaper(c, http.StatusOK, g, formState{}, "", "", "")
}

// showPaper shows the form. Wrong says what is wrong with the day, problem what
// is in the way of all of it.
func (d *desk) showPaper(c echo.Context, status int, g giveaway.Giveaway, st formState, came, wrong, problem string) error {
	t := g.Terms
	p := paperPage{ID: g.ID, Problem: problem, entryPage: entryPage{
		Frame: d.frame(g, "A card or letter", now(c)), Terms: t, Action: "/desk/g/" + g.ID + "/paper", RulesURL: rulesURL(g.ID), Summary: summarize(st),
		Email: st.text("email", "E-mail", "", st.Form.Email, "off"),
		Name:  st.text("name", "A name to be said on the show", "If the card gives one; 40 characters at most.", st.Form.Name, "off"),
		Rules: st.tick("rules", "The card fits the rules.", "", st.Form.Rules),
	}}
	if st.Sent {
		p.EmailSeen = strings.TrimSpace(st.Form.Email)
	}
	p.Email.Needed, p.Rules.Needed = true, true
	if t.Sizes != nil {
		p.Size = sizeOf(t, st)
	}
	p.places(t.Region, st)
	p.others(t, st)
	for _, f := range []*field{&p.Live, p.State, p.Ship, p.ShipState, p.Age} { // not the host's own
		if f != nil {
			f.Auto = "off"
		}
	}
	if p.Ship != nil {
		p.Ship.Groups[0].Options[0].Text = "To where they live"
	}
	p.Came = field{Name: "came", Label: "Came on", Value: came, Needed: true, Auto: "off",
		Hint: "The day of its postmark, or on which it was handed in. It decides whether it was in time."}
	if wrong != "" {
		p.Came.Faults = []entries.Problem{{Field: "came", Text: wrong}}
		if p.Summary.Head == "" {
			p.Summary.Head = "One thing needs another look."
		}
		p.Summary.Links = append([]summaryLink{{"#" + p.Came.ID(), wrong}}, p.Summary.Links...)
	}
	p.Days = daysWords(t)
	var err error
	if p.Once, err = entries.NewOnce(d.cfg.Rand); err != nil {
		return err
	}
	if st.Form.Once != "" {
		p.Once = st.Form.Once
	}
	return d.render(c, status, "desk_paper", p)
}

// daysWords are the first and the last day that are in time; one day where
// both are the same.
func daysWords(t giveaway.Terms) string {
	first, last := dayWords(t.Opens.UTC, t), dayWords(t.Closes.UTC.Add(-time.Second), t)
	if first == last {
		return first
	}
	return first + " to " + last
}

// dayWords is the day of an instant in the zone of closing.
func dayWords(at time.Time, t giveaway.Terms) string {
	words := stamp("", at, t.Closes.Zone).Words
	day, _, _ := strings.Cut(words, ", ")
	return day
}

// cameOn reads the day that a card came; wrong says what is wrong with it.
func cameOn(day string, t giveaway.Terms, at time.Time) (came time.Time, wrong string) {
	came, err := entries.PaperTime(strings.TrimSpace(day), t)
	switch {
	case err != nil:
		return came, "Write a day such as 2026-12-11."
	case came.After(at):
		return came, "That day is still to come."
	}
	return came, ""
}

func (d *desk) postPaper(c echo.Context) error {
	g, err := d.openDoor(c)
	if err != nil {
		return err
	}
	f, err := decodeForm(c.Request())
	if err != nil {
		return err
	}
	day := c.Request().PostForm.Get("came")
	came, wrong := cameOn(day, g.Terms, now(c))
	if wrong != "" {
		return d.showPaper(c, http.StatusUnprocessableEntity, g, formState{Form: f}, day, wrong, "")
	}
	e, err := d.cfg.Desk.Door.Paper(uncut(c), now(c), came, g, f)
	var no *entries.Rejected
	switch {
	case errors.As(err, &no):
		return d.showPaper(c, http.StatusUnprocessableEntity, g, formState{Form: f, Verdict: no.Verdict, Sent: true}, day, "", "")
	case errors.Is(err, entries.ErrAlreadyIn):
		return d.showPaper(c, http.StatusConflict, g, formState{Form: f}, day, "",
			"This address is in already. Nothing was changed: the entry that is there stands, and a second one wouldn’t add a chance.")
	case errors.Is(err, entries.ErrClosed):
		return d.showPaper(c, http.StatusUnprocessableEntity, g, formState{Form: f}, day, "This card came too late: entries closed before that day.", "")
	case errors.Is(err, entries.ErrNotOpen):
		return d.showPaper(c, http.StatusUnprocessableEntity, g, formState{Form: f}, day, "This card came too early: entries opened after that day.", "")
	case err != nil:
		return err
	}
	if err := d.noteOnce(c, g, "A card or letter was typed in: ticket "+e.Ticket.Grouped()+".", time.Time{}); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/paper/"+e.Ticket.String())
}

// noteOnce writes a line into the log that stands there once since a time,
// however often its form is sent.
func (d *desk) noteOnce(c echo.Context, g giveaway.Giveaway, what string, since time.Time) error {
	lines, err := d.cfg.Host.Logged(uncut(c), g.ID)
	if err != nil || noted(lines, what, since) {
		return err
	}
	return d.cfg.Host.Log(uncut(c), now(c), g.ID, what)
}

// noted reports whether a line stands in the log since a time.
func noted(lines []giveaway.LogLine, what string, since time.Time) bool {
	return slices.ContainsFunc(lines, func(l giveaway.LogLine) bool { return l.What == what && !l.At.Before(since) })
}

// A slipPage is what the host hands or sends to who wrote the card.
type slipPage struct {
	Frame
	G       giveaway.Giveaway
	Prize   string // within a sentence
	Ticket  [4]string
	Print   string // fingerprint of the entry
	Private string // full address of the private page
	Event   Stamp
	Public  string
	Noted   Stamp
}

func (d *desk) getSlip(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	t, err := draw.ParseTicket(c.Param("ticket"))
	if err != nil {
		return errNoTicket
	}
	e, err := d.cfg.Desk.Door.Find(c.Request().Context(), g.ID, t)
	if errors.Is(err, entries.ErrNoSuchLink) {
		return errNoSuchPage
	}
	if err != nil {
		return err
	}
	zone := g.Terms.Event.Zone
	return d.render(c, http.StatusOK, "desk_slip", slipPage{
		Frame: d.frame(g, "The ticket", now(c)), G: g, Prize: g.Terms.PrizeWithin(), Ticket: ticketGroups(t), Print: e.Commitment.String(),
		Private: d.privateLink(g.ID, t), Public: d.link(homeURL(g.ID)), Event: stamp("", g.Opening.Event, zone), Noted: stamp("", e.Stamp.Entered, zone),
	})
}
