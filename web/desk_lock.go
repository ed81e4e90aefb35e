package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// A lockPage counts who is in and who is out and says what is still open; then
// it has the button. Addresses and names stand nowhere on it.
type lockPage struct {
	Frame
	G       giveaway.Giveaway
	Know    []string // what will have to be known about the draw
	Head    string
	Lead    string
	When    Stamp
	Ready   bool   // the button can be pressed
	Problem string // what went wrong with the last press, or ""
	Counts  string // who is in, who is out
	Late    string // what is said of a lock so shortly before the draw, or ""
	Draw    Stamp  // when the draw is
	ToDraw  *leftTime
	Open    []openThing
	Kept    *keptWords // nil: the recovery sheet is kept
	Out     []outTicket
	More    int64 // tickets that are out and not listed
	Tally   entriesPage
	Until   *leftTime // until it can be locked; nil: it can be now
	Turn    *nextLook
}

// An openThing is something that is not done yet and can still be.
type openThing struct{ Name, Text string }

// An outTicket is one that is not in the draw.
type outTicket struct{ Ticket, Why string }

// How many tickets that are out the page lists, and among how many it looks
// for them: the published list names every one.
const (
	mostOut    = 100
	mostLooked = 100_000
	lookAtOnce = 2000
	seenInTime = 10 * time.Minute // draw protocol, "freeze.txt": later than this is a remark
)

func (d *desk) getLock(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateFrozen || g.State == giveaway.StateDrawn {
		return d.showLocked(c, g)
	}
	p, err := d.lockPage(c, g)
	if err != nil {
		return err
	}
	if !p.Ready && g.Phase(now(c)) != giveaway.PhaseTaking {
		return toDay(c, g)
	}
	return d.render(c, http.StatusOK, "desk_lock", p)
}

func (d *desk) lockPage(c echo.Context, g giveaway.Giveaway) (lockPage, error) {
	at := now(c)
	p := lockPage{
		Frame: d.frame(g, "Lock the list", at), G: g, Know: deskKnow(g), Kept: keptAsk(g, "lock"),
		Head:  "Locking closes the list for good.",
		Lead:  "Nobody can add, change or take out a ticket then, not even you. The list is published without names and addresses.",
		Ready: g.State == giveaway.StateOpen && !at.Before(g.Opening.Closes) && at.Before(g.Opening.Event),
	}
	if at.Before(g.Opening.Closes) {
		p.When = stamp("It can be locked from", g.Opening.Closes, g.Terms.Event.Zone)
		p.Until = leftUntil(g.Opening.Closes, at)
	}
	p.Turn = turnOf(g, at)
	counts, err := d.cfg.Desk.Counts(c.Request().Context(), g.ID)
	if err != nil {
		return p, err
	}
	p.count(counts)
	p.stillOpen(at)
	if counts.Issued > counts.In {
		p.Out, err = d.outTickets(c.Request().Context(), g.ID, counts)
		p.More = counts.Issued - counts.In - int64(len(p.Out))
	}
	return p, err
}

// count says who is in and who is out, by size and by reason.
func (p *lockPage) count(counts entries.Counts) {
	p.Tally = entriesPage{ID: p.G.ID, Counts: counts}
	p.Tally.bySize()
	p.Counts = capitalized(many(counts.In, "ticket is", "tickets are")) + " in the draw"
	if out := counts.Issued - counts.In; out > 0 {
		p.Counts += "; " + many(out, "is", "are") + " not"
	}
	p.Counts += "."
	for _, reason := range outReasons {
		if n := counts.ByReason[reason]; n > 0 {
			p.Tally.Out = append(p.Tally.Out, counted{capitalized(reasonWords[reason]), number(n)})
		}
	}
}

// stillOpen says what is not done yet.
func (p *lockPage) stillOpen(at time.Time) {
	g, left := p.G, p.G.Opening.Event.Sub(at)
	p.Draw = stamp("", g.Opening.Event, g.Terms.Event.Zone)
	p.ToDraw = leftUntil(g.Opening.Event, at)
	if p.Ready && left < seenInTime {
		p.Late = "Fewer than ten minutes are left before the draw. Everybody who checks it will read that hardly anybody can have seen the list’s fingerprint in time. Move the draw to a later time first, or read the fingerprint out at once."
	}
	for _, s := range g.Opening.Seals {
		if s.Role != giveaway.HostRole {
			who := whoHolds(g.Terms, s.Role)
			p.Open = append(p.Open, openThing{Name: "A second secret number", Text: who + " hands theirs in after the lock. The day-book then has the link to send."})
		}
	}
	if counts := p.Tally.Counts; counts.In == 0 {
		p.Open = append(p.Open, openThing{Name: "Nobody is in", Text: "The list would be empty, and nobody could win."})
	}
}

