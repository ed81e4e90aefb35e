package giveaway

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/draw"
)

// Waiting for another attempt at the freeze.
const (
	lockPoll    = 50 * time.Millisecond
	lockPatient = 30 * time.Second // longer than the 20 s after which an attempt is taken over
)

// Lock closes the list for good: it writes roll.txt and excluded.txt, signs
// their hashes and publishes all three. Errors: [ErrTooEarly] before closes,
// [ErrTooLate] from the event on (revise it to a later one, then lock). While
// another attempt is at work, Lock waits for it and answers as it did.
//
// A process that dies midway leaves the giveaway freezing; the next Lock, at
// the latest the tick's, takes over after 20 seconds.
func (h Host) Lock(ctx context.Context, now time.Time, id string) (Giveaway, error) {
	for waited := time.Duration(0); ; waited += lockPoll {
		g, err := h.lockOnce(ctx, now.Add(waited), id)
		if !errors.Is(err, ErrBusy) || waited >= lockPatient {
			return g, err
		}
		select {
		case <-ctx.Done():
			return Giveaway{}, fmt.Errorf("lock %s: %w", id, ctx.Err())
		case <-time.After(lockPoll):
		}
	}
}

func (h Host) lockOnce(ctx context.Context, now time.Time, id string) (Giveaway, error) {
	now = second(now)
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || g.State != StateOpen && g.State != StateFreezing {
		return h.after(g, err, StateFrozen)
	}
	if g.State == StateOpen {
		if err := mayFreeze(g.Opening, now); err != nil {
			return g, fmt.Errorf("lock %s: %w", id, err)
		}
	}
	f, err := h.begin(ctx, now, id)
	if err != nil {
		return g, err
	}
	if err := f.finish(ctx); err != nil {
		// Another attempt that took over may have come to the end.
		abandoned := h.Store.AbandonFreeze(context.WithoutCancel(ctx), id, f.attempt)
		if !errors.Is(err, ErrState) && !errors.Is(abandoned, ErrState) {
			return g, errors.Join(fmt.Errorf("lock %s: %w", id, err), abandoned)
		}
	}
	g, err = h.Store.Giveaway(ctx, id)
	if err == nil && g.State == StateFreezing {
		return g, ErrBusy
	}
	return h.after(g, err, StateFrozen)
}

// mayFreeze reports whether a freeze stamped at would pass the check:
// closes <= frozen < event.
func mayFreeze(o draw.Opening, at time.Time) error {
	if at.Before(o.Closes) {
		return ErrTooEarly{Until: o.Closes}
	}
	if !at.Before(o.Event) {
		return ErrTooLate
	}
	return nil
}

// begin wins the row for a new attempt.
func (h Host) begin(ctx context.Context, now time.Time, id string) (*freezing, error) {
	name := make([]byte, 16)
	if _, err := io.ReadFull(h.Rand, name); err != nil {
		return nil, fmt.Errorf("lock %s: name the attempt: %w", id, err)
	}
	f := &freezing{host: h, attempt: hex.EncodeToString(name), started: now}
	var err error
	f.frozen, f.g, err = h.Store.BeginFreeze(ctx, id, f.attempt, now)
	if errors.Is(err, ErrState) {
		return nil, ErrBusy // the state has just changed: look again
	}
	if err != nil {
		return nil, fmt.Errorf("lock %s: %w", id, err)
	}
	return f, nil
}
