package claims

import (
	"context"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// closeAsks marks the questions that nobody can answer any more. A later mark
// has ended them (a question of the same kind, a parcel on its way, a size that
// is in stock after all or can't be replaced by any), or an answer that the
// creator wrote down after they were asked, or a place that lost the prize.
// The n-th mark that asks is the n-th question.
func (p *Place) closeAsks() {
	asked := 0
	end := func(kind string) {
		for i := range p.Asks[:min(asked, len(p.Asks))] {
			p.Asks[i].Closed = p.Asks[i].Closed || kind == "" || p.Asks[i].Kind == kind
		}
	}
	for _, m := range p.Shipping.Marks {
		switch m.Kind {
		case MarkShipped, MarkDelivered:
			end("")
		case MarkInStock, MarkCantHave:
			end(AskSize)
		case MarkAskAddress:
			end(AskAddress)
		}
		if m.asks() {
			asked++
		}
	}
	for i := range p.Asks {
		a := &p.Asks[i]
		a.Closed = a.Closed || p.Confirmed == nil || p.Sent != nil && p.Sent.At.After(a.At)
	}
}

// settle works the winner's replies into the answer, as far as they are not
// older than it: a correction that the creator recorded later wins.
func (p *Place) settle() {
	if p.Sent == nil {
		return
	}
	a := *p.Sent
	for _, ask := range p.Asks {
		r := ask.Reply
		if r == nil || r.Declined || r.At.Before(a.At) {
			continue
		}
		r.Counts = true
		if !r.Size.IsZero() {
			a.Size = r.Size
		}
		if r.Address != nil && r.Tidy != nil {
			a.Address, a.Tidy, a.CareOf = *r.Address, *r.Tidy, r.CareOf
		}
	}
	p.Answer = &a
}

// propose says what a person should be asked to do now.
func (p *Place) propose(now time.Time) {
	one := Proposal{Draw: p.Draw, Place: p.N, Ticket: p.Ticket}
	switch {
	case !p.Open():
		return
	case p.Answer != nil && p.Answer.Declined:
		one.Reason, one.Since = draw.Declined, p.Answer.At
	case p.Answer == nil && p.Skill.Failed():
		one.Reason, one.Since = draw.Ineligible, p.Skill.At()
	case p.Answer == nil && p.Notice != nil && !now.Before(p.Notice.Until):
		one.Reason, one.Since = draw.NoReply, p.Notice.Until
	default:
		return
	}
	p.Proposals = append(p.Proposals, one)
}

// Overdue lists the passes that the desk proposes, of all giveaways: places
// whose answer period has run out without an answer, places whose winner does
// not want the prize, and places whose skill question was not answered rightly.
// A person confirms each, with [Clerk.Pass].
func (c Clerk) Overdue(ctx context.Context, now time.Time) ([]Proposal, error) {
	all, err := c.Host.Store.Giveaways(ctx)
	if err != nil {
		return nil, fmt.Errorf("look for what is overdue: %w", err)
	}
	var due []Proposal
	for _, g := range all {
		if g.State != giveaway.StateDrawn {
			continue
		}
		places, err := c.Places(ctx, now, g.ID)
		if err != nil {
			return nil, fmt.Errorf("look for what is overdue: %w", err)
		}
		for _, p := range places {
			due = append(due, p.Proposals...)
		}
	}
	return due, nil
}

// Pass passes a place, as [giveaway.Host.Pass] does. For no reply it also
// minds the answer period: [ErrAnswered] if there is an answer;
// [giveaway.ErrTooEarly] before the period's end, or, while the letter was
// never copied, 24 hours from the turn, unless Early says so.
func (c Clerk) Pass(ctx context.Context, now time.Time, id string, pass giveaway.Passing) (giveaway.Giveaway, error) {
	p, err := c.Place(ctx, now, id, pass.Place)
	if err != nil {
		return giveaway.Giveaway{}, fmt.Errorf("pass a place: %w", err)
	}
	if pass.Reason == draw.NoReply {
		switch {
		case p.Stand.Passed == nil && p.Answer != nil && !p.Answer.Declined: // a confirmed place, too: its reason stands for ever
			return giveaway.Giveaway{}, fmt.Errorf("pass a place for no reply: %w", ErrAnswered)
		case p.Open() && p.Notice != nil && now.Before(p.Notice.Until) && !pass.Early:
			return giveaway.Giveaway{}, fmt.Errorf("pass a place: %w", giveaway.ErrTooEarly{Until: p.Notice.Until})
		case p.Open() && p.Lapsed != nil && now.Before(p.Lapsed.Until) && !pass.Early: // a new link shortens nothing
			return giveaway.Giveaway{}, fmt.Errorf("pass a place: %w", giveaway.ErrTooEarly{Until: p.Lapsed.Until})
		}
	}
	return c.Host.Pass(ctx, now, id, pass)
}

// Confirm confirms a place, as [giveaway.Host.Confirm] does, once there is an
// answer to look at: [ErrNoAnswer] without one, or if it declines; [ErrSkill]
// while the skill question of the rules was not answered rightly.
func (c Clerk) Confirm(ctx context.Context, now time.Time, id string, place int) (giveaway.Giveaway, error) {
	p, err := c.Place(ctx, now, id, place)
	if err != nil {
		return giveaway.Giveaway{}, fmt.Errorf("confirm a place: %w", err)
	}
	if p.Open() && (p.Answer == nil || p.Answer.Declined) {
		return giveaway.Giveaway{}, fmt.Errorf("confirm a place: %w", ErrNoAnswer)
	}
	if p.Open() && p.NeedsSkill() {
		return giveaway.Giveaway{}, fmt.Errorf("confirm a place: %w", ErrSkill)
	}
	return c.Host.Confirm(ctx, now, id, place)
}

// News is what the winner's own private page may say of the ticket. It bears
// no address.
type News struct {
	Drawn    bool   // the ticket has a place of the record
	Place    Place  // that place
	Shipping string // WinnerWords, "" where there is nothing to say
}

// News returns the news of a ticket; the zero value before the draw, or where
// the ticket has no place.
func (c Clerk) News(ctx context.Context, now time.Time, id string, t draw.Ticket) (News, error) {
	d, err := c.desk(ctx, id)
	if d.g.State != giveaway.StateDrawn && d.g.ID != "" {
		return News{}, nil
	}
	if err != nil {
		return News{}, err
	}
	stand, ok := d.s.Ticket(t)
	if !ok {
		return News{}, nil
	}
	p, err := c.Place(ctx, now, id, stand.N)
	if err != nil {
		return News{}, err
	}
	return News{Drawn: true, Place: p, Shipping: p.WinnerWords(d.g.Terms)}, nil
}
