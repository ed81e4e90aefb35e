package claims

import (
	"context"
	"fmt"
	"slices"
	"time"

	"evenhand/giveaway"
)

// Mark writes down what the sponsor says of a parcel. MarkCantHave with sizes
// and MarkAskAddress ask the winner, through a link of their own:
// [Clerk.AskLetter]. MarkCantHave bears either sizes or None. The same mark
// twice in a row is one. Errors: [Rejected]; [ErrNotConfirmed]; [ErrNoSuchLink],
// [ErrClosed]; [ErrChanged] if the parcel is not as m.Saw says; [ErrRace] if
// something else came at that moment.
func (c Clerk) Mark(ctx context.Context, now time.Time, secret string, place int, m Mark) (SponsorView, error) {
	row, err := c.sponsor(ctx, secret)
	if err != nil {
		return SponsorView{}, err
	}
	d, err := c.desk(ctx, row.Draw)
	if err != nil {
		return SponsorView{}, fmt.Errorf("mark a parcel: %w", err)
	}
	stand, ok := d.s.Of(place)
	if !ok || stand.Confirmed == nil {
		return SponsorView{}, fmt.Errorf("mark a parcel: %w", ErrNotConfirmed)
	}
	m, problems := checkMark(m, d.g.Terms)
	if len(problems) > 0 {
		return SponsorView{}, &Rejected{Fields: problems}
	}
	m.At = now.UTC().Truncate(time.Second)
	if err := c.addMark(ctx, d.g, stand, m); err != nil {
		return SponsorView{}, fmt.Errorf("mark a parcel: %w", err)
	}
	return c.sponsorView(ctx, now, row.Draw)
}

func (c Clerk) addMark(ctx context.Context, g giveaway.Giveaway, stand giveaway.Stand, m Mark) error {
	id := g.ID
	row, err := c.Store.Claim(ctx, id, stand.N)
	if err != nil {
		return err
	}
	p, err := c.place(ctx, m.At, g, stand, row)
	if err != nil {
		return err
	}
	if p.Answer != nil {
		m.Size = p.Answer.Size
	}
	now := p.Saw.String()
	if last, ok := p.Shipping.Latest(); ok && last.same(m) && (m.Saw == "" || m.Saw == now || m.Saw == last.Saw) {
		return nil
	}
	if m.Saw != "" && m.Saw != now {
		return ErrChanged
	}
	mark := MarkRow{N: len(row.Marks) + 1, Kind: m.Kind, At: m.At}
	if mark.SealedWords, err = c.sealed(sealMark, where(id, stand.N, mark.N), m); err != nil {
		return err
	}
	if !m.asks() {
		return c.Store.AddMark(ctx, id, stand.N, p.Saw, mark, nil)
	}
	question, err := c.newAsk(id, stand.N, len(row.Asks)+1, m)
	if err != nil {
		return err
	}
	return c.Store.AddMark(ctx, id, stand.N, p.Saw, mark, &question)
}

// same reports whether two marks say the same.
func (m Mark) same(o Mark) bool {
	return m.Kind == o.Kind && m.Words == o.Words && m.Carrier == o.Carrier && m.Number == o.Number && m.None == o.None && m.Size == o.Size &&
		slices.Equal(m.Offers, o.Offers)
}

// Limits of what a sponsor writes, in characters. Common practice, no source.
const (
	maxWords   = 500
	maxCarrier = 60
	maxOffers  = 10
)

// checkMark returns the mark with only what belongs to its kind.
func checkMark(m Mark, t giveaway.Terms) (Mark, []Problem) {
	var p []Problem
	line := func(field, text, what string, most int, needed bool) string {
		text = tidyText(text)
		if words := checkText(text, what, most); words != "" {
			p = append(p, Problem{Field: field, Text: words})
		} else if text == "" && needed {
			p = append(p, Problem{Field: field, Text: "Please write " + what + "."})
		}
		return text
	}
	out := Mark{Kind: m.Kind, Saw: m.Saw}
	switch m.Kind {
	case MarkInStock, MarkDelivered:
	case MarkCantHave:
		out.Words = line("words", m.Words, "the message", maxWords, false)
		out.Offers, out.None = slices.Clone(m.Offers), m.None
		if text := checkOffers(m, t); text != "" {
			p = append(p, Problem{Field: "offers", Text: text})
		}
	case MarkAskAddress:
		out.Words = line("words", m.Words, "the question", maxWords, true)
	case MarkShipped:
		out.Carrier = line("carrier", m.Carrier, "the carrier", maxCarrier, true)
		out.Number = line("number", m.Number, "the parcel’s number", maxCarrier, false)
	default:
		p = append(p, Problem{Field: "kind", Text: "Please choose one of the buttons."})
	}
	return out, p
}

func checkOffers(m Mark, t giveaway.Terms) string {
	sizes := m.Offers
	switch {
	case t.Sizes == nil:
		return "This prize has no sizes. Please write to the creator instead."
	case len(sizes) == 0 && !m.None:
		return "Please tick what you can send instead, or that nothing else can be sent."
	case len(sizes) > 0 && m.None:
		return "Please tick either sizes, or that nothing else can be sent."
	case len(sizes) > maxOffers:
		return fmt.Sprintf("Please offer %d sizes at most.", maxOffers)
	}
	for i, s := range sizes {
		if !t.Sizes.Run.Has(s) || slices.Contains(sizes[:i], s) {
			return "Please offer different sizes of those that the giveaway’s terms name."
		}
	}
	return ""
}
