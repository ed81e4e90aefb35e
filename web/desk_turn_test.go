package web

import (
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// When a giveaway is another one by itself, from the states' own rules
// (giveaway.Phase, LockAt and DrawAt).
func TestNextTurn(t *testing.T) {
	opens := time.Date(2026, 8, 20, 16, 0, 0, 0, time.UTC)
	closes, event := opens.Add(48*time.Hour), opens.Add(50*time.Hour)
	g := giveaway.Giveaway{State: giveaway.StateOpen, Opening: draw.Opening{Opens: opens, Closes: closes, Event: event}}
	g.Terms.LockMinutes, g.Terms.Closes.UTC = 30, closes
	lock := event.Add(-30 * time.Minute)
	in := func(s giveaway.State) giveaway.Giveaway { g := g; g.State = s; return g }
	for name, c := range map[string]struct {
		g        giveaway.Giveaway
		at, want time.Time
	}{
		"before entries":        {g, opens.Add(-time.Hour), opens},
		"at the first moment":   {g, opens, closes},
		"before the close":      {g, closes.Add(-time.Second), closes},
		"closed":                {g, closes, lock},
		"locking itself":        {g, lock, lock.Add(soon)},
		"not locked in time":    {g, event, time.Time{}},
		"a draft":               {in(giveaway.StateDraft), opens, closes},
		"a draft, too late":     {in(giveaway.StateDraft), closes, time.Time{}},
		"locked":                {in(giveaway.StateFrozen), lock, g.DrawAt()},
		"locked, time to draw":  {in(giveaway.StateFrozen), g.DrawAt(), time.Time{}},
		"drawn":                 {in(giveaway.StateDrawn), event, time.Time{}},
		"called off":            {in(giveaway.StateCancelled), opens, time.Time{}},
		"being locked (itself)": {in(giveaway.StateFreezing), lock, time.Time{}}, // has a Refresh of its own
	} {
		if got := nextTurn(c.g, c.at); !got.Equal(c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
