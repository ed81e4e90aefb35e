package sample

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// ErrReal says that there is a real giveaway: invented ones are not mixed in.
var ErrReal = errors.New("there is a real giveaway here, so the sample stays out")

// A Loader loads the sample.
type Loader struct {
	Host   giveaway.Host
	Intake entries.Intake
	Now    func() time.Time
	// Relays reports whether a relay of the public network answers just now.
	// If not, the draw of the second giveaway names no public number.
	Relays func(ctx context.Context, now time.Time) bool
	// Told, if set, hears what became of the forms sent in for a giveaway.
	Told func(id string, t Tally)
}

// A Tally is what became of the forms that were sent in for one giveaway.
type Tally struct {
	Sent, In, Repeats, Refused, Withdrawn int
}

// Load loads the sample, or what is missing of it. [ErrReal] if there is a
// real giveaway. The one that is to be drawn is loaded last: its event is 60
// seconds after that.
func (l Loader) Load(ctx context.Context) error {
	if err := l.onlySamples(ctx); err != nil {
		return fmt.Errorf("load sample: %w", err)
	}
	l.Host.Now = nil // the time handed in stands for all of a move
	for _, load := range []func(context.Context) error{l.finished, l.taking, l.next} {
		if err := load(ctx); err != nil {
			return fmt.Errorf("load sample: %w", err)
		}
	}
	return nil
}

func (l Loader) onlySamples(ctx context.Context) error {
	all, err := l.Host.Store.Giveaways(ctx)
	if err != nil {
		return err
	}
	for _, g := range all {
		if !g.Sample {
			return ErrReal
		}
	}
	return nil
}

// open drafts and opens a giveaway at its opening time, unless it is there.
// Again says that entries may be missing: an earlier run may have died on them.
func (l Loader) open(ctx context.Context, id string, terms func() (giveaway.Terms, error)) (g giveaway.Giveaway, again bool, err error) {
	g, err = l.Host.Store.Giveaway(ctx, id)
	if errors.Is(err, giveaway.ErrNotFound) {
		var t giveaway.Terms
		if t, err = terms(); err != nil {
			return g, false, err
		}
		g, err = l.Host.DraftSample(ctx, t.Opens.UTC, t)
	}
	if err == nil && g.State == giveaway.StateDraft {
		g, err = l.Host.Open(ctx, g.Terms.Opens.UTC, id)
	}
	return g, g.State == giveaway.StateOpen, err
}

// finished loads a giveaway that was drawn with a round of last August.
func (l Loader) finished(ctx context.Context) error {
	g, loading, err := l.open(ctx, Finished, finishedTerms)
	if err != nil {
		return err
	}
	if loading {
		if err := l.enter(ctx, g, crowd(Finished, 140), g.Opening.Closes); err != nil {
			return err
		}
		if g, err = l.lock(ctx, g, g.Opening.Event.Add(-lockBefore)); err != nil {
			return err
		}
	}
	if g.State != giveaway.StateFrozen {
		return nil
	}
	value, err := PastRound()
	if err != nil {
		return err
	}
	_, err = l.Host.Draw(ctx, g.DrawAt().Add(20*time.Second), g.ID, &value)
	return err
}

// lock tries again if a server's tick came between: it takes a freeze that was
// begun with an old time for one that was given up.
func (l Loader) lock(ctx context.Context, g giveaway.Giveaway, at time.Time) (giveaway.Giveaway, error) {
	for try := 0; ; try++ {
		locked, err := l.Host.Lock(ctx, at, g.ID)
		if !errors.Is(err, giveaway.ErrState) || try == 3 {
			return locked, err
		}
	}
}

// taking loads a giveaway that takes entries for 14 more days.
func (l Loader) taking(ctx context.Context) error {
	now := l.Now()
	g, loading, err := l.open(ctx, Open, func() (giveaway.Terms, error) { return openTerms(now) })
	if err != nil || !loading || g.Phase(now) != giveaway.PhaseTaking {
		return err
	}
	full, err := l.loaded(ctx, g)
	if err != nil || full {
		return err
	}
	return l.enter(ctx, g, crowd(Open, 380), g.Created.Add(sinceOpen))
}

// next loads a closed giveaway whose event is 60 seconds from now. The lock
// and the draw are left to the person at the desk; if nobody comes, the list
// locks itself five seconds before the event ([giveaway.Giveaway.LockAt]).
func (l Loader) next(ctx context.Context) error {
	_, err := l.Host.Store.Giveaway(ctx, Next)
	if err == nil {
		return nil // its minute has begun in an earlier run
	}
	if !errors.Is(err, giveaway.ErrNotFound) {
		return err
	}
	relays := l.Relays != nil && l.Relays(ctx, l.Now())
	event := l.Now().Add(untilEvent)
	g, loading, err := l.open(ctx, Next, func() (giveaway.Terms, error) { return nextTerms(event, relays) })
	if err != nil || !loading {
		return err
	}
	return l.enter(ctx, g, crowd(Next, 60), g.Opening.Closes)
}

// loaded reports whether the giveaway has its entries from an earlier run.
// Whoever withdrew in it would otherwise be entered again.
func (l Loader) loaded(ctx context.Context, g giveaway.Giveaway) (bool, error) {
	counts, err := l.Intake.Store.EntryCounts(ctx, g.ID)
	return counts.ByReason[draw.Withdrawn] > 0, err
}
