package giveaway

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/draw"
)

// Draft checks terms and saves them as a draft, anew or in place of an earlier
// draft of the same id. Terms that are not valid are [Problems]; an id that was
// ever opened is [ErrState].
func (h Host) Draft(ctx context.Context, now time.Time, t Terms) (Giveaway, error) {
	return h.draft(ctx, now, t, false)
}

// DraftSample is [Host.Draft] for invented giveaways.
func (h Host) DraftSample(ctx context.Context, now time.Time, t Terms) (Giveaway, error) {
	return h.draft(ctx, now, t, true)
}

func (h Host) draft(ctx context.Context, now time.Time, t Terms, sample bool) (Giveaway, error) {
	t.fill()
	if err := t.Validate(); err != nil {
		return Giveaway{}, err
	}
	g := Giveaway{ID: t.Draw, Terms: t, State: StateDraft, Created: second(now), Sample: sample}
	if err := h.Store.SaveDraft(ctx, g); err != nil {
		return Giveaway{}, fmt.Errorf("save draft %s: %w", t.Draw, err)
	}
	return h.Store.Giveaway(ctx, t.Draw)
}

// Open signs the posted terms of a draft with a new seal of the host and
// publishes them. From then on the terms bind. A draft whose entries would
// have closed already is refused with [Problems].
func (h Host) Open(ctx context.Context, now time.Time, id string) (Giveaway, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || g.State != StateDraft {
		return h.after(g, err, StateOpen)
	}
	if err := h.checkFollows(ctx, g.Terms); err != nil {
		return Giveaway{}, err
	}
	o, err := h.sealed(ctx, second(now), g)
	if err != nil {
		return Giveaway{}, err
	}
	if err := h.Store.Open(ctx, o); err != nil && !errors.Is(err, ErrState) {
		return Giveaway{}, fmt.Errorf("open %s: %w", id, err)
	}
	g, err = h.Store.Giveaway(ctx, id)
	return h.after(g, err, StateOpen)
}

// sealed makes everything that Open stores.
func (h Host) sealed(ctx context.Context, now time.Time, g Giveaway) (Opened, error) {
	if err := checkOpening(g.Terms, now); err != nil {
		return Opened{}, err
	}
	g.Terms = g.Terms.WithRules(now)
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return Opened{}, fmt.Errorf("open %s: signing key: %w", g.ID, err)
	}
	seal := draw.Seal{Draw: g.ID, Signer: signer.Name(), Role: HostRole}
	if _, err := io.ReadFull(h.Rand, seal.Secret[:]); err != nil {
		return Opened{}, fmt.Errorf("open %s: make seal: %w", g.ID, err)
	}
	opening, err := Opening(g.Terms, signer.VerifierKey(), g.Terms.seals(seal.Hash()))
	if err != nil {
		return Opened{}, err
	}
	note, err := signer.Sign(opening.Text())
	if err != nil {
		return Opened{}, fmt.Errorf("open %s: %w", g.ID, err)
	}
	return Opened{
		ID: g.ID, Terms: g.Terms, Opening: opening, Note: note,
		Rules: []byte(g.Terms.Rules), HostSecret: seal.Secret, At: now,
	}, nil
}

// checkFollows refuses to post terms that say to replace a giveaway which still
// goes on here, or was drawn (draw protocol, opening.txt: "the cancelled draw
// that this one replaces"). One that is not known here may be somebody else's.
func (h Host) checkFollows(ctx context.Context, t Terms) error {
	if t.Follows == "" {
		return nil
	}
	old, err := h.Store.Giveaway(ctx, t.Follows)
	switch {
	case errors.Is(err, ErrNotFound):
		return nil
	case err != nil:
		return fmt.Errorf("open %s: look at what it follows: %w", t.Draw, err)
	case old.State != StateCancelled:
		var p Problems
		p.add("follows", "“%s” is not cancelled. Cancel it first, or leave this out.", t.Follows)
		return p
	}
	return nil
}

// checkOpening refuses to post terms that nobody could enter under any more.
func checkOpening(t Terms, now time.Time) error {
	p := asProblems(t.Validate())
	if !now.Before(t.Closes.UTC) {
		p.add("closes", "Choose a closing time that is still to come.")
	}
	return p.orNil()
}

// after is the answer to a move: the giveaway, if it now is in one of the
// states that the move or those after it lead to. Whoever lost the race to the
// same move gets the same answer as the winner.
func (h Host) after(g Giveaway, err error, reached State) (Giveaway, error) {
	if err != nil {
		return Giveaway{}, fmt.Errorf("read giveaway: %w", err)
	}
	order := map[State]int{StateDraft: 0, StateOpen: 1, StateFreezing: 1, StateFrozen: 3, StateDrawn: 4, StateCancelled: -1}
	if order[g.State] < order[reached] {
		return g, StateError{State: g.State}
	}
	return g, nil
}

// second cuts a time down to the whole second, UTC, as all stamps are.
func second(t time.Time) time.Time { return t.UTC().Truncate(time.Second) }
