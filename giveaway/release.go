package giveaway

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
)

// HoldAtMost is how long a result may be held back after the draw. After that
// the clock alone releases it, whatever anybody presses or forgets.
const HoldAtMost = 15 * time.Minute

// DrawHeld makes the draw as [Host.Draw] does, but holds the result back: the
// record stands signed and stored, and pages for the public know nothing of it
// until [Host.Release], or until [HoldAtMost] is over. Of a draw that was made
// already it changes nothing, also not when its result is seen.
func (h Host) DrawHeld(ctx context.Context, now time.Time, id string, pasted *draw.Beacon) (Giveaway, error) {
	return h.drawUntil(ctx, now, id, pasted, second(now).Add(HoldAtMost))
}

// Release lets the public know the result from the time at on, cut up to a
// whole second. It only ever makes that time earlier; twice is no error.
// [StateError] before the draw.
func (h Host) Release(ctx context.Context, id string, at time.Time) (Giveaway, error) {
	if err := h.Store.Release(ctx, id, WholeSecond(at)); err != nil && !errors.Is(err, ErrState) {
		return Giveaway{}, fmt.Errorf("release the result of %s: %w", id, err)
	}
	g, err := h.Store.Giveaway(ctx, id)
	return h.after(g, err, StateDrawn)
}

// WholeSecond is the first whole second that is not before t, UTC: what waits
// for it never comes early.
func WholeSecond(t time.Time) time.Time {
	at := second(t)
	if at.Before(t) {
		at = at.Add(time.Second)
	}
	return at
}

// Held reports whether the draw is made and its result is still held back. A
// result that was released with the draw is not, also where the clock of the
// server that is asked is behind.
func (g Giveaway) Held(now time.Time) bool {
	return g.State == StateDrawn && now.Before(g.Released) && g.Released.After(g.Drawn)
}

// AsPublic is the giveaway as the public may know it at the time now: while the
// result is held back, the list is locked and nothing is drawn.
func (g Giveaway) AsPublic(now time.Time) Giveaway {
	if g.Held(now) {
		g.State, g.Drawn, g.Released = StateFrozen, time.Time{}, time.Time{}
	}
	return g
}
