package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A dayPage is a giveaway's day-book: what is so, what to do next, and what
// has happened, newest first.
type dayPage struct {
	Frame
	G       giveaway.Giveaway
	Know    []string  // what will have to be known about the draw
	Moved   []string  // times that newer zone data move
	Head    string    // what is so
	Lead    string    // a sentence before the time, or ""
	When    Stamp     // the time that matters next; zero: none
	Until   *leftTime // how long until then; nil: nothing is said
	Turn    *nextLook // when the page will say something else
	Then    string    // a sentence after it, or ""
	Turned  bool      // the draw is made, and Lead says how its places stand
	Next    step      // the one filled button; zero: none
	More    []step    // links
	Off     step      // calls it off, apart from the others; zero: it can't be
	Rows    []dayRow
	Counts  entries.Counts
	Public  string // the giveaway's public address; "" for a draft
	Seconds []secondRow
	Just    bool       // the recovery sheet was kept a moment ago, and the page says so
	Kept    *keptWords // asks whether the recovery sheet is kept
	Data    *dataWords // when personal data is deleted; nil: not yet known, or done
	Refresh int        // seconds after which the page asks again; 0: never
	log     []giveaway.LogLine
}

// A step is a link to a page of the desk.
type step struct{ Text, Path string }

// find is the giveaway of the address, drafts too.
func (d *desk) find(c echo.Context) (giveaway.Giveaway, error) {
	id := c.Param("id")
	if !draw.ValidID(id) {
		return giveaway.Giveaway{}, giveaway.ErrNotFound
	}
	g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), id)
	if err == nil {
		c.Set(keyDraw, g.ID)
	}
	return g, err
}

func (d *desk) getDay(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	p, err := d.day(c, g)
	if err != nil {
		return err
	}
	if err := d.printList(c, &p); err != nil {
		return err
	}
	if err := d.overdue(c, &p); err != nil {
		return err
	}
	p.Just = d.sessions.PopString(c.Request().Context(), justKept) == g.ID
	if g.State != giveaway.StateDraft {
		know, _, err := d.know(c.Request().Context(), g)
		if err != nil {
			return err
		}
		p.Seconds = know.Seconds
	}
	if p.Refresh > 0 {
		refresh(c, p.Refresh)
	}
	return d.render(c, http.StatusOK, "desk_day", p)
}

func (d *desk) day(c echo.Context, g giveaway.Giveaway) (dayPage, error) {
	at := now(c)
	p := dayPage{Frame: d.frame(g, g.Terms.Title, at), G: g, Know: deskKnow(g), Moved: zoneMoved(g)}
	var err error
	if p.log, err = d.cfg.Host.Logged(c.Request().Context(), g.ID); err != nil {
		return p, err
	}
	if g.State != giveaway.StateDraft {
		if p.Counts, err = d.cfg.Desk.Counts(c.Request().Context(), g.ID); err != nil {
			return p, err
		}
		p.Public = d.link("/g/" + g.ID)
	}
	p.say(at)
	if d.cfg.Event != nil && g.State == giveaway.StateFrozen {
		p.sayEvening(at, noted(p.log, tickPosted, g.Frozen))
	}
	p.Turn = turnOf(g, at)
	if g.State == giveaway.StateFrozen {
		live, err := d.underway(c, g.ID)
		if err != nil {
			return p, err
		}
		if live {
			p.Head, p.Lead, p.When, p.Until = "The show is under way.", "The remote goes on from picture to picture, and makes the draw.", Stamp{}, nil
			p.Next, p.More = step{"Go to the show", p.path("show")}, []step{{"Show the list’s fingerprint", p.path("lock")}}
		}
	}
	if g.State == giveaway.StateCancelled {
		all, err := d.postedOnes(c)
		if err != nil {
			return p, err
		}
		p.sayOff(all)
	}
	if d.cfg.Desk.Door != nil && g.State == giveaway.StateOpen && !at.Before(g.Opening.Opens) {
		p.More = append(p.More, step{"Bring entries from a file", p.path("import")}, step{"Type in a card or letter", p.path("paper")})
	}
	p.history(d.vkey(c), d.openings(g))
	err = d.alongside(c, &p)
	p.newestFirst()
	return p, err
}

// vkey is the key that everything is signed with, for people to post.
func (d *desk) vkey(c echo.Context) string {
	signer, err := d.cfg.Host.Keys.Signer(c.Request().Context())
	if err != nil {
		return ""
	}
	return signer.VerifierKey()
}

// frame is the head of a page about one giveaway.
func (d *desk) frame(g giveaway.Giveaway, title string, at time.Time) Frame {
	f := deskFrame(title)
	f.Right, f.Sample = Stamp{Before: g.ID + " · " + string(g.Phase(at))}, g.Sample
	return f
}

