package giveaway

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
)

// drawn brings a giveaway without a beacon to drawn. The checker of the draw
// package, whose own tests hold it against samples made by another
// implementation, has one remark on such a draw: it is weak.
func drawn(t *testing.T, winners, alternates, tickets int) (Host, *memStore, time.Time) {
	t.Helper()
	h, store := testHost(t)
	terms := noBeacon()
	terms.Winners, terms.Alternates = winners, alternates
	locked(t, h, store, terms, tickets)
	at := terms.Event.UTC
	if _, err := h.Draw(context.Background(), at, terms.Draw, nil); err != nil {
		t.Fatal(err)
	}
	checkVerdict(t, store, terms.Draw, "valid, weak", draw.StageDrawn, 1)
	return h, store, at
}

const boots = "trail-boots"

const day = 24 * time.Hour

func waiting(t *testing.T, h Host) []int {
	t.Helper()
	s, err := h.Outcome(context.Background(), boots)
	if err != nil {
		t.Fatal(err)
	}
	var places []int
	for _, p := range s.Waiting() {
		places = append(places, p.N)
	}
	return places
}

func TestPassAndConfirm(t *testing.T) {
	h, store, at := drawn(t, 2, 2, 20)
	ctx := context.Background()
	steps := []struct {
		name string
		act  func() (Giveaway, error)
		open []int // places that wait afterwards
	}{
		{"confirm 2", func() (Giveaway, error) { return h.Confirm(ctx, at.Add(time.Hour), boots, 2) }, []int{1}},
		{"pass 1", func() (Giveaway, error) {
			return h.Pass(ctx, at.Add(8*day), boots, Passing{Place: 1, Reason: draw.NoReply})
		}, []int{3}},
		{"confirm 3", func() (Giveaway, error) { return h.Confirm(ctx, at.Add(9*day), boots, 3) }, nil},
		{"3 gives it back", func() (Giveaway, error) {
			return h.Pass(ctx, at.Add(10*day), boots, Passing{Place: 3, Reason: draw.Withdrawn, GivenBack: true})
		}, []int{4}},
		{"pass 4", func() (Giveaway, error) {
			return h.Pass(ctx, at.Add(10*day), boots, Passing{Place: 4, Reason: draw.Declined})
		}, nil},
	}
	for i, s := range steps {
		for press := range 2 { // twice is once
			g, err := s.act()
			if err != nil || g.State != StateDrawn {
				t.Fatalf("%s, press %d: %v, %s", s.name, press, err, g.State)
			}
		}
		if store.moves["outcome"] != i+1 {
			t.Fatalf("%s: %d revisions, want %d", s.name, store.moves["outcome"], i+1)
		}
		checkVerdict(t, store, boots, "valid, weak", draw.StageOutcome, 1)
		if got := waiting(t, h); !slices.Equal(got, s.open) {
			t.Errorf("%s: places %v wait, want %v", s.name, got, s.open)
		}
	}
	s, _ := h.Outcome(ctx, boots)
	if s.Ungiven() != 1 || !s.Exhausted() || !s.Settled() || s.Outcome.Revision != 5 {
		t.Errorf("at the end: %d not given, exhausted %v, settled %v, revision %d", s.Ungiven(), s.Exhausted(), s.Settled(), s.Outcome.Revision)
	}
}

