package giveaway

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Revise moves closing or the event of an open giveaway to a later time, or
// changes its rules, and publishes the posted terms anew; the old ones stay
// readable beside them. What can't be is [Problems]. Two people who ask for
// the same change at once make one revision; [ErrState] if another change came
// between.
func (h Host) Revise(ctx context.Context, now time.Time, id string, c Change) (Giveaway, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil {
		return Giveaway{}, fmt.Errorf("read giveaway: %w", err)
	}
	if g.State != StateOpen {
		return g, StateError{State: g.State}
	}
	if c.fits(g.Terms) && g.Revision > 1 {
		return g, nil
	}
	err = h.Store.Revise(ctx, id, g.Revision, func(last time.Time) (Revised, error) {
		return h.revised(ctx, now, g, c, last)
	})
	if err != nil && !errors.Is(err, ErrState) {
		return Giveaway{}, err
	}
	lost := err != nil
	g, err = h.Store.Giveaway(ctx, id)
	if err == nil && lost && (g.State != StateOpen || !c.fits(g.Terms)) {
		return g, StateError{State: g.State}
	}
	return g, err
}

// revised makes everything that a revision stores. Its stamp is later than
// every entry, so that each receipt still names an opening that stood.
func (h Host) revised(ctx context.Context, now time.Time, g Giveaway, c Change, last time.Time) (Revised, error) {
	stamp := later(second(now), last)
	t, o, err := Revision(g.Terms, g.Opening, c, stamp)
	if err != nil {
		return Revised{}, err
	}
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return Revised{}, fmt.Errorf("revise %s: signing key: %w", g.ID, err)
	}
	note, err := signer.Sign(o.Text())
	if err != nil {
		return Revised{}, fmt.Errorf("revise %s: %w", g.ID, err)
	}
	r := Revised{Terms: t, Opening: o, Note: note}
	if o.Rules != g.Opening.Rules {
		r.Rules = []byte(t.Rules)
	}
	return r, nil
}

// later returns at, or the second after last if at is not later than last.
func later(at, last time.Time) time.Time {
	if at.After(last) {
		return at
	}
	return second(last).Add(time.Second)
}

// fits reports whether the terms already say what the change asks for.
func (c Change) fits(t Terms) bool {
	return (c.Closes == nil || c.Closes.UTC.Equal(t.Closes.UTC)) &&
		(c.Event == nil || c.Event.UTC.Equal(t.Event.UTC)) &&
		(c.Rules == nil || *c.Rules == t.Rules) &&
		(c.Paragraphs == nil || *c.Paragraphs == t.Paragraphs)
}
