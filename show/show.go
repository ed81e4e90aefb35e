package show

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Errors of the moves.
var (
	// ErrMoved: another press came first; a Store's answer only.
	ErrMoved = errors.New("the show was moved meanwhile")
	// ErrNotLocked: nothing but the first picture can be shown before the
	// list of tickets is locked.
	ErrNotLocked = errors.New("the list is not locked yet")
	// ErrDelay: the delay is out of bounds.
	ErrDelay = errors.New("the delay must be from 0 to 120 seconds")
)

// A Store keeps shows.
type Store interface {
	// Show returns the state of a giveaway's show; Version 0 where it has not
	// begun, also of an id that is unknown.
	Show(ctx context.Context, id string) (State, error)
	// MoveShow replaces the state of version from (0: there is none yet) with
	// next. Where release is not zero it makes the result's release earlier
	// in the same step, as [giveaway.Store] does with Release. [ErrMoved],
	// with nothing changed, if another version stands.
	MoveShow(ctx context.Context, from int64, next State, release time.Time) error
	// Newest is the giveaway whose show was moved last, of those whose event is
	// not after a time, "" while none has begun.
	Newest(ctx context.Context, last time.Time) (string, error)
	// LastDelay is the delay of the show that was moved last, rehearsals too; 0
	// while none has begun.
	LastDelay(ctx context.Context) (int, error)
	// Said returns what is to be said of each of the tickets beside its
	// characters. A ticket of which nothing was decided, or only to show the
	// ticket, is not in it, nor one whose personal data was deleted.
	Said(ctx context.Context, id string, tickets []draw.Ticket) (map[draw.Ticket]string, error)
}

// A Show moves the shows of one installation. Its methods may be called by any
// number of goroutines and processes at once. Each press names the version
// that it saw; one that saw an older version moves nothing, which is no error.
type Show struct {
	Store Store
	Host  giveaway.Host
}

// State returns where the show stands.
func (s Show) State(ctx context.Context, id string) (State, error) { return s.Store.Show(ctx, id) }

// Start begins the show, once: with its first picture, and with the delay of the
// show before it, since a stream is as late as it was.
func (s Show) Start(ctx context.Context, now time.Time, id string) (State, error) {
	g, err := s.Host.Store.Giveaway(ctx, id)
	if err != nil {
		return State{}, err
	}
	if g.State == giveaway.StateDraft {
		return State{}, giveaway.StateError{State: g.State}
	}
	st, err := s.Store.Show(ctx, id)
	if err != nil || st.Version > 0 {
		return st, err
	}
	st.Draw = id
	if st.Delay, err = s.Store.LastDelay(ctx); err != nil {
		return State{}, err
	}
	return s.put(ctx, 0, st.to(Soon, 0, now), time.Time{})
}

// Forward shows the next picture. From [Number] to [Opened] it makes the draw,
// held back, with the pasted value if there is one; a draw that was made
// already stands. To the first place it releases the result, Delay seconds
// from now. While the show is on hold, or where nothing follows, nothing
// changes. Errors: [ErrNotLocked]; [giveaway.ErrTooEarly] before the public
// number's time; [giveaway.ErrNoBeacon]; [giveaway.StateError] of a giveaway
// that was called off.
func (s Show) Forward(ctx context.Context, now time.Time, id string, version int64, pasted *draw.Beacon) (State, error) {
	return s.press(ctx, id, version, func(st State, g giveaway.Giveaway, places int) (State, time.Time, error) {
		step, place, ok := st.ahead(places)
		if st.Held || !ok {
			return st, time.Time{}, nil
		}
		if err := mayShow(g, step); err != nil {
			return st, time.Time{}, err
		}
		if step == Opened {
			if _, err := s.Host.DrawHeld(ctx, now, id, pasted); err != nil {
				return st, time.Time{}, err
			}
		}
		next := st.to(step, place, now)
		return next, releaseWith(g, st, next), nil
	})
}

// mayShow tells why a picture can't be shown of a giveaway as it is.
func mayShow(g giveaway.Giveaway, step Step) error {
	switch {
	case g.State == giveaway.StateCancelled:
		return giveaway.StateError{State: g.State}
	case g.State == giveaway.StateFrozen || g.State == giveaway.StateDrawn || step == Soon:
		return nil
	}
	return ErrNotLocked
}