func TestActsRefused(t *testing.T) {
	h, store, at := drawn(t, 1, 2, 20)
	ctx := context.Background()
	pass := func(place int, reason string, after time.Duration) error {
		_, err := h.Pass(ctx, at.Add(after), boots, Passing{Place: place, Reason: reason})
		return err
	}
	confirm := func(place int) error { _, err := h.Confirm(ctx, at.Add(time.Hour), boots, place); return err }
	for _, c := range []struct {
		name string
		err  error
		want error
	}{
		{"no such reason", pass(1, "dull", day), ErrReason},
		{"place 0", pass(0, draw.Declined, day), ErrNoTurn},
		{"place beyond the record", confirm(4), ErrNoTurn},
		{"no turn to confirm", confirm(2), ErrNoTurn},
		{"no turn to pass", pass(3, draw.Declined, day), ErrNoTurn},
	} {
		if !errors.Is(c.err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, c.err, c.want)
		}
	}
	var early ErrTooEarly
	if err := pass(1, draw.NoReply, day-time.Second); !errors.As(err, &early) || !early.Until.Equal(at.Add(day)) {
		t.Errorf("no reply in under 24 hours: got %v", err)
	}
	if store.files[boots][draw.OutcomeFile] != nil {
		t.Fatal("an outcome was published")
	}
	if err := pass(1, draw.NoReply, day); err != nil {
		t.Fatalf("after 24 hours: %v", err)
	}
	var taken TakenError
	if err := confirm(1); !errors.As(err, &taken) || taken.Passed == nil || taken.Passed.Reason != draw.NoReply {
		t.Errorf("confirm what was passed: got %v", err)
	}
	if err := confirm(2); err != nil {
		t.Fatal(err)
	}
	if err := pass(2, draw.Declined, 2*day); !errors.As(err, &taken) || taken.Confirmed == nil {
		t.Errorf("pass what was confirmed: got %v", err)
	}
	checkVerdict(t, store, boots, "valid, weak", draw.StageOutcome, 1)
}

