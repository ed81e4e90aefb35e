package web

import (
	"strings"
	"testing"
	"time"

	"evenhand/giveaway"
)

// Clocks in Manitoba no longer change: what was announced with older zone data
// is another wall time now (testdata/facts/time.md, TZ-37).
func TestZoneMoved(t *testing.T) {
	for _, zone := range giveaway.StaleZones() {
		if zone == "America/Winnipeg" {
			t.Skip("ZONE DATA TOO OLD for America/Winnipeg: not tested; install tzdata 2026f or later")
		}
	}
	stale := giveaway.Moment{Local: "2026-12-01T20:00", Zone: "America/Winnipeg", UTC: time.Date(2026, 12, 2, 2, 0, 0, 0, time.UTC)}
	g := giveaway.Giveaway{State: giveaway.StateOpen, Terms: giveaway.Terms{Event: stale}}
	got := strings.Join(zoneMoved(g), "\n")
	for _, want := range []string{"The draw was announced for 2026-12-01 at 20:00", "the same moment is now Tuesday 1 December 2026, 9:00 pm Winnipeg time.", "The posted moment stands"} {
		if !strings.Contains(got, want) {
			t.Errorf("lacks %q: %s", want, got)
		}
	}
	g.State = giveaway.StateDraft
	if got := zoneMoved(g); len(got) != 1 || !strings.Contains(got[0], "before you post it") {
		t.Errorf("a draft: got %q", got)
	}
	g.State = giveaway.StateDrawn
	if got := zoneMoved(g); got != nil {
		t.Errorf("after the draw: got %q", got)
	}
	g.State, g.Terms.Event.UTC = giveaway.StateOpen, stale.UTC.Add(-time.Hour)
	if got := zoneMoved(g); got != nil {
		t.Errorf("nothing moved: got %q", got)
	}
}
