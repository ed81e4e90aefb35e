package giveaway

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/draw"
)

// Draft checks terms and saves them as a new draft. Terms that are not valid,
// or that follow a giveaway which another one replaces, are [Problems]; an id
// that there is already is [ErrState].
func (h Host) Draft(ctx context.Context, now time.Time, t Terms) (Giveaway, error) {
	if IsRehearsal(t.Draw) {
		return Giveaway{}, Problems{{"draw", "Choose another short name: " + RehearsalID + " begins those of rehearsals."}}
	}
	return h.draft(ctx, now, t, false)
}

// DraftSample is [Host.Draft] for invented giveaways.
func (h Host) DraftSample(ctx context.Context, now time.Time, t Terms) (Giveaway, error) {
	return h.draft(ctx, now, t, true)
}

func (h Host) draft(ctx context.Context, now time.Time, t Terms, sample bool) (Giveaway, error) {
	t, err := h.checkDraft(ctx, t)
	if err != nil {
		return Giveaway{}, err
	}
	g := Giveaway{ID: t.Draw, Terms: t, State: StateDraft, Created: second(now), Sample: sample}
	if err := h.Store.AddDraft(ctx, g); err != nil {
		return Giveaway{}, fmt.Errorf("save draft %s: %w", t.Draw, err)
	}
	return h.Store.Giveaway(ctx, t.Draw)
}

// ChangeDraft checks terms and saves them in place of those of the draft of the
// same id. From is the mark of the terms that the change was made from: a draft
// that has others by now is [ErrStale], and stays as it is. Other errors are
// those of [Host.Draft]; [ErrState] once it is opened.
func (h Host) ChangeDraft(ctx context.Context, from draw.Digest, t Terms) (Giveaway, error) {
	t, err := h.checkDraft(ctx, t)
	if err != nil {
		return Giveaway{}, err
	}
	if err := h.Store.ChangeDraft(ctx, from, t); err != nil {
		return Giveaway{}, fmt.Errorf("change draft %s: %w", t.Draw, err)
	}
	return h.Store.Giveaway(ctx, t.Draw)
}

// checkDraft fills in what may be left out of terms, and checks them.
func (h Host) checkDraft(ctx context.Context, t Terms) (Terms, error) {
	t.fill()
	if err := t.Validate(); err != nil {
		return t, err
	}
	return t, h.checkReplaced(ctx, t)
}

// Open signs the posted terms of a draft with a new seal of the host and
// publishes them. From then on the terms bind. A draft whose entries would
// have closed already is refused with [Problems].
func (h Host) Open(ctx context.Context, now time.Time, id string) (Giveaway, error) {
	return h.open(ctx, now, id, nil)
}

// OpenShown is [Host.Open] for the terms that somebody has read: shown is their
// mark, and a draft that has others by now is [ErrStale].
func (h Host) OpenShown(ctx context.Context, now time.Time, id string, shown draw.Digest) (Giveaway, error) {
	return h.open(ctx, now, id, &shown)
}

func (h Host) open(ctx context.Context, now time.Time, id string, shown *draw.Digest) (Giveaway, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || g.State != StateDraft {
		return h.after(g, err, StateOpen)
	}
	from := g.Terms.Mark()
	if shown != nil && *shown != from {
		return Giveaway{}, fmt.Errorf("open %s: %w", id, ErrStale)
	}
	if err := h.checkFollows(ctx, g.Terms); err != nil {
		return Giveaway{}, err
	}
	o, err := h.sealed(ctx, second(now), g)
	if err != nil {
		return Giveaway{}, err
	}
	o.From = from
	err = h.Store.Open(ctx, o)
	switch {
	case errors.Is(err, ErrFollowed):
		return Giveaway{}, replacedBy(g.Terms.Follows, "")
	case err != nil && !errors.Is(err, ErrState):
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
	g.Terms = g.Terms.AsPosted(now)
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

// atPosting is the wall time that means the posting.
const atPosting = "2000-01-01T12:00"

// AtPosting is the start of entries that means the posting, whenever that is:
// a noon long ago that nobody means. Terms that name it are posted
// with the time of the posting in its place ([Terms.Starting]).
func AtPosting(zone string) (Moment, error) { return ParseMoment(atPosting, zone, 0) }

// StartsAtPosting reports whether entries start when the terms are posted.
func (t Terms) StartsAtPosting() bool { return t.Opens.Local == atPosting }

// Starting returns the terms as they start if they are posted at a time.
func (t Terms) Starting(now time.Time) Terms {
	if at, err := MomentAt(second(now), t.Opens.Zone); err == nil && t.StartsAtPosting() {
		t.Opens = at
	}
	return t
}

// AsPosted returns the terms as they are posted at a time: with their start, and
// with the rules written out where none were given.
func (t Terms) AsPosted(now time.Time) Terms { return t.Starting(now).WithRules(now) }

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
	return h.checkReplaced(ctx, t)
}

// checkReplaced refuses terms that say to replace a giveaway which is called off
// for another one, or which another one replaces by its posted terms. That no
// two are posted so at once, [Store.Open] sees to.
func (h Host) checkReplaced(ctx context.Context, t Terms) error {
	if t.Follows == "" {
		return nil
	}
	all, err := h.Store.Giveaways(ctx)
	if err != nil {
		return fmt.Errorf("look at what %s follows: %w", t.Draw, err)
	}
	for _, g := range all {
		if by := g.replacement(t.Follows); by != "" && by != t.Draw {
			return replacedBy(t.Follows, by)
		}
	}
	return nil
}

// replacement is the draw id of the giveaway that replaces old, as far as this
// one says so; "" if it says nothing of it.
func (g Giveaway) replacement(old string) string {
	switch {
	case g.ID == old:
		return g.Successor
	case g.State != StateDraft && g.Opening.Follows == old:
		return g.ID
	}
	return ""
}

// replacedBy says that another giveaway replaces old; by is "" where it is not
// known which.
func replacedBy(old, by string) Problems {
	if by == "" {
		by = "another giveaway"
	} else {
		by = "“" + by + "”"
	}
	var p Problems
	p.add("follows", "“%s” is replaced by %s already. Leave this out.", old, by)
	return p
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
