package web

import (
	"strconv"
	"time"

	"evenhand/giveaway"
)

// When the list locks itself follows from three fields of the form; the form
// says it back, so that nobody is surprised by it in the show.

// formLock is when the list locks itself by a form, with the two times that it
// lies between. The zero value: the form doesn't say it yet.
type formLock struct{ At, Closes, Event time.Time }

// AtClosing reports whether that is the moment that entries close.
func (l formLock) AtClosing() bool { return !l.At.IsZero() && l.At.Equal(l.Closes) }

func (f termsForm) lock() formLock {
	t, _ := f.onto(giveaway.Terms{})
	minutes, err := strconv.Atoi(f.LockMinutes)
	closes, event := t.Closes.UTC, t.Event.UTC
	if closes.IsZero() || event.IsZero() || err != nil || minutes < giveaway.LeastLockMinutes || event.Sub(closes) < giveaway.LeastLockMinutes*time.Minute {
		return formLock{}
	}
	return formLock{giveaway.LockTime(closes, event, time.Duration(minutes)*time.Minute), closes, event}
}

// lockSaid says when the list locks itself; "" while the form doesn't say it.
func (f termsForm) lockSaid() string {
	l := f.lock()
	zone, err := giveaway.LoadZone(f.Zone)
	switch {
	case l.At.IsZero() || err != nil:
		return ""
	case !l.AtClosing():
		at := l.At.In(zone)
		return "The list of entries locks itself at " + at.Format(lockLayout(at, l.Event.In(zone))) + ", if you have not locked it before."
	}
	gap := l.Event.Sub(l.Closes)
	said := "The list of entries locks itself the moment that entries close, because the draw is " + many(int64(gap/time.Minute), "minute", "minutes") + " later."
	if f.lockHelps() {
		said += " To have time to lock it yourself, write " + strconv.Itoa(giveaway.LeastLockMinutes) + " minutes under “After the draw”, or draw later."
	}
	return said
}

// lockHelps reports whether fewer minutes would leave time to lock the list by
// hand, where now there is none.
func (f termsForm) lockHelps() bool {
	l := f.lock()
	return l.AtClosing() && l.Event.Sub(l.Closes) > giveaway.LeastLockMinutes*time.Minute
}

// lockLayout writes the time of the lock: with its day only where that is not
// the day of the draw.
func lockLayout(at, event time.Time) string {
	if at.YearDay() != event.YearDay() {
		return "Monday 2 January, 3:04 pm"
	}
	return "3:04 pm"
}
