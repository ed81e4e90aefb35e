package giveaway

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"evenhand/draw"
)

// An OutcomeStore keeps what became of the places. It is the same store as
// [Host.Store]; a program that never passes or confirms needs none.
type OutcomeStore interface {
	// Outcome publishes the note as outcome.txt, in one durable transaction;
	// the outcome.txt before, if there is one, becomes outcome.<from>.txt.
	// From is the revision that o replaces, 0 for none: a compare-and-swap
	// with the revision of the giveaway's row, which must be drawn.
	// [ErrState] if another outcome came first, or the giveaway is not
	// drawn; then nothing has changed. The Publication shows the new
	// outcome.txt from then on. [ErrNotFound] for an unknown id.
	Outcome(ctx context.Context, id string, from int, o draw.Outcome, note []byte) error
}

// Errors of the moves after the draw.
var (
	// ErrNoTurn: the place is none of the record's, or enough places before
	// it still stand.
	ErrNoTurn = errors.New("this place has no turn")
	// ErrTaken: somebody settled the place before, another way. The error is a
	// [TakenError].
	ErrTaken = errors.New("this place is settled already")
	// ErrReason: no reason that an outcome knows.
	ErrReason = errors.New("want no-reply, declined, ineligible or withdrawn")
)

// A TakenError is an [ErrTaken] that says what stands: one of the two.
type TakenError struct {
	Place     int
	Passed    *draw.Passed
	Confirmed *draw.Confirmed
}

func (e TakenError) Error() string {
	if e.Passed != nil {
		return fmt.Sprintf("%v: place %d was passed (%s)", ErrTaken, e.Place, e.Passed.Reason)
	}
	return fmt.Sprintf("%v: place %d was confirmed", ErrTaken, e.Place)
}

// Is makes errors.Is(err, ErrTaken) true.
func (e TakenError) Is(target error) bool { return target == ErrTaken }

// leastPatience is how long after its turn a place may be passed for no reply
// without a remark of every check (draw protocol, "outcome.txt").
const leastPatience = 24 * time.Hour

// A Passing is a place that is to be passed.
type Passing struct {
	Place  int
	Reason string // draw.NoReply, draw.Declined, draw.Ineligible or draw.Withdrawn

	// Early: pass for no reply although 24 hours have not gone by since the
	// place's turn. Every check of the draw will remark on it.
	Early bool
	// GivenBack: pass the place although it was confirmed, such as when a
	// winner gives the prize back. Without it that is [ErrTaken], so that of
	// two people who pass and confirm at once one learns of the other.
	GivenBack bool
}

// Pass publishes that a place does not get the prize, in one new revision of
// outcome.txt. The same pass twice is no error, whatever its reason. Errors:
// [ErrReason]; [ErrNoTurn]; [TakenError] if it stands confirmed; [ErrTooEarly]
// for no reply within 24 hours of the turn; [StateError] before the draw.
func (h Host) Pass(ctx context.Context, now time.Time, id string, p Passing) (Giveaway, error) {
	if !slices.Contains([]string{draw.NoReply, draw.Declined, draw.Ineligible, draw.Withdrawn}, p.Reason) {
		return Giveaway{}, fmt.Errorf("pass a place of %s: %w", id, ErrReason)
	}
	g, err := h.act(ctx, id, func(s Standing) (*draw.Outcome, error) { return s.pass(second(now), p) })
	if err != nil {
		return g, fmt.Errorf("pass place %d of %s: %w", p.Place, id, err)
	}
	return g, nil
}

// Confirm publishes that a place gets the prize. The same twice is no error.
// Errors: [ErrNoTurn]; [TakenError] if it was passed; [StateError].
func (h Host) Confirm(ctx context.Context, now time.Time, id string, place int) (Giveaway, error) {
	g, err := h.act(ctx, id, func(s Standing) (*draw.Outcome, error) { return s.confirm(second(now), place) })
	if err != nil {
		return g, fmt.Errorf("confirm place %d of %s: %w", place, id, err)
	}
	return g, nil
}

// Outcome says how the places stand. [StateError] before the draw.
func (h Host) Outcome(ctx context.Context, id string) (Standing, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil {
		return Standing{}, fmt.Errorf("read giveaway: %w", err)
	}
	return h.standing(ctx, g)
}

// actTries bounds how often an act is tried again because acts on other
// places came between.
const actTries = 20

// act makes one step: read what stands, decide, publish by compare-and-swap.
// Where decide returns nil, nothing is left to do.
func (h Host) act(ctx context.Context, id string, decide func(Standing) (*draw.Outcome, error)) (Giveaway, error) {
	for try := 0; ; try++ {
		g, err := h.Store.Giveaway(ctx, id)
		if err != nil {
			return Giveaway{}, err
		}
		s, err := h.standing(ctx, g)
		if err != nil {
			return g, err
		}
		next, err := decide(s)
		if err != nil || next == nil {
			return g, err
		}
		err = h.publishOutcome(ctx, s, *next)
		if !errors.Is(err, ErrState) || try == actTries {
			return g, err
		}
	}
}

// publishOutcome checks a new outcome as a stranger would, signs and stores it.
func (h Host) publishOutcome(ctx context.Context, s Standing, next draw.Outcome) error {
	if h.Outcomes == nil {
		return errors.New("no store for outcomes here")
	}
	if err := s.mayFollow(next); err != nil {
		return err
	}
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return fmt.Errorf("signing key: %w", err)
	}
	note, err := signer.Sign(next.Text())
	if err != nil {
		return err
	}
	return h.Outcomes.Outcome(ctx, next.Draw, s.Outcome.Revision, next, note)
}