// releaseWith is when the result is released with a move; zero: the move
// leaves that as it is.
func releaseWith(g giveaway.Giveaway, st, next State) time.Time {
	if next.Step < First || st.Step >= First {
		return time.Time{}
	}
	return next.releaseAt(g.Drawn)
}

// releaseAt is from when on viewers may know the result; zero before it was
// shown. A clock that went back since the draw, or another server's, brings it
// no nearer to the draw than the delay.
func (s State) releaseAt(drawn time.Time) time.Time {
	for _, r := range s.Reached {
		if r.Step.Result() {
			from := r.At
			if from.Before(drawn) {
				from = drawn
			}
			return giveaway.WholeSecond(from.Add(time.Duration(s.Delay) * time.Second))
		}
	}
	return time.Time{}
}

// Back shows the picture before. What was drawn or released stays so.
func (s Show) Back(ctx context.Context, now time.Time, id string, version int64) (State, error) {
	return s.press(ctx, id, version, func(st State, _ giveaway.Giveaway, places int) (State, time.Time, error) {
		if step, place, ok := st.before(places); ok {
			st = st.to(step, place, now)
		}
		return st, time.Time{}, nil
	})
}

// Hold keeps the stage where it is, or lets it go on.
func (s Show) Hold(ctx context.Context, id string, version int64, on bool) (State, error) {
	return s.change(ctx, id, version, func(st *State) { st.Held = on })
}

// Dark blanks the stage, or lights it.
func (s Show) Dark(ctx context.Context, id string, version int64, on bool) (State, error) {
	return s.change(ctx, id, version, func(st *State) { st.Dark = on })
}

// SetDelay sets by how many seconds viewers' pages follow the stage. Where the
// result was shown already, a shorter one releases it earlier, and a longer one
// changes nothing of that. [ErrDelay].
func (s Show) SetDelay(ctx context.Context, id string, version int64, seconds int) (State, error) {
	if seconds < 0 || seconds > MaxDelay {
		return State{}, ErrDelay
	}
	return s.press(ctx, id, version, func(st State, g giveaway.Giveaway, _ int) (State, time.Time, error) {
		next := st.changed()
		next.Delay = seconds
		return next, next.releaseAt(g.Drawn), nil
	})
}

// ShowAlternates shows those next in line, after the places were shown.
func (s Show) ShowAlternates(ctx context.Context, now time.Time, id string, version int64) (State, error) {
	return s.press(ctx, id, version, func(st State, _ giveaway.Giveaway, _ int) (State, time.Time, error) {
		if st.Step == Next && !st.Held {
			st = st.to(Alternates, 0, now)
		}
		return st, time.Time{}, nil
	})
}

// change is a press that changes no picture.
func (s Show) change(ctx context.Context, id string, version int64, do func(*State)) (State, error) {
	return s.press(ctx, id, version, func(st State, _ giveaway.Giveaway, _ int) (State, time.Time, error) {
		next := st.changed()
		do(&next)
		if next.Held == st.Held && next.Dark == st.Dark {
			return st, time.Time{}, nil
		}
		return next, time.Time{}, nil
	})
}

// press reads the show, decides, and stores what was decided by
// compare-and-swap. Whoever comes second gets what the first one made.
func (s Show) press(ctx context.Context, id string, version int64, decide func(State, giveaway.Giveaway, int) (State, time.Time, error)) (State, error) {
	st, err := s.Store.Show(ctx, id)
	if err != nil || st.Version != version {
		return st, err
	}
	st.Draw = id
	g, err := s.Host.Store.Giveaway(ctx, id)
	if err != nil {
		return st, err
	}
	places, err := s.places(ctx, g)
	if err != nil {
		return st, err
	}
	next, release, err := decide(st, g, places)
	if err != nil || next.Version == st.Version {
		return st, err
	}
	return s.put(ctx, version, next, release)
}

func (s Show) put(ctx context.Context, from int64, next State, release time.Time) (State, error) {
	err := s.Store.MoveShow(ctx, from, next, release)
	if errors.Is(err, ErrMoved) {
		return s.Store.Show(ctx, next.Draw)
	}
	if err != nil {
		return next, fmt.Errorf("move the show of %s: %w", next.Draw, err)
	}
	return next, nil
}

// places is how many places the show has, one after another; 0 before the draw.
func (s Show) places(ctx context.Context, g giveaway.Giveaway) (int, error) {
	if g.State != giveaway.StateDrawn {
		return 0, nil
	}
	stand, err := s.Host.Outcome(ctx, g.ID)
	return min(stand.Winners, len(stand.Places)), err
}
