package giveaway

import (
	"context"
	"errors"
	"testing"
	"time"

	"evenhand/draw"
)

func shifted(m Moment, d time.Duration) *Moment {
	s := before(m, -d)
	return &s
}

func TestRevise(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	ctx, id, now := context.Background(), terms.Draw, terms.Opens.UTC.Add(time.Hour)

	// An entry was stamped later than the revision's own clock says.
	store.stamps[id] = now.Add(3 * time.Second)
	g, err := h.Revise(ctx, now, id, Change{Closes: shifted(terms.Closes, time.Hour)})
	if err != nil || g.Revision != 2 || !g.Terms.Closes.UTC.Equal(terms.Closes.UTC.Add(time.Hour)) {
		t.Fatalf("got %v, %+v", err, g)
	}
	if want := now.Add(4 * time.Second); !g.Opening.Revised.Equal(want) {
		t.Errorf("got revised %v, want %v, a second after the last entry", g.Opening.Revised, want)
	}
	rules := "One entry a person. Corrected.\n"
	g, err = h.Revise(ctx, now, id, Change{Rules: &rules, Event: shifted(terms.Event, time.Hour)})
	if err != nil || g.Revision != 3 || !g.Opening.Revised.Equal(now.Add(5*time.Second)) {
		t.Fatalf("got %v, revision %d, revised %v", err, g.Revision, g.Opening.Revised)
	}
	for _, name := range []string{"opening.1.txt", "opening.2.txt", "rules.2.txt"} {
		if store.files[id][name] == nil {
			t.Errorf("%s is not kept", name)
		}
	}
	if store.files[id]["rules.1.txt"] != nil {
		t.Error("rules.1.txt is kept, though those rules never changed")
	}
	checkVerdict(t, store, id, "valid so far, weak", draw.StageOpen, 3) // no beacon, two revisions
	if _, err := h.Lock(ctx, g.Terms.Closes.UTC, id); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Draw(ctx, g.Terms.Event.UTC, id, nil); err != nil {
		t.Fatal(err)
	}
	checkVerdict(t, store, id, "valid, weak", draw.StageDrawn, 3)
}

func TestReviseRefuses(t *testing.T) {
	terms := noBeacon()
	rules := terms.Rules
	blank := " "
	now := terms.Opens.UTC.Add(time.Hour)
	for _, c := range []struct {
		name   string
		now    time.Time
		change Change
		field  string
	}{
		{"nothing", now, Change{}, "closes"},
		{"the same rules", now, Change{Rules: &rules}, "closes"},
		{"earlier closing", now, Change{Closes: shifted(terms.Closes, -time.Second)}, "closes"},
		{"earlier event", now, Change{Event: shifted(terms.Event, -time.Second)}, "event"},
		{"closing too near the event", now, Change{Closes: shifted(terms.Event, -599*time.Second)}, "event"},
		{"blank rules", now, Change{Rules: &blank}, "rules"},
		{"event too near", terms.Event.UTC, Change{Event: shifted(terms.Event, 599*time.Second)}, "event"},
		{"event is over and stays", terms.Event.UTC, Change{Rules: &blank}, "event"},
	} {
		h, store := testHost(t)
		opened(t, h, store, terms, 1)
		_, err := h.Revise(context.Background(), c.now, terms.Draw, c.change)
		var p Problems
		if !errors.As(err, &p) || len(p.Of(c.field)) == 0 {
			t.Errorf("%s: got %v, want a problem with %s", c.name, err, c.field)
		}
		if store.moves["revise"] != 0 || len(store.files[terms.Draw]) != 2 {
			t.Errorf("%s: something was changed", c.name)
		}
	}
}

// A lock forgotten past the event: the event moves, then the list is locked.
func TestForgottenLock(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	ctx, late := context.Background(), terms.Event.UTC.Add(time.Hour)
	if _, err := h.Lock(ctx, late, terms.Draw); !errors.Is(err, ErrTooLate) {
		t.Fatalf("lock: got %v", err)
	}
	g, err := h.Revise(ctx, late, terms.Draw, Change{Event: shifted(terms.Event, 24*time.Hour)})
	if err != nil {
		t.Fatal(err)
	}
	// The second presser of the same button gets the same answer.
	again, err := h.Revise(ctx, late, terms.Draw, Change{Event: shifted(terms.Event, 24*time.Hour)})
	if err != nil || again.Revision != g.Revision {
		t.Errorf("again: got %v, revision %d", err, again.Revision)
	}
	if _, err := h.Lock(ctx, late, terms.Draw); err != nil {
		t.Fatal(err)
	}
	// no beacon, and the revision with "moved after the event"
	checkVerdict(t, store, terms.Draw, "valid so far, weak", draw.StageFrozen, 2)
}

