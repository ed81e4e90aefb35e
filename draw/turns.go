package draw

import (
	"fmt"
	"math/bits"
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

// All are the turns of the places 1, 2, … as far as they have one: where a
// place has none, no later one has. It takes n log n steps for n passes, where
// asking Of for each would take n times as many.
func (t Turns) All() []Turn {
	passed := slices.Clone(t.Passed)
	slices.SortStableFunc(passed, func(a, b Passed) int { return a.At.Compare(b.At) })
	rank := make(map[int][]int, len(passed)) // by place: where its passes stand in order of time
	for i, p := range passed {
		rank[p.Place] = append(rank[p.Place], i)
	}
	before := newRanks(len(passed))
	var out []Turn
	for place := 1; place <= t.Places; place++ {
		turn := Turn{At: t.Drawn}
		if need := place - t.Winners; need > 0 {
			if before.n < need {
				break
			}
			by := passed[before.nth(need)]
			turn = Turn{At: by.At, By: by.Place}
		}
		out = append(out, turn)
		for _, i := range rank[place] {
			before.add(i)
		}
	}
	return out
}

// ranks is a set of numbers from 0 that finds its n-th lowest: a binary
// indexed tree of counts (P. M. Fenwick, "A new data structure for cumulative
// frequency tables", 1994).
type ranks struct {
	tree []int
	n    int
}

func newRanks(size int) *ranks { return &ranks{tree: make([]int, size+1)} }

func (r *ranks) add(i int) {
	for i++; i < len(r.tree); i += i & -i {
		r.tree[i]++
	}
	r.n++
}

// nth is the n-th lowest, from 1, of at least n.
func (r *ranks) nth(n int) int {
	at := 0
	for step := 1 << bits.Len(uint(len(r.tree))); step > 0; step /= 2 {
		if at+step < len(r.tree) && r.tree[at+step] < n {
			at += step
			n -= r.tree[at]
		}
	}
	return at
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
	turns := Turns{winners, len(r.Places), r.Drawn, o.Passed}.All()
	for _, a := range o.acts() {
		switch {
		case a.Place < 1 || a.Place > len(r.Places):
			return lineErrorf(a.key(), "want a place of the record, 1 to %d; this is %d", len(r.Places), a.Place)
		case a.Place > len(turns):
			return lineErrorf(a.key(), "want place %d left alone: it has no turn while %d of the places before it stand", a.Place, winners)
		case a.At.Before(turns[a.Place-1].At):
			return lineErrorf(a.key(), "want place %d passed or confirmed not before its turn, %s", a.Place, FormatTime(turns[a.Place-1].At))
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
	stands := actSet(new)
	for _, p := range old.Passed {
		if !stands[p] {
			return lineErrorf(fmt.Sprint("passed ", p.Place), "want the pass of place %d kept as it was: %s %s", p.Place, p.Reason, FormatTime(p.At))
		}
	}
	passed := make(map[int]bool, len(new.Passed))
	for _, p := range new.Passed {
		passed[p.Place] = true
	}
	for _, c := range old.Confirmed {
		if !passed[c.Place] && !stands[Passed{Place: c.Place, At: c.At}] {
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
	had := actSet(old)
	return slices.DeleteFunc(new.acts(), func(a Passed) bool { return had[a] })
}

// actSet are the lines of an outcome, each with its reason and time.
func actSet(o Outcome) map[Passed]bool {
	out := make(map[Passed]bool, len(o.Passed)+len(o.Confirmed))
	for _, a := range o.acts() {
		out[a] = true
	}
	return out
}
