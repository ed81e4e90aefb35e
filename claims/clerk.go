package claims

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/giveaway"
)

// A Clerk carries prizes from the drawn place to the parcel, for all
// giveaways of one installation. Its methods may be called by any number of
// goroutines and processes at once.
type Clerk struct {
	Store   Store
	Entries Entries
	Host    giveaway.Host
	Seal    Sealer
	Rand    io.Reader // a secure source
	URL     string    // public address that links carry, without a slash at its end: https://slow-miles.example
}

// A desk is a drawn giveaway and how its places stand.
type desk struct {
	g giveaway.Giveaway
	s giveaway.Standing
}

// desk reads a drawn giveaway; [giveaway.StateError] before the draw.
func (c Clerk) desk(ctx context.Context, id string) (desk, error) {
	g, err := c.Host.Store.Giveaway(ctx, id)
	if err != nil {
		return desk{}, fmt.Errorf("read giveaway: %w", err)
	}
	s, err := c.Host.Outcome(ctx, id)
	return desk{g, s}, err
}

// turn returns a place that has its turn and was not passed.
func (d desk) turn(place int) (giveaway.Stand, error) {
	stand, ok := d.s.Of(place)
	switch {
	case !ok || stand.Turn == nil:
		return stand, giveaway.ErrNoTurn
	case stand.Passed != nil:
		return stand, ErrOver
	}
	return stand, nil
}

// erased is when what a row bears was deleted; the zero time: it was not.
func (d desk) erased(r Row) time.Time {
	if !d.g.Erased.IsZero() {
		return d.g.Erased
	}
	return r.Erased
}

// Places returns all places of a drawn giveaway in order, for the desk alone.
func (c Clerk) Places(ctx context.Context, now time.Time, id string) ([]Place, error) {
	d, err := c.desk(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("read claims of %s: %w", id, err)
	}
	rows, err := c.Store.Claims(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("read claims of %s: %w", id, err)
	}
	byPlace := map[int]Row{}
	for _, r := range rows {
		byPlace[r.Place] = r
	}
	var all []Place
	for _, stand := range d.s.Places {
		p, err := c.place(ctx, now, d.g, stand, byPlace[stand.N])
		if err != nil {
			return nil, fmt.Errorf("read claims of %s: place %d: %w", id, stand.N, err)
		}
		all = append(all, p)
	}
	return all, nil
}

// Place returns one place, for the desk alone. [giveaway.ErrNoTurn] if the
// record has no such place.
func (c Clerk) Place(ctx context.Context, now time.Time, id string, place int) (Place, error) {
	d, err := c.desk(ctx, id)
	if err != nil {
		return Place{}, fmt.Errorf("read claim: %w", err)
	}
	stand, ok := d.s.Of(place)
	if !ok {
		return Place{}, fmt.Errorf("read claim: %w", giveaway.ErrNoTurn)
	}
	row, err := c.Store.Claim(ctx, id, place)
	if err != nil && !errors.Is(err, ErrNoClaim) {
		return Place{}, fmt.Errorf("read claim: %w", err)
	}
	return c.place(ctx, now, d.g, stand, row)
}

// place opens a row; the zero row stands for none.
func (c Clerk) place(ctx context.Context, now time.Time, g giveaway.Giveaway, stand giveaway.Stand, r Row) (p Place, err error) {
	id := g.ID
	p = Place{Stand: stand, Draw: id, LinkMade: r.Made, Saw: r.Saw()}
	if !r.Renewed.IsZero() {
		p.Lapsed = &Notice{r.Noticed, r.Until}
	}
	r = r.standing()
	if !r.Noticed.IsZero() {
		p.Notice = &Notice{r.Noticed, r.Until}
	}
	if !r.Erased.IsZero() {
		p.erased(r)
		return p, nil
	}
	if p.Skill, err = c.skill(ctx, now, g, stand, r); err != nil {
		return p, err
	}
	if r.SealedAnswer != nil {
		p.Sent = &Answer{}
		if err := c.unseal(sealAnswer, where(id, r.Place, 0), r.SealedAnswer, p.Sent); err != nil {
			return p, err
		}
	}
	for _, m := range r.Marks {
		mark, err := c.mark(id, r.Place, m)
		if err != nil {
			return p, err
		}
		p.Shipping.Marks = append(p.Shipping.Marks, mark)
	}
	for _, a := range r.Asks {
		ask, err := c.ask(id, r.Place, a)
		if err != nil {
			return p, err
		}
		p.Asks = append(p.Asks, ask)
	}
	p.closeAsks()
	p.settle()
	p.propose(now)
	return p, nil
}

// erased is what is left of a place whose personal data was deleted.
func (p *Place) erased(r Row) {
	p.Erased = r.Erased
	for _, m := range r.Marks {
		if m.Kind == MarkShipped || m.Kind == MarkDelivered {
			p.Shipping.Marks = append(p.Shipping.Marks, Mark{Kind: m.Kind, At: m.At})
		}
	}
}

func (c Clerk) mark(id string, place int, r MarkRow) (Mark, error) {
	m := Mark{}
	err := c.unseal(sealMark, where(id, place, r.N), r.SealedWords, &m)
	m.Kind, m.At = r.Kind, r.At
	return m, err
}

func (c Clerk) ask(id string, place int, r AskRow) (Ask, error) {
	a := Ask{}
	if err := c.unseal(sealAsk, where(id, place, r.N), r.SealedAsk, &a); err != nil {
		return a, err
	}
	a.N, a.Kind, a.At, a.Copied = r.N, r.Kind, r.Asked, r.Noticed
	if r.SealedReply == nil {
		return a, nil
	}
	a.Reply = &Reply{}
	return a, c.unseal(sealReply, where(id, place, r.N), r.SealedReply, a.Reply)
}
