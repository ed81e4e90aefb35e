package giveaway

import (
	"context"
	"fmt"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// Locked reads freeze.txt as it was published. [StateError] before the lock.
func (h Host) Locked(ctx context.Context, g Giveaway) (draw.Freeze, error) {
	if g.State != StateFrozen && g.State != StateDrawn && g.Frozen.IsZero() {
		return draw.Freeze{}, StateError{State: g.State}
	}
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return draw.Freeze{}, fmt.Errorf("signing key: %w", err)
	}
	return readNote(h.Store.Publication(g.ID), signer.VerifierKey(), draw.FreezeFile, draw.ParseFreeze)
}

// Number asks for the public number of the giveaway's draw, verified. It is
// nobody's secret from [Giveaway.DrawAt] on, and decides nothing without the
// locked numbers. [ErrNoBeacon] where it can't be had; ok is false where the
// posted terms name none.
func (h Host) Number(ctx context.Context, g Giveaway) (number [32]byte, ok bool, err error) {
	value, err := h.beacon(ctx, g.Opening, nil)
	if err != nil || value == nil {
		return number, false, err
	}
	return beacon.Randomness(value.Signature), true, nil
}