// leftWords write a span as people say it: "two hours" is rounded down to what
// is surely left.
func leftWords(left time.Duration) string {
	switch {
	case left >= 48*time.Hour:
		return count(int64(left/(24*time.Hour)), "day", "days")
	case left >= 2*time.Hour:
		return count(int64(left/time.Hour), "hour", "hours")
	case left >= time.Minute:
		return count(int64(left/time.Minute), "minute", "minutes")
	}
	return "less than a minute"
}

// outTickets lists the first tickets that are not in the draw, ascending, each
// with its reason.
func (d *desk) outTickets(ctx context.Context, id string, counts entries.Counts) ([]outTicket, error) {
	if counts.Issued > mostLooked {
		return nil, nil
	}
	var out []outTicket
	var after draw.Ticket
	for int64(len(out)) < min(mostOut, counts.Issued-counts.In) {
		lines, err := d.cfg.Host.Store.Tickets(ctx, id, after, lookAtOnce)
		if err != nil || len(lines) == 0 {
			return out, err
		}
		for _, l := range lines {
			if after = l.Ticket; l.Reason != "" && len(out) < mostOut {
				out = append(out, outTicket{l.Ticket.Grouped(), wordOr(reasonWords, l.Reason)})
			}
		}
	}
	return out, nil
}

func (d *desk) postLock(c echo.Context) error {
	return d.move(c, "", func(g giveaway.Giveaway) error {
		_, err := d.cfg.Host.Lock(uncut(c), now(c), g.ID)
		if errors.Is(err, giveaway.ErrTooLate) {
			return nil // the day-book says so, and offers to move the event
		}
		return err
	}, func(g giveaway.Giveaway, err error) error {
		var early giveaway.ErrTooEarly
		if !errors.As(err, &early) {
			return err
		}
		p, err := d.lockPage(c, g)
		if err != nil {
			return err
		}
		p.Problem = "Entries are still taken. The list can be locked when they have closed."
		return d.render(c, http.StatusConflict, "desk_lock", p)
	})
}

// A lockedPage is what to do with the fingerprint of a locked list: read it
// out, put it under the video, hand it around.
type lockedPage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Lead    string
	Groups  []string // the fingerprint's beginning, to be read, as the stage shows it
	Print   string   // the fingerprint, to be copied
	Aloud   string
	Post    string // for under the video, the same that the page about it has
	Letter  string // to go with the file
	File    string // where the signed fingerprint is kept from
	Tickets string
	Late    bool // the draw's time has come
	Ask     bool // whether it is posted
}

// showLocked shows the fingerprint and the texts that carry it.
func (d *desk) showLocked(c echo.Context, g giveaway.Giveaway) error {
	report, err := d.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	if report.FreezeAt == nil {
		return toDay(c, g)
	}
	p := lockedPage{Frame: d.frame(g, "The list is locked", now(c)), G: g, Print: report.FreezeAt.String(),
		Groups: strings.Fields(show.Beginning(*report.FreezeAt)), File: fairURL(g.ID) + draw.FreezeFile + "?download", Late: !now(c).Before(g.DrawAt())}
	under, err := d.spreadPage(c, g)
	if err != nil {
		return err
	}
	p.Post = under.Text
	p.Head, p.Lead = "Now let others see the list’s fingerprint.", "Put the text below in the place of the one under the video, before the draw: whoever has the fingerprint by then can show later that the list was not changed."
	if p.Late {
		p.Head, p.Lead = "The list is locked, and this is its fingerprint.", "The draw’s time has come. Whoever kept the fingerprint from before it can show that the list was not changed."
	}
	log, err := d.cfg.Host.Logged(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	p.Ask = d.cfg.Event != nil && !p.Late && !noted(log, tickPosted, g.Frozen)
	tickets := count(report.Freeze.Roll, "ticket", "tickets")
	at := stamp("", g.Frozen, g.Terms.Event.Zone).Words
	p.Aloud = "The list is locked. There " + isAre(report.Freeze.Roll) + " " + tickets + " on it. Its fingerprint begins " + strings.Join(p.Groups, ", ") + ". All of it stands under the video."
	p.Letter = g.Terms.Title + "\n\nThe list of tickets was locked on " + at + ", with " + tickets + " on it. The signed fingerprint of the list comes with this letter. Please keep it as it is. If anybody asks after the draw whether the list was changed, your copy is the answer.\n\nThe fingerprint: " + p.Print + "\nThe draw: " + timeWords(g.Terms.Event) + "\nThe giveaway: " + d.link(homeURL(g.ID)) + "\n\n" + cmp.Or(g.Terms.Host, g.Terms.Channel)
	return d.render(c, http.StatusOK, "desk_locked", p)
}

func isAre(n int64) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
