package giveaway

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// A Duty is something that is due without anybody pressing a button.
type Duty struct {
	ID   string // the giveaway
	Move Move
}

// A Move names a duty's move.
type Move string

// MoveLock locks a list that nobody locked in time, or finishes a freeze that
// another process began and never ended.
const MoveLock Move = "lock"

// MoveErase deletes the personal data of a giveaway whose time is over.
const MoveErase Move = "erase"

// Due lists what is due at the time now: the once-a-second tick asks it and
// hands each duty to [Host.Do]. Any number of processes may tick. What could not
// be read of one giveaway is an error, beside the duties of the others.
func (h Host) Due(ctx context.Context, now time.Time) ([]Duty, error) {
	all, err := h.Store.Giveaways(ctx)
	if err != nil {
		return nil, fmt.Errorf("look for duties: %w", err)
	}
	var due []Duty
	var faults []error
	for _, g := range all {
		lock := g.State == StateOpen && !now.Before(g.LockAt()) && now.Before(g.Opening.Event)
		if lock || g.State == StateFreezing {
			due = append(due, Duty{ID: g.ID, Move: MoveLock})
		}
		erase, err := h.eraseDue(ctx, now, g)
		if erase {
			due = append(due, Duty{ID: g.ID, Move: MoveErase})
		}
		faults = append(faults, err)
	}
	return due, errors.Join(faults...)
}

// Do does a duty once, without waiting for another process that is at it: that
// one is doing it, and the next tick looks again. Nothing is left to do for a
// giveaway that was called off a moment ago.
func (h Host) Do(ctx context.Context, now time.Time, d Duty) error {
	var err error
	switch d.Move {
	case MoveLock:
		_, err = h.lockOnce(ctx, now, d.ID)
	case MoveErase:
		_, err = h.erase(ctx, now, d.ID, func(e Ending) bool { return !now.Before(e.At) })
	default:
		return fmt.Errorf("no such duty: %q", d.Move)
	}
	if errors.Is(err, ErrBusy) || errors.Is(err, ErrState) || errors.Is(err, ErrNotEnded) {
		return nil
	}
	return err
}
