package web

import (
	"strconv"
	"time"

	"evenhand/giveaway"
)

// When the list locks itself follows from three fields of the form; the form
// says it back, so that nobody is surprised by it in the show.

// lockAt is when the list locks itself by the form, and how long after the
// closing the draw is; ok is false while the form doesn't say it.
func (f termsForm) lockAt() (at time.Time, gap time.Duration, ok bool) {
	t, _ := f.onto(giveaway.Terms{})
	minutes, err := strconv.Atoi(f.LockMinutes)
	gap = t.Event.UTC.Sub(t.Closes.UTC)
	if t.Closes.UTC.IsZero() || t.Event.UTC.IsZero() || err != nil || minutes < giveaway.LeastLockMinutes || gap < giveaway.LeastLockMinutes*time.Minute {
		return time.Time{}, 0, false
	}
	at = t.Event.UTC.Add(-time.Duration(min(minutes, int(gap/time.Minute))) * time.Minute)
	return at, gap, true
}

// locksAtClosing reports whether the list locks itself the moment that entries
// close.
func (f termsForm) locksAtClosing() bool {
	at, gap, ok := f.lockAt()
	if !ok {
		return false
	}
	t, _ := f.onto(giveaway.Terms{})
	return !at.After(t.Event.UTC.Add(-gap))
}

// lockSaid says when the list locks itself; "" while the form doesn't say it.
func (f termsForm) lockSaid() string {
	at, gap, ok := f.lockAt()
	zone, err := giveaway.LoadZone(f.Zone)
	switch {
	case !ok || err != nil:
		return ""
	case !f.locksAtClosing():
		layout := "3:04 pm"
		if t, _ := f.onto(giveaway.Terms{}); at.In(zone).YearDay() != t.Event.UTC.In(zone).YearDay() {
			layout = "Monday 2 January, 3:04 pm"
		}
		return "The list of entries locks itself at " + at.In(zone).Format(layout) + ", if you have not locked it before."
	}
	said := "The list of entries locks itself the moment that entries close, because the draw is " + many(int64(gap/time.Minute), "minute", "minutes") + " later."
	if gap > giveaway.LeastLockMinutes*time.Minute {
		said += " To have time to lock it yourself, write " + strconv.Itoa(giveaway.LeastLockMinutes) + " minutes under “After the draw”, or draw later."
	}
	return said
}