func TestReviseAfterLock(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	locked(t, h, store, terms, 10)
	var state StateError
	_, err := h.Revise(context.Background(), terms.Closes.UTC, terms.Draw, Change{Event: shifted(terms.Event, time.Hour)})
	if !errors.As(err, &state) || state.State != StateFrozen {
		t.Errorf("got %v, want a StateError with frozen", err)
	}
}

// The process dies between every two steps of the lock: after 20 seconds the
// next one takes over, and what comes out is whole.
func TestLockTakesOver(t *testing.T) {
	for _, dead := range []string{"list", "freeze"} {
		h, store := testHost(t)
		terms := noBeacon()
		opened(t, h, store, terms, 2000)
		ctx, id, at := context.Background(), terms.Draw, terms.Closes.UTC
		died := errors.New("died")
		// Nothing after this step happens, the tidying up neither.
		over := false
		store.fail = func(step string) error {
			if over = over || step == dead; over {
				return died
			}
			return nil
		}
		if _, err := h.Lock(ctx, at, id); !errors.Is(err, died) {
			t.Fatalf("%s: got %v", dead, err)
		}
		store.fail = nil
		if g := store.rows[id]; g.State != StateFreezing {
			t.Fatalf("%s: left as %s, want freezing", dead, g.State)
		}
		if err := h.Do(ctx, at.Add(19*time.Second), Duty{id, MoveLock}); err != nil || store.rows[id].State != StateFreezing {
			t.Errorf("%s: after 19 s: %v, %s; want to wait", dead, err, store.rows[id].State)
		}
		due, err := h.Due(ctx, at.Add(20*time.Second))
		if err != nil || len(due) != 1 {
			t.Fatalf("%s: due: %v, %v", dead, due, err)
		}
		if err := h.Do(ctx, at.Add(20*time.Second), due[0]); err != nil || store.rows[id].State != StateFrozen {
			t.Errorf("%s: after 20 s: %v, %s; want frozen", dead, err, store.rows[id].State)
		}
		checkVerdict(t, store, id, "valid so far, weak", draw.StageFrozen, 1)
	}
}

// An attempt that fails while the process lives gives the row back at once.
func TestFailedLockGivesBack(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	full := errors.New("disk full")
	store.fail = func(step string) error {
		if step == "list" {
			return full
		}
		return nil
	}
	if _, err := h.Lock(context.Background(), terms.Closes.UTC, terms.Draw); !errors.Is(err, full) {
		t.Fatalf("got %v", err)
	}
	if g := store.rows[terms.Draw]; g.State != StateOpen {
		t.Errorf("left as %s, want open", g.State)
	}
	store.fail = nil
	if _, err := h.Lock(context.Background(), terms.Closes.UTC, terms.Draw); err != nil {
		t.Errorf("second try: %v", err)
	}
}

// A freeze that a dead process left behind past the event goes back to open,
// so that a revision can be made.
func TestDeadFreezePastTheEvent(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	ctx, id := context.Background(), terms.Draw
	if _, _, err := store.BeginFreeze(ctx, id, "dead", terms.Closes.UTC); err != nil {
		t.Fatal(err)
	}
	due, err := h.Due(ctx, terms.Event.UTC.Add(time.Minute))
	if err != nil || len(due) != 1 {
		t.Fatalf("due: %v, %v", due, err)
	}
	if err := h.Do(ctx, terms.Event.UTC.Add(time.Minute), due[0]); !errors.Is(err, ErrTooLate) {
		t.Errorf("got %v, want ErrTooLate", err)
	}
	if g := store.rows[id]; g.State != StateOpen || store.files[id][draw.FreezeFile] != nil {
		t.Errorf("left as %s", g.State)
	}
}

// The clock passes the event while the lists are written: no freeze.
func TestEventComesDuringTheFreeze(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	h.Now = func() time.Time { return terms.Event.UTC }
	if _, err := h.Lock(context.Background(), terms.Event.UTC.Add(-time.Second), terms.Draw); !errors.Is(err, ErrTooLate) {
		t.Errorf("got %v, want ErrTooLate", err)
	}
	if g := store.rows[terms.Draw]; g.State != StateOpen || store.files[terms.Draw][draw.FreezeFile] != nil {
		t.Errorf("left as %s", g.State)
	}
}

// Lock waits for another attempt and gives up with the caller.
func TestLockWaits(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	at := terms.Closes.UTC
	if _, _, err := store.BeginFreeze(context.Background(), terms.Draw, "other", at); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 120*time.Millisecond)
	defer cancel()
	if _, err := h.Lock(ctx, at, terms.Draw); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v", err)
	}
}