// refresh asks the browser to load the page again after some seconds, without
// script.
func refresh(c echo.Context, seconds int) {
	c.Response().Header().Set("Refresh", number(int64(seconds)))
}

// Counting reports whether the heading counts entries that come in meanwhile;
// then its script (fresh.js) keeps it true.
func (p dayPage) Counting() bool { return p.G.State == giveaway.StateOpen }

func (p *dayPage) path(page string) string { return "/desk/g/" + p.G.ID + "/" + page }

func (p *dayPage) at(before string, t time.Time) { p.When = stamp(before, t, p.G.Terms.Event.Zone) }

// say writes heading, lead and next step by where the giveaway is.
func (p *dayPage) say(at time.Time) {
	o := p.G.Opening
	switch p.G.Phase(at) {
	case giveaway.PhaseDraft:
		p.Head, p.Lead = "This giveaway is not posted yet.", "Nobody but you sees it. Read what can’t be changed later, then post the terms."
		p.Next = step{"Read it and post it", p.path("post")}
		p.More = []step{{"Change the terms", p.path("terms")}}
		if !at.Before(p.G.Terms.Closes.UTC) {
			p.Head = "This giveaway can’t be posted as it is: its entries would have closed already."
			p.Lead = "Entries would have closed on " + timeWords(p.G.Terms.Closes) + ". Choose later times; nobody but you sees the draft."
			p.Next, p.More = step{"Change the terms", p.path("terms")}, nil
		}
	case giveaway.PhaseSoon:
		p.Head = "The terms are posted."
		p.at("Entries start", o.Opens)
		p.Until = leftUntil(o.Opens, at)
		p.More = []step{{"Change something", p.path("later")}}
	case giveaway.PhaseTaking:
		p.Head, p.Then = peopleIn(p.Counts.In), p.thenLock()
		p.at("Entries close", o.Closes)
		p.Until = leftUntil(o.Closes, at)
		p.Next = step{"Look at the entries", p.path("entries")}
		p.More = []step{{"Change something", p.path("later")}}
	case giveaway.PhaseClosed:
		p.sayClosed(at)
	case giveaway.PhaseLocked:
		p.sayLocked(at)
	case giveaway.PhaseDrawn, giveaway.PhaseFinished:
		p.Head, p.Lead = "The draw is made.", "The result stands for everybody to see and to check."
		p.Next, p.More = step{"See the result", p.path("result")}, []step{{"Start the next one from this one", "/desk/new?from=" + p.G.ID}}
	}
	if mayCancel(p.G) {
		p.Off = step{"Call it off", p.path("cancel")}
	}
	if p.Counts.Issued > 0 && p.Next.Text != "Look at the entries" {
		p.More = append(p.More, step{"Look at the entries", p.path("entries")})
	}
}

// thenLock says how it goes on when entries have closed.
func (p *dayPage) thenLock() string {
	at := p.G.LockAt()
	if !at.After(p.G.Opening.Closes) {
		return "The list locks itself at that moment, since the draw comes soon after."
	}
	return "Then lock the list; if you don’t, it locks itself on " + stamp("", at, p.G.Terms.Event.Zone).Words + "."
}

func (p *dayPage) sayClosed(at time.Time) {
	switch {
	case p.G.State == giveaway.StateFreezing:
		p.Head, p.Lead, p.Refresh = "The list is being locked.", "This takes a moment; the page looks again by itself.", 2
	case !at.Before(p.G.Opening.Event):
		p.Head = "The list was not locked before the draw."
		p.Lead = "So there is no draw at that time. Move the draw to a later time; the change is posted, and everybody sees it. Then lock the list before it."
		p.Next = step{"Move the draw", p.path("later")}
	default:
		p.Head = peopleIn(p.Counts.In) + " Entries are closed."
		p.Lead = "Lock the list now, so that everybody can see it before the draw."
		p.at("If nobody does, it locks itself on", p.G.LockAt())
		p.Until = leftUntil(p.G.LockAt(), at)
		p.Next = step{"Lock the list", p.path("lock")}
		p.More = []step{{"Change something", p.path("later")}}
	}
}

func (p *dayPage) sayLocked(at time.Time) {
	p.Next, p.More = step{"Go to the draw", p.path("draw")}, []step{{"Show the list’s fingerprint", p.path("lock")}}
	if until := p.G.DrawAt(); at.Before(until) {
		p.Next, p.More = step{"Show the list’s fingerprint", p.path("lock")}, []step{{"Go to the draw", p.path("draw")}}
		p.Head = "The list is locked."
		p.Lead = "Read its fingerprint out at the start of the show and put it under the video."
		p.at("The draw can be made from", until)
		p.Until = leftUntil(until, at)
		return
	}
	p.Head, p.Lead = "The list is locked, and it is time to draw.", "Make the draw live."
}
