package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A closedPage is a giveaway's page while it takes no entries: before it opens
// and from its closing to its end.
type closedPage struct {
	Frame
	Know
	Head  string
	Note  string // what became of a form that was just sent
	Lead  []string
	Rows  []whenRow
	Won   []placeRow // by place
	Mine  string     // the giveaway's id, under which a phone remembers its ticket
	Find  string     // where the ticket finder sends; "": no finder
	Rules string
	Print string // fingerprint of the list
	Terms giveaway.Terms
	Off   *offPart // nil: it was not called off
	After *nowRow  // another one that takes entries, once this one is drawn
}

// A whenRow says when something happens or happened.
type whenRow struct {
	What string
	At   Stamp
}

// A placeRow is one place of the result.
type placeRow struct {
	Name   string // "Winner", "Next in line, number 1"
	Ticket [4]string
	URL    string
	Wins   bool
	What   string // what became of it
	When   Stamp  // when that was settled; zero: it is not
}

// getGiveaway shows the form, or what there is instead.
func (s *Site) getGiveaway(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	if g.Phase(now(c)) == giveaway.PhaseTaking {
		return s.showForm(c, http.StatusOK, g, formState{})
	}
	return s.showClosed(c, http.StatusOK, g, "")
}

// showClosed shows the page of a giveaway that takes no entries.
func (s *Site) showClosed(c echo.Context, status int, g giveaway.Giveaway, note string) error {
	know, report, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	g = asPublished(g, report)
	p := closedPage{Frame: frame(g, now(c), g.Terms.Title), Know: know, Note: note, Rules: s.link(rulesURL(g.ID)), Terms: g.Terms, Mine: g.ID}
	p.Follow = s.follow(g, false)
	p.Head, p.Lead = closedWords(g, report, now(c))
	p.Rows = closedTimes(g, now(c))
	if p.Off, err = s.off(c, g); err != nil {
		return err
	}
	if report != nil && report.Freeze != nil {
		p.Find, p.Print = homeURL(g.ID)+"/t/", report.FreezeAt.String()
	}
	if report != nil && report.Record != nil {
		p.Won = placeRows(g, report)
		if p.After, err = s.takingOther(c, g.ID); err != nil {
			return err
		}
	}
	return s.render(c, status, "giveaway", p)
}

// takingOther is another giveaway that takes entries; nil where there is none.
func (s *Site) takingOther(c echo.Context, id string) (*nowRow, error) {
	all, err := s.postedOnes(c)
	for _, g := range all {
		if g.ID != id && g.Phase(now(c)) == giveaway.PhaseTaking {
			return &nowRow{Title: g.Terms.Title, URL: homeURL(g.ID), Channel: g.Terms.Channel, When: stamp("Entries close", g.Opening.Closes, g.Terms.Event.Zone)}, err
		}
	}
	return nil, err
}

// closedWords are the heading, which says what is so, and the sentences under it.
func closedWords(g giveaway.Giveaway, r *draw.Report, at time.Time) (head string, lead []string) {
	t := g.Terms
	switch g.Phase(at) {
	case giveaway.PhaseSoon:
		return "Entries are not open yet.", []string{t.Prize + ", given away by " + t.Channel + ". Come back when entries open; entering is free."}
	case giveaway.PhaseClosed:
		if !at.Before(t.Event.UTC) {
			return "The draw is late.", []string{"The list of tickets was not locked before the draw’s time. A later time has to be posted first; until then nothing is drawn."}
		}
		return "Entries are closed.", []string{"The list of tickets is about to be locked. Then the draw is made live."}
	case giveaway.PhaseOff:
		return "This giveaway was called off.", offLead(g)
	}
	if r == nil || r.Freeze == nil {
		return "The list is locked.", nil
	}
	in := count(r.Freeze.Roll, "ticket is", "tickets are")
	if r.Record == nil {
		coming := "The draw is made live."
		if !at.Before(g.DrawAt()) {
			coming = "It is time for the draw, live: it begins when " + t.Channel + " begins, which may be a little late."
		}
		return "The list is locked: " + in + " in the draw.", []string{"Nothing can be added or taken away any more. " + coming}
	}
	return drawnWords(r)
}

