package web

import (
	"cmp"
	"slices"
	"time"

	"evenhand/giveaway"
)

// A dueThing is what a giveaway waits for, for the desk's first page, which
// leads with the most urgent one.
type dueThing struct {
	Title string // the giveaway's
	Text  string // what is so
	When  Stamp  // the time that matters; zero: none
	Until *leftTime
	Step  step
	at    time.Time // the earlier, the more urgent
}

// dueOf is what a giveaway's day-book says has to be done now; nil where it
// waits for nobody. Invented samples and drafts wait for nobody.
func dueOf(p dayPage, at time.Time) *dueThing {
	g, due := p.G, dueThing{Title: p.G.Terms.Title, Text: p.Head, When: p.When, Until: p.Until, Step: p.Next}
	if g.Sample {
		return nil
	}
	switch g.Phase(at) {
	case giveaway.PhaseClosed:
		due.lock(g, at)
	case giveaway.PhaseLocked:
		due.at = g.DrawAt()
	case giveaway.PhaseDrawn:
		if p.Next.Path == p.path("result") {
			return nil
		}
		due.Text, due.at = p.Lead, g.Drawn.Add(farOff)
		if until, err := time.Parse(time.RFC3339, p.When.UTC); err == nil && at.Before(until) {
			due.at = until.Add(farOff) // till then others are waited for
		}
	case giveaway.PhaseSoon, giveaway.PhaseTaking:
		if p.Kept == nil {
			return nil
		}
		due.Text, due.When, due.Until, due.at = "The recovery sheet is not kept yet.", Stamp{}, nil, g.Opening.Event.Add(farOff)
	default:
		return nil
	}
	if due.Step.Path == "" {
		return nil
	}
	return &due
}

// farOff puts what has no hour behind every draw that has one.
const farOff = 100 * 365 * 24 * time.Hour

// lock says until when the list can be locked by hand.
func (due *dueThing) lock(g giveaway.Giveaway, at time.Time) {
	due.at = g.LockAt()
	if at.Before(g.Opening.Event) {
		due.Text, due.When.Before = "Entries are closed: lock the list.", "At the latest on"
	}
}

// urgentFirst puts what is due before what only stands here, and drafts last.
func urgentFirst(all []listed) {
	slices.SortStableFunc(all, func(a, b listed) int {
		if a.Due != nil && b.Due != nil {
			return a.Due.at.Compare(b.Due.at)
		}
		return cmp.Compare(a.rank(), b.rank())
	})
}

func (l listed) rank() int {
	switch {
	case l.Due != nil:
		return 0
	case l.Draft:
		return 2
	}
	return 1
}

// Due is the most urgent thing; nil where nothing is due.
func (p listPage) Due() *dueThing {
	if len(p.Giveaways) == 0 {
		return nil
	}
	return p.Giveaways[0].Due
}

// Posted and Drafts part what is here: drafts stand below.
func (p listPage) Posted() []listed { return p.Giveaways[:len(p.Giveaways)-p.waiting()] }

func (p listPage) Drafts() []listed { return p.Giveaways[len(p.Giveaways)-p.waiting():] }
