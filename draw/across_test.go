package draw_test

import (
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// Rules between files of which each is right by itself.
func TestWrongBetweenFiles(t *testing.T) {
	twice := func(second float64) func(f *forge) {
		return func(f *forge) {
			for _, at := range []float64{10, second} {
				f.revise = append(f.revise, func(o *draw.Opening) {
					o.Revised, o.Closes = f.opening.Opens.Add(hours(at)), o.Closes.Add(time.Minute)
				})
			}
		}
	}
	twoWinners := func(outcomes ...draw.Outcome) func(f *forge) {
		return func(f *forge) { f.opening.Winners, f.outcomes = 2, outcomes }
	}
	frozenAfter := func(d time.Duration) func(f *forge) {
		return func(f *forge) {
			revised(0, 1)(f)
			f.revise[0] = func(o *draw.Opening) { o.Event, o.Revised = roundTime, f.frozen.Add(-d) }
			f.opening.Event = roundTime.Add(-30 * time.Minute)
			f.opening.Closes = roundTime.Add(-2 * time.Hour)
		}
	}
	for _, c := range []struct {
		name string
		set  func(f *forge)
		file string // "" is valid
		say  string
	}{
		{"revised later", twice(10 + 1.0/3600), "", ""},
		{"revised at the same time", twice(10), draw.OpeningFile, "want revised later than"},
		{"revised before the revision before", twice(9), draw.OpeningFile, "want revised later than"},
		{"frozen a second after revised", frozenAfter(time.Second), "", ""},
		{"frozen at revised", frozenAfter(0), draw.FreezeFile, "want frozen after revised"},
		{"a line as late as the latest before", twoWinners(outcome(confirm(1, 5)), outcome(confirm(1, 5), confirm(2, 5))), "", ""},
		{"a line earlier than the latest before", twoWinners(outcome(confirm(1, 5)), outcome(confirm(1, 5), confirm(2, 4))), draw.OutcomeFile, "not before"},
		{"a confirmation went away", twoWinners(outcome(confirm(1, 5)), outcome(confirm(2, 6))), draw.OutcomeFile, "kept as confirmed"},
		{"a confirmation changed its time", twoWinners(outcome(confirm(1, 5)), outcome(confirm(1, 6))), draw.OutcomeFile, "kept as confirmed"},
		{"confirmed turned passed", twoWinners(outcome(confirm(1, 5)), outcome(pass(1, draw.Withdrawn, 5))), "", ""},
		{"confirmed turned passed, earlier", twoWinners(outcome(confirm(1, 5)), outcome(pass(1, draw.Withdrawn, 4))), draw.OutcomeFile, "not before"},
		{"a pass turned confirmed", twoWinners(outcome(pass(1, draw.NoReply, 24)), outcome(confirm(1, 25))), draw.OutcomeFile, "want the pass of place 1 kept"},
		{"an act before the draw", twoWinners(outcome(confirm(1, -1.0/3600))), draw.OutcomeFile, "not before its turn"},
		{"an alternate before the pass that gives it its turn", twoWinners(outcome(pass(1, draw.Declined, 2)),
			outcome(pass(1, draw.Declined, 2), confirm(3, 2-1.0/3600))), draw.OutcomeFile, "not before its turn"},
		{"fault in a kept outcome", twoWinners(outcome(confirm(3, 1)), outcome(confirm(3, 1))), "outcome.1.txt", "no turn"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newForge(t)
			c.set(f)
			r := f.check(draw.Options{})
			if c.file == "" && r.Status != 0 || c.file != "" && (r.Status != 1 || !faultAt(r, c.file) || !strings.Contains(lines(r), c.say)) {
				t.Errorf("got %d, want a fault at %q saying %q\n%s", r.Status, c.file, c.say, lines(r))
			}
		})
	}
}

// The files of a publication stand in groups, each whole or absent.
func TestGroups(t *testing.T) {
	for name, gone := range map[string][]string{
		"roll.txt":     {draw.RollFile, draw.ExcludedFile},
		"freeze.txt":   {draw.FreezeFile},
		"record.txt":   {draw.RollFile, draw.ExcludedFile, draw.FreezeFile},
		"excluded.txt": {draw.ExcludedFile},
	} {
		p := newForge(t).make()
		for _, g := range gone {
			delete(p.MapFS, g)
		}
		if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != 1 || !faultAt(r, name) {
			t.Errorf("without %v: got %d, want a fault at %s\n%s", gone, r.Status, name, lines(r))
		}
	}
	p := newForge(t).make()
	delete(p.MapFS, draw.RecordFile)
	if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != 1 || !faultAt(r, draw.OutcomeFile) {
		t.Errorf("an outcome without a record: got %d\n%s", r.Status, lines(r))
	}
}

// A freeze that can't be read is not another freeze than the one known.
func TestKnownFreezeUnread(t *testing.T) {
	p := newForge(t).make()
	known := draw.Hash(nil)
	if r := draw.Check(t.Context(), losing{p, draw.FreezeFile, false}, draw.Options{Freeze: &known}); r.Status != draw.StatusNotRead {
		t.Errorf("got %d, want 2\n%s", r.Status, lines(r))
	}
}