func drawnWords(r *draw.Report) (head string, lead []string) {
	of := count(r.Freeze.Roll, "ticket was", "tickets were")
	if len(r.Record.Places) == 0 {
		return "The draw was made: the list was empty.", nil
	}
	head = "The winner is drawn."
	if r.Opening.Winners > 1 {
		head = "The winners are drawn."
	}
	if r.Outcome != nil && len(r.Outcome.Confirmed) > 0 {
		head = foundWords(len(r.Outcome.Confirmed), r.Opening.Winners)
	}
	all := capitalized(of) + " in the draw. Every ticket has its own number; the smallest comes first."
	if none := ungiven(r); none == int64(r.Opening.Winners) {
		return wholeUngiven(r.Opening.Winners), []string{noneLeft, all}
	} else if none > 0 {
		return head, []string{capitalized(count(none, "prize was", "prizes were")) + " not given. " + noneLeft, all}
	}
	return head, []string{all}
}

// foundWords count the prizes that have found their winner.
func foundWords(found, all int) string {
	switch {
	case all == 1:
		return "The prize has found its winner."
	case found == all:
		return "All " + small(all) + " prizes have found their winner."
	case found == 1:
		return capitalized(small(found)) + " of " + small(all) + " prizes has found its winner."
	}
	return capitalized(small(found)) + " of " + small(all) + " prizes have found their winner."
}

const noneLeft = "Every place that was drawn was skipped, each for a reason that stands below, and nobody is next in line any more. Nothing more is drawn, as the rules had it."

// ungiven is how many prizes nobody can get any more, because those next in
// line ran out.
func ungiven(r *draw.Report) int64 {
	if r.Outcome == nil {
		return 0
	}
	return int64(max(0, r.Opening.Winners-(len(r.Record.Places)-len(r.Outcome.Passed))))
}

// closedTimes are the times that matter now.
func closedTimes(g giveaway.Giveaway, at time.Time) []whenRow {
	t := g.Terms
	row := func(what string, m giveaway.Moment) whenRow { return whenRow{what, stamp("", m.UTC, m.Zone)} }
	zoned := func(what string, at time.Time) whenRow { return whenRow{what, stamp("", at, t.Event.Zone)} }
	switch g.Phase(at) {
	case giveaway.PhaseSoon:
		return []whenRow{row("Entries open", t.Opens), row("Entries close", t.Closes), row("The draw is on", t.Event)}
	case giveaway.PhaseClosed:
		return []whenRow{row("Entries closed", t.Closes), zoned("The list locks, at the latest", g.LockAt()), row(drawIs(g, at), t.Event)}
	case giveaway.PhaseLocked:
		return []whenRow{row("Entries closed", t.Closes), zoned("The list was locked", g.Frozen), row(drawIs(g, at), t.Event)}
	case giveaway.PhaseOff:
		return offTimes(g)
	}
	return []whenRow{row("Entries closed", t.Closes), zoned("The list was locked", g.Frozen), zoned("The draw was made", g.Drawn)}
}

// maxShown is how many places a page lists; all stand in the result's file.
const maxShown = 100

// placeRows lists the places of the result with what became of each.
func placeRows(g giveaway.Giveaway, r *draw.Report) []placeRow {
	var rows []placeRow
	for _, p := range r.Record.Places[:min(maxShown, len(r.Record.Places))] {
		row := placeRow{Name: placeWords(p.N, r.Opening.Winners), Ticket: ticketGroups(p.Ticket), URL: ticketURL(g.ID, p.Ticket), Wins: p.N <= r.Opening.Winners}
		if r.Outcome != nil {
			row = becameOf(p.N, r.Outcome, row, g.Terms.Event.Zone)
			if row.What == "" && movedUp(p.N, r.Opening.Winners, r.Outcome) {
				row.What = "its turn now"
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// becameOf adds what the newest outcome says of a place.
func becameOf(n int, o *draw.Outcome, row placeRow, zone string) placeRow {
	for _, passed := range o.Passed {
		if passed.Place == n {
			row.What, row.When, row.Wins = "skipped: "+wordOr(passWords, passed.Reason), stamp("on", passed.At, zone), false
		}
	}
	for _, done := range o.Confirmed {
		if done.Place == n {
			row.What, row.When, row.Wins = "gets the prize", stamp("confirmed on", done.At, zone), true
		}
	}
	return row
}
