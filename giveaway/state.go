package giveaway

import "time"

// A State is where a giveaway is.
type State string

// The states, in the order in which they come.
const (
	StateDraft     State = "draft"     // nobody outside the desk sees it
	StateOpen      State = "open"      // opening.txt stands; entries are taken between opens and closes
	StateFreezing  State = "freezing"  // the lists are being written; no entry changes
	StateFrozen    State = "frozen"    // freeze.txt stands
	StateDrawn     State = "drawn"     // record.txt stands
	StateCancelled State = "cancelled" // cancelled.txt stands
)

// moves are all that may ever happen. A freeze that comes to nothing goes back
// to open. A drawn giveaway stays drawn: one draw has one record.
var moves = map[State][]State{
	StateDraft:    {StateOpen},
	StateOpen:     {StateFreezing, StateCancelled},
	StateFreezing: {StateFrozen, StateOpen},
	StateFrozen:   {StateDrawn, StateCancelled},
}

// May reports whether a giveaway in state s may move to next.
func (s State) May(next State) bool {
	for _, m := range moves[s] {
		if m == next {
			return true
		}
	}
	return false
}

// A Phase is where a giveaway is for people, as pages word it.
type Phase string

// The phases.
const (
	PhaseDraft    Phase = "not posted yet"
	PhaseSoon     Phase = "not open yet"
	PhaseTaking   Phase = "taking entries"
	PhaseClosed   Phase = "closed"
	PhaseLocked   Phase = "locked"
	PhaseDrawn    Phase = "drawn"
	PhaseFinished Phase = "finished"
	PhaseOff      Phase = "called off"
)

// Phase returns where the giveaway is for people at the time now.
func (g Giveaway) Phase(now time.Time) Phase {
	switch g.State {
	case StateDraft:
		return PhaseDraft
	case StateFrozen:
		return PhaseLocked
	case StateDrawn:
		return PhaseDrawn
	case StateCancelled:
		return PhaseOff
	}
	switch {
	case now.Before(g.Opening.Opens):
		return PhaseSoon
	case now.Before(g.Opening.Closes) && g.State == StateOpen:
		return PhaseTaking
	}
	return PhaseClosed
}