// The clock of the press may be behind: a line is stamped at its turn, and
// never before a line that stands. Draw protocol, "outcome.txt".
func TestStampsNeverRunBackwards(t *testing.T) {
	h, store, at := drawn(t, 1, 3, 20)
	ctx := context.Background()
	for _, err := range []error{
		errOf(h.Pass(ctx, at.Add(-time.Hour), boots, Passing{Place: 1, Reason: draw.Declined})),
		errOf(h.Pass(ctx, at.Add(3*day), boots, Passing{Place: 2, Reason: draw.NoReply})),
		errOf(h.Confirm(ctx, at.Add(day), boots, 3)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	s, _ := h.Outcome(ctx, boots)
	if !s.Outcome.Passed[0].At.Equal(at) || !s.Outcome.Confirmed[0].At.Equal(at.Add(3*day)) {
		t.Errorf("got %v", s.Outcome)
	}
	checkVerdict(t, store, boots, "valid, weak", draw.StageOutcome, 1)
}

func errOf(_ Giveaway, err error) error { return err }

// An early pass is possible, and every check remarks on it.
func TestEarlyPass(t *testing.T) {
	h, store, at := drawn(t, 1, 1, 20)
	if _, err := h.Pass(context.Background(), at.Add(time.Hour), boots, Passing{Place: 1, Reason: draw.NoReply, Early: true}); err != nil {
		t.Fatal(err)
	}
	checkVerdict(t, store, boots, "valid, weak", draw.StageOutcome, 2)
}

// A small list: fewer places than prizes.
func TestFewPlaces(t *testing.T) {
	h, _, at := drawn(t, 3, 2, 2)
	s, err := h.Outcome(context.Background(), boots)
	if err != nil || s.Ungiven() != 1 || s.Settled() || len(s.Waiting()) != 2 {
		t.Errorf("got %v, %+v", err, s)
	}
	if _, err := h.Confirm(context.Background(), at, boots, 3); !errors.Is(err, ErrNoTurn) {
		t.Errorf("got %v", err)
	}
}

func TestOutcomeBeforeTheDraw(t *testing.T) {
	h, store := testHost(t)
	locked(t, h, store, noBeacon(), 5)
	ctx := context.Background()
	_, pass := h.Pass(ctx, time.Unix(1_800_000_000, 0), boots, Passing{Place: 1, Reason: draw.Declined})
	_, confirm := h.Confirm(ctx, time.Unix(1_800_000_000, 0), boots, 1)
	_, look := h.Outcome(ctx, boots)
	for i, err := range []error{pass, confirm, look} {
		if !errors.Is(err, ErrState) {
			t.Errorf("%d: got %v, want ErrState", i, err)
		}
	}
	if _, err := h.Outcome(ctx, "none"); !errors.Is(err, ErrNotFound) {
		t.Errorf("unknown: got %v", err)
	}
}

// Fifty confirm and fifty pass one place at once: one wins, the others learn
// what stands; other places are settled at the same time.
func TestConfirmAndPassAtOnce(t *testing.T) {
	for round := range 20 {
		h, store, at := drawn(t, 4, 2, 20)
		ctx := context.Background()
		now := at.Add(2 * day)
		var mu sync.Mutex
		won := map[string]int{}
		note := func(act string, err error) {
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				won[act]++
			case errors.Is(err, ErrTaken):
				won["taken"]++
			default:
				t.Errorf("%s: %v", act, err)
			}
		}
		var wg sync.WaitGroup
		for range 8 {
			wg.Go(func() { _, err := h.Confirm(ctx, now, boots, 1); note("confirm", err) })
			wg.Go(func() { _, err := h.Pass(ctx, now, boots, Passing{Place: 1, Reason: draw.NoReply}); note("pass", err) })
		}
		for place := 2; place <= 4; place++ {
			wg.Go(func() { _, err := h.Confirm(ctx, now, boots, place); note(fmt.Sprint("other ", place), err) })
		}
		wg.Wait()
		if won["confirm"]+won["pass"] != 8 || won["taken"] != 8 || won["confirm"]*won["pass"] != 0 {
			t.Fatalf("round %d: got %v", round, won)
		}
		if store.moves["outcome"] != 4 {
			t.Errorf("round %d: %d revisions, want 4", round, store.moves["outcome"])
		}
		checkVerdict(t, store, boots, "valid, weak", draw.StageOutcome, 1)
	}
}

// Whatever is pressed in whatever order, after each press the publication is
// valid, and what stands only grows.
func TestRandomActs(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	reasons := []string{draw.NoReply, draw.Declined, draw.Ineligible, draw.Withdrawn}
	for range 30 {
		h, store, at := drawn(t, 1+r.IntN(3), r.IntN(4), 1+r.IntN(12))
		ctx, now := context.Background(), at
		for range 15 {
			now = now.Add(time.Duration(r.IntN(80)-20) * time.Hour)
			place := r.IntN(8)
			if r.IntN(2) == 0 {
				h.Confirm(ctx, now, boots, place)
			} else {
				h.Pass(ctx, now, boots, Passing{Place: place, Reason: reasons[r.IntN(4)], GivenBack: r.IntN(3) == 0})
			}
			report := draw.Check(ctx, store.Publication(boots), draw.Options{})
			if report.Status != 0 || report.Count(draw.Fault) > 0 || report.Count(draw.Remark) != 1 {
				t.Fatalf("got status %d: %v", report.Status, report.Findings)
			}
			s, err := h.Outcome(ctx, boots)
			if err != nil || len(s.Outcome.Confirmed) > s.Winners || len(s.Outcome.Confirmed)+len(s.Waiting())+s.Ungiven() != s.Winners {
				t.Fatalf("%v: %d confirmed, %d wait, %d not given, %d prizes", err, len(s.Outcome.Confirmed), len(s.Waiting()), s.Ungiven(), s.Winners)
			}
		}
	}
}

// A failing store leaves what stood.
func TestOutcomeStoreFails(t *testing.T) {
	h, store, at := drawn(t, 1, 1, 5)
	broken := errors.New("disk full")
	store.fail = func(string) error { return broken }
	if _, err := h.Confirm(context.Background(), at, boots, 1); !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
	h.Outcomes = nil
	if _, err := h.Confirm(context.Background(), at, boots, 1); err == nil {
		t.Error("no store for outcomes: no error")
	}
	store.fail = nil
	checkVerdict(t, store, boots, "valid, weak", draw.StageDrawn, 1)
}
