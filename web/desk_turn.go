package web

import (
	"time"

	"evenhand/giveaway"
)

// A nextLook is when a page of the desk will show another state than now, without
// anybody pressing anything: its script (turn.js) then loads it again, unless
// something is being typed. A Refresh header would do so without script too,
// but in the middle of a word, and out of step on a laptop that was asleep; so
// without script a sentence says when to load the page again.
type nextLook struct {
	At, Now string // RFC 3339
	When    Stamp  // for the sentence
}

// soon is how long after a moment that has come, but whose work is not done
// yet, a page looks again.
const soon = 5 * time.Second

// turnOf is the page's next turn; nil where none comes by itself.
func turnOf(g giveaway.Giveaway, at time.Time) *nextLook {
	t := nextTurn(g, at)
	if t.IsZero() {
		return nil
	}
	return &nextLook{At: t.UTC().Format(time.RFC3339), Now: at.UTC().Format(time.RFC3339), When: stamp("", t, g.Terms.Event.Zone)}
}

// nextTurn is the next time at which a giveaway is another one by itself; the
// zero time where there is none.
func nextTurn(g giveaway.Giveaway, at time.Time) time.Time {
	var turns []time.Time
	switch g.State {
	case giveaway.StateDraft:
		turns = []time.Time{g.Terms.Closes.UTC} // it can't be posted then
	case giveaway.StateOpen:
		turns = []time.Time{g.Opening.Opens, g.Opening.Closes, g.LockAt(), g.Opening.Event}
	case giveaway.StateFrozen:
		turns = []time.Time{g.DrawAt()}
	}
	for i, t := range turns {
		if !at.Before(t) {
			continue
		}
		if g.State == giveaway.StateOpen && i == len(turns)-1 {
			return at.Add(soon) // the list is about to lock itself
		}
		return t
	}
	return time.Time{}
}

// A leftTime is how long it is until a time, in words that the script keeps
// true while the page stands open.
type leftTime struct{ UTC, Words string }

// leftUntil is nil once the time has come.
func leftUntil(t, at time.Time) *leftTime {
	if !at.Before(t) {
		return nil
	}
	return &leftTime{t.UTC().Format(time.RFC3339), leftWords(t.Sub(at))}
}
