package show

import (
	"slices"
	"time"
)

// MaxDelay is the longest delay of viewers' pages, in seconds.
const MaxDelay = 120

// A State is where the show of a giveaway stands.
type State struct {
	Draw    string
	Step    Step
	Place   int   // from 1 while Step is First; otherwise 0
	Version int64 // one more with each change; 0: the show has not begun
	Held    bool  // forward does nothing until it is let go
	Dark    bool  // the stage is blank
	Delay   int   // seconds by which viewers' pages follow the stage; 0 to MaxDelay
	Moved   time.Time
	Reached []Reached // each picture, in the order in which they were first shown
}

// Reached is when a picture was first shown.
type Reached struct {
	Step  Step
	Place int
	At    time.Time // to the millisecond
}

// ahead is the picture after this one, of a draw whose result shows so many
// places; false at the end.
func (s State) ahead(places int) (Step, int, bool) {
	switch {
	case s.Step == Next || s.Step == Alternates:
		return s.Step, 0, false
	case s.Step == First && s.Place < places, s.Step == Line && places > 0:
		return First, s.Place + 1, true
	case s.Step == First || s.Step == Line:
		return Next, 0, true
	}
	return s.Step + 1, 0, true
}

// before is the picture before this one; false at the beginning.
func (s State) before(places int) (Step, int, bool) {
	switch {
	case s.Step == Soon:
		return Soon, 0, false
	case s.Step == First && s.Place > 1:
		return First, s.Place - 1, true
	case s.Step == Next && places > 0:
		return First, places, true
	case s.Step == Next:
		return Line, 0, true
	}
	return s.Step - 1, 0, true
}

// to is the state with another picture. Times never go back: where the clock
// did, the picture has the time of the newest one before it.
func (s State) to(step Step, place int, now time.Time) State {
	s = s.changed()
	s.Step, s.Place, s.Moved = step, place, now.UTC().Truncate(time.Millisecond)
	for _, r := range s.Reached {
		if s.Moved.Before(r.At) {
			s.Moved = r.At
		}
	}
	if s.reachedAt(step, place).IsZero() {
		s.Reached = append(s.Reached, Reached{step, place, s.Moved})
	}
	return s
}

// changed is a copy to change, with the next version.
func (s State) changed() State {
	s.Version++
	s.Reached = slices.Clone(s.Reached)
	return s
}

// reachedAt is when a picture was first shown; the zero time: never.
func (s State) reachedAt(step Step, place int) time.Time {
	for _, r := range s.Reached {
		if r.Step == step && r.Place == place {
			return r.At
		}
	}
	return time.Time{}
}

// Seen is what viewers' pages may show at the time now: the newest picture that
// was first shown at least Delay seconds ago. They don't go back with the
// stage, nor dark. Its Version counts the pictures seen.
func (s State) Seen(now time.Time) State {
	seen := State{Draw: s.Draw, Delay: s.Delay}
	for _, r := range s.Reached {
		if now.Before(r.At.Add(time.Duration(s.Delay) * time.Second)) {
			break // those after it wait too, whatever another server's clock says
		}
		seen.Step, seen.Place, seen.Moved = r.Step, r.Place, r.At
		seen.Version++
	}
	return seen
}
