package giveaway

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
)

// Cancel calls a giveaway off for good, until the draw: cancelled.txt says
// since when, with a short code of why (such as prize-withdrawn) and, where
// there is one, the draw id of the giveaway that replaces it. Nobody enters any
// more; what was published stays. Cancelling twice is no error, and the first
// time stands. Errors: [Problems] for a reason or a successor that can't be;
// [ErrBusy] while the list is being locked; [StateError] for a draft, of which
// nothing was posted, and once drawn.
func (h Host) Cancel(ctx context.Context, now time.Time, id, reason, successor string) (Giveaway, error) {
	if h.Desk == nil {
		return Giveaway{}, errNoDesk
	}
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || g.State == StateCancelled {
		return g, err
	}
	if err := checkCancel(id, reason, successor); err != nil {
		return g, err
	}
	err = h.Desk.Cancel(ctx, id, func(g Giveaway, last time.Time) (draw.Cancelled, []byte, error) {
		return h.cancelled(ctx, g, notBefore(second(now), last), reason, successor)
	})
	if err != nil && !errors.Is(err, ErrState) {
		return g, fmt.Errorf("cancel %s: %w", id, err)
	}
	lost := err
	g, err = h.Store.Giveaway(ctx, id)
	if err == nil && g.State != StateCancelled {
		err = lost
	}
	return g, err
}

// cancelled makes the signed cancellation.
func (h Host) cancelled(ctx context.Context, g Giveaway, at time.Time, reason, successor string) (draw.Cancelled, []byte, error) {
	x, err := Cancellation(g.Opening, at, reason, successor)
	if err != nil {
		return x, nil, err
	}
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return x, nil, fmt.Errorf("signing key: %w", err)
	}
	note, err := signer.Sign(x.Text())
	return x, note, err
}

// Cancellation makes the text of cancelled.txt for the opening in force. It is
// pure; the desk and the command line both use it. A reason or a successor that
// the protocol does not take is [Problems].
func Cancellation(o draw.Opening, at time.Time, reason, successor string) (draw.Cancelled, error) {
	if err := checkCancel(o.Draw, reason, successor); err != nil {
		return draw.Cancelled{}, err
	}
	return draw.Cancelled{Draw: o.Draw, Opening: draw.Hash(o.Text()), At: at, Reason: reason, Successor: successor}, nil
}

func checkCancel(id, reason, successor string) error {
	var p Problems
	if !draw.ValidRole(reason) {
		p.add("reason", "Write a short reason of a–z, 0–9 and inner hyphens, such as prize-withdrawn.")
	}
	if successor != "" && (!draw.ValidID(successor) || successor == id) {
		p.add("successor", "Write the short name of the giveaway that replaces this one, or leave it out.")
	}
	return p.orNil()
}

// notBefore returns the later of two times.
func notBefore(at, last time.Time) time.Time {
	if at.Before(last) {
		return last
	}
	return at
}