// The frozen stamp is later than every entry, even of a clock that ran ahead.
func TestFrozenAfterEveryEntry(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	opened(t, h, store, terms, 10)
	last := terms.Closes.UTC.Add(7 * time.Second)
	store.stamps[terms.Draw] = last
	g, err := h.Lock(context.Background(), terms.Closes.UTC, terms.Draw)
	if err != nil || !g.Frozen.Equal(last.Add(time.Second)) {
		t.Errorf("got %v, frozen %v; want %v", err, g.Frozen, last.Add(time.Second))
	}
}

func TestDue(t *testing.T) {
	terms := noBeacon() // closes 18:00, event 20:30, locks itself 20:00
	long := terms
	long.LockMinutes = 600 // 10 h before the event is before closing
	least := terms
	least.LockMinutes = LeastLockMinutes
	for _, c := range []struct {
		name   string
		terms  Terms
		sample bool
		at     time.Duration // from the event
		want   bool
	}{
		{"a second before half past", terms, false, -30*time.Minute - time.Second, false},
		{"half an hour before", terms, false, -30 * time.Minute, true},
		{"a second before the event", terms, false, -time.Second, true},
		{"at the event", terms, false, 0, false},
		{"before closing", long, false, -150*time.Minute - time.Second, false},
		{"at closing", long, false, -150 * time.Minute, true},
		{"sample, half an hour before", terms, true, -30 * time.Minute, true},
		{"sample of the least time, ten minutes before", least, true, -10 * time.Minute, false},
		{"sample of the least time, five seconds before", least, true, -5 * time.Second, true},
		{"no sample, ten minutes before", least, false, -10 * time.Minute, true},
	} {
		h, store := testHost(t)
		opened(t, h, store, c.terms, 1)
		g := store.rows[c.terms.Draw]
		g.Sample = c.sample
		store.rows[c.terms.Draw] = g
		due, err := h.Due(context.Background(), c.terms.Event.UTC.Add(c.at))
		if err != nil || (len(due) == 1) != c.want {
			t.Errorf("%s: got %v, %v; want due %v", c.name, due, err, c.want)
		}
	}
}

func TestDueLeavesDraftsAndTheLockedAlone(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	locked(t, h, store, terms, 1)
	other := terms
	other.Draw = "draft-boots"
	if _, err := h.Draft(context.Background(), terms.Opens.UTC, other); err != nil {
		t.Fatal(err)
	}
	due, err := h.Due(context.Background(), terms.Event.UTC.Add(-time.Minute))
	if err != nil || len(due) != 0 {
		t.Errorf("got %v, %v", due, err)
	}
}

// The whole table of moves, from the states; all others are refused.
func TestMay(t *testing.T) {
	states := []State{StateDraft, StateOpen, StateFreezing, StateFrozen, StateDrawn, StateCancelled}
	allowed := map[[2]State]bool{
		{StateDraft, StateOpen}: true, {StateOpen, StateFreezing}: true, {StateOpen, StateCancelled}: true,
		{StateFreezing, StateFrozen}: true, {StateFreezing, StateOpen}: true,
		{StateFrozen, StateDrawn}: true, {StateFrozen, StateCancelled}: true,
	}
	for _, from := range states {
		for _, to := range states {
			if got := from.May(to); got != allowed[[2]State{from, to}] {
				t.Errorf("%s to %s: got %v", from, to, got)
			}
		}
	}
}

func TestPhase(t *testing.T) {
	terms := noBeacon()
	o := draw.Opening{Opens: terms.Opens.UTC, Closes: terms.Closes.UTC, Event: terms.Event.UTC}
	for _, c := range []struct {
		state State
		at    time.Time
		want  Phase
	}{
		{StateDraft, o.Opens, PhaseDraft},
		{StateOpen, o.Opens.Add(-1), PhaseSoon},
		{StateOpen, o.Opens, PhaseTaking},
		{StateOpen, o.Closes.Add(-1), PhaseTaking},
		{StateOpen, o.Closes, PhaseClosed},
		{StateOpen, o.Event.Add(time.Hour), PhaseClosed},
		{StateFreezing, o.Closes, PhaseClosed},
		{StateFrozen, o.Event, PhaseLocked},
		{StateDrawn, o.Event, PhaseDrawn},
		{StateCancelled, o.Event, PhaseOff},
	} {
		if got := (Giveaway{State: c.state, Opening: o}).Phase(c.at); got != c.want {
			t.Errorf("%s at %v: got %q, want %q", c.state, c.at, got, c.want)
		}
	}
}
