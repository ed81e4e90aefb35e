package giveaway

import (
	"time"

	"evenhand/draw"
)

// A Giveaway is one giveaway as it is stored.
type Giveaway struct {
	ID    string // the draw id
	Terms Terms  // with the times and rules of the current opening
	State State

	Opening     draw.Opening // the current one; zero in a draft
	OpeningHash draw.Digest  // of its text
	Revision    int          // of the opening: 1 at first; 0 in a draft

	Created time.Time // when the draft was first saved
	Opened  time.Time // zero until then, as are the next two
	Frozen  time.Time // the stamp in freeze.txt
	Drawn   time.Time // the stamp in record.txt

	// Released is from when on the public may know the result; see
	// [Giveaway.Held]. Zero until drawn.
	Released time.Time

	Cancelled    time.Time // the stamp in cancelled.txt; zero until then
	CancelReason string    // its code, such as prize-withdrawn; "" until then
	Successor    string    // draw id of the giveaway that replaces a cancelled one, or ""

	Erased time.Time // when its personal data was deleted; zero until then

	Kept time.Time // when the creator first said that the recovery sheet is kept; zero until then

	Sample bool // invented, from -sample
}

// sampleLock is how long before its event a sample with the least time before it
// locks itself: late, so that there is time to try the lock by hand within its
// minute. Its rules say so.
const sampleLock = 5 * time.Second

// LockAt returns when the giveaway locks itself if nobody has locked it: the
// later of closes and Terms.LockMinutes before the event. The zero time for a
// draft. A sample with [LeastLockMinutes] waits until five seconds before its event.
func (g Giveaway) LockAt() time.Time {
	if g.Opening.Event.IsZero() {
		return time.Time{}
	}
	early := time.Duration(g.Terms.LockMinutes) * time.Minute
	if g.Sample && g.Terms.LockMinutes == LeastLockMinutes {
		early = sampleLock
	}
	return LockTime(g.Opening.Closes, g.Opening.Event, early)
}

// LockTime is when a list locks itself by its terms: early before the event, but
// not before entries close.
func LockTime(closes, event time.Time, early time.Duration) time.Time {
	if at := event.Add(-early); at.After(closes) {
		return at
	}
	return closes
}

// DrawAt returns the first time at which the draw may be made: the event, or
// the time of the beacon's round where that is later (by less than the
// beacon's period). The zero time for a draft.
func (g Giveaway) DrawAt() time.Time {
	chain, ok := chainOf(g.Opening)
	if !ok || g.Opening.Event.IsZero() {
		return g.Opening.Event
	}
	round, err := g.Opening.FirstRound(chain)
	if err != nil {
		return g.Opening.Event
	}
	return chain.TimeOf(round)
}
