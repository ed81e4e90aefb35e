package giveaway

import (
	"testing"
	"time"
)

// While a result is held back the public knows a locked list, from the second
// of the draw to the one of the release.
func TestAsPublic(t *testing.T) {
	drawn := time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)
	g := Giveaway{ID: "boots", State: StateDrawn, Drawn: drawn, Released: drawn.Add(HoldAtMost)}
	for _, c := range []struct {
		after time.Duration
		want  State
	}{
		{0, StateFrozen}, {HoldAtMost - time.Second, StateFrozen}, {HoldAtMost - 1, StateFrozen}, {HoldAtMost, StateDrawn}, {24 * time.Hour, StateDrawn},
	} {
		p := g.AsPublic(drawn.Add(c.after))
		if p.State != c.want || p.Drawn.IsZero() != (c.want == StateFrozen) || p.Released.IsZero() != (c.want == StateFrozen) {
			t.Errorf("%v after the draw it is %s, drawn %v, released %v", c.after, p.State, p.Drawn, p.Released)
		}
	}
	g.Released = drawn
	if p := g.AsPublic(drawn.Add(-time.Second)); p.State != StateDrawn {
		t.Error("a result that was never held back is hidden where the clock is behind")
	}
	for _, s := range []State{StateDraft, StateOpen, StateFreezing, StateFrozen, StateCancelled} {
		if p := (Giveaway{State: s}).AsPublic(drawn); p.State != s {
			t.Errorf("%s becomes %s", s, p.State)
		}
	}
}

// A release waits for a whole second, so it is never early.
func TestWholeSecond(t *testing.T) {
	at := time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)
	for add, want := range map[time.Duration]time.Duration{0: 0, 1: time.Second, time.Second - 1: time.Second, time.Second: time.Second} {
		if got := WholeSecond(at.Add(add)); !got.Equal(at.Add(want)) {
			t.Errorf("%v: %v", add, got)
		}
	}
}
