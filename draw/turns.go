package draw

import (
	"fmt"
	"slices"
	"time"
)

// Turns says when each place has its turn.
type Turns struct {
	Winners int
	Places  int // places of the record
	Drawn   time.Time
	Passed  []Passed
}

// A Turn is when a place may be passed or confirmed.
type Turn struct {
	At time.Time
	By int // the place whose pass gave the turn; 0 where the draw itself did
}

// Of is the turn of a place: from drawn, or from the time of the pass after
// which fewer than winners places before it stand. ok is false while the
// place has no turn.
func (t Turns) Of(place int) (turn Turn, ok bool) {
	need := place - t.Winners // so many of the places before it must be passed
	if need <= 0 {
		return Turn{At: t.Drawn}, true
	}
	var before []Passed
	for _, p := range t.Passed {
		if p.Place < place {
			before = append(before, p)
		}
	}
	if len(before) < need {
		return Turn{}, false
	}
	slices.SortStableFunc(before, func(a, b Passed) int { return a.At.Compare(b.At) })
	by := before[need-1]
	return Turn{At: by.At, By: by.Place}, true
}

// acts are the lines of an outcome, passes first.
func (o Outcome) acts() []Passed {
	out := slices.Clone(o.Passed)
	for _, c := range o.Confirmed {
		out = append(out, Passed{Place: c.Place, At: c.At})
	}
	return out
}

// CheckTurns tells whether every line of an outcome is about a place of the
// record, at or after its turn, with no more places confirmed than win.
func (o Outcome) CheckTurns(r Record, winners int) error {
	t := Turns{winners, len(r.Places), r.Drawn, o.Passed}
	for _, a := range o.acts() {
		turn, ok := t.Of(a.Place)
		switch {
		case a.Place > t.Places:
			return lineErrorf(a.key(), "want a place of the record, 1 to %d; this is %d", t.Places, a.Place)
		case !ok:
			return lineErrorf(a.key(), "want place %d left alone: it has no turn while %d of the places before it stand", a.Place, winners)
		case a.At.Before(turn.At):
			return lineErrorf(a.key(), "want place %d passed or confirmed not before its turn, %s", a.Place, FormatTime(turn.At))
		}
	}
	if len(o.Confirmed) > winners {
		return lineErrorf("confirmed", "want %d places confirmed at most; there are %d", winners, len(o.Confirmed))
	}
	return nil
}

// key is what the line of an act begins with.
func (p Passed) key() string {
	if p.Reason == "" {
		return fmt.Sprint("confirmed ", p.Place)
	}
	return fmt.Sprint("passed ", p.Place)
}

// CheckOutcome tells whether an outcome may replace the one before it: every
// pass stays as it was, a confirmed place may become a passed one, nothing
// else goes away, and no new line is earlier than any line before.
func CheckOutcome(old, new Outcome) error {
	if new.Revision != old.Revision+1 {
		return lineErrorf("revision", "want revision %d after revision %d", old.Revision+1, old.Revision)
	}
	if new.Replaces != Hash(old.Text()) {
		return lineErrorf("replaces", "want replaces %s, the hash of revision %d", Hash(old.Text()), old.Revision)
	}
	for _, p := range old.Passed {
		if !slices.Contains(new.Passed, p) {
			return lineErrorf(fmt.Sprint("passed ", p.Place), "want the pass of place %d kept as it was: %s %s", p.Place, p.Reason, FormatTime(p.At))
		}
	}
	for _, c := range old.Confirmed {
		passed := slices.ContainsFunc(new.Passed, func(p Passed) bool { return p.Place == c.Place })
		if !passed && !slices.Contains(new.Confirmed, c) {
			return lineErrorf(fmt.Sprint("confirmed ", c.Place), "want place %d kept as confirmed %s, or passed", c.Place, FormatTime(c.At))
		}
	}
	latest := time.Time{}
	for _, a := range old.acts() {
		if a.At.After(latest) {
			latest = a.At
		}
	}
	for _, a := range added(old, new) {
		if a.At.Before(latest) {
			return lineErrorf(a.key(), "want the new line of place %d not before %s, the latest line before", a.Place, FormatTime(latest))
		}
	}
	return nil
}

// added are the lines that new has and old has not.
func added(old, new Outcome) []Passed {
	had := old.acts()
	return slices.DeleteFunc(new.acts(), func(a Passed) bool { return slices.Contains(had, a) })
}
