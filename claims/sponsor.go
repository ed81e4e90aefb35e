package claims

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// SponsorLink returns the address of the sponsor's page, and makes it if there
// is none that was not revoked.
func (c Clerk) SponsorLink(ctx context.Context, now time.Time, id string) (string, error) {
	if _, err := c.Host.Store.Giveaway(ctx, id); err != nil {
		return "", fmt.Errorf("make sponsor's link: %w", err)
	}
	link, err := c.liveLink(ctx, id)
	if err != nil || link != "" {
		return link, err
	}
	secret, err := c.newSecret()
	if err != nil {
		return "", err
	}
	sealed, err := c.Seal.Seal(sealSponsorLink, id, []byte(secret))
	if err != nil {
		return "", fmt.Errorf("make sponsor's link: %w", err)
	}
	err = c.Store.AddSponsorLink(ctx, SponsorRow{Draw: id, LinkHash: sponsorLink.hash("", secret), SealedLink: sealed, Made: now.UTC().Truncate(time.Second)})
	if err != nil && !errors.Is(err, ErrRace) {
		return "", fmt.Errorf("make sponsor's link: %w", err)
	}
	return c.liveLink(ctx, id)
}

// LiveSponsorLink returns the address of the sponsor's page, "" where there is
// none; it makes nothing.
func (c Clerk) LiveSponsorLink(ctx context.Context, id string) (string, error) {
	return c.liveLink(ctx, id)
}

func (c Clerk) liveLink(ctx context.Context, id string) (string, error) {
	rows, err := c.Store.SponsorLinks(ctx, id)
	if err != nil {
		return "", fmt.Errorf("read sponsor's link: %w", err)
	}
	for _, r := range rows {
		if !r.Revoked.IsZero() {
			continue
		}
		secret, err := c.Seal.Open(sealSponsorLink, id, r.SealedLink)
		if err != nil {
			return "", fmt.Errorf("read sponsor's link: %w", err)
		}
		return c.URL + SponsorPath(string(secret)), nil
	}
	return "", nil
}

// RevokeSponsorLink closes the sponsor's page. None there is no error; a new
// one may be made.
func (c Clerk) RevokeSponsorLink(ctx context.Context, now time.Time, id string) error {
	if err := c.Store.RevokeSponsorLink(ctx, id, now.UTC().Truncate(time.Second)); err != nil {
		return fmt.Errorf("revoke sponsor's link: %w", err)
	}
	return nil
}

// Visits returns when the sponsor's page was opened, oldest first.
func (c Clerk) Visits(ctx context.Context, id string) ([]time.Time, error) {
	return c.Store.Visits(ctx, id)
}

// A SponsorView is what the sponsor's page shows: confirmed winners and
// nobody else. It bears no e-mail address.
type SponsorView struct {
	Giveaway giveaway.Giveaway
	Drawn    bool // false: nothing to show yet
	Winners  []Parcel
	Cautions []Reminder
}

// A Parcel is one confirmed winner: pick ticket, label, proof.
type Parcel struct {
	Stand      giveaway.Stand
	Answer     Answer   // size, name, address as typed and tidied, phone
	Label      []string // Answer.Label()
	Country    string   // in capitals, for a parcel that crosses a border
	Phone      string   // in national form, with the country's number where it is another country
	Conversion string   // the size on the other scale and the foot's length, as advice; "" without sizes
	Asks       []Ask
	Shipping   Shipping
	Words      string // ShippingWords

	Entered    time.Time   // when the server took the entry
	Receipt    []byte      // the signed receipt
	Commitment draw.Digest // of the entry
	Fits       bool        // the published list has the same
}

// Sponsor returns what the sponsor's page shows, and notes the visit.
// [ErrNoSuchLink], also for a link that was revoked.
func (c Clerk) Sponsor(ctx context.Context, now time.Time, secret string) (SponsorView, error) {
	row, err := c.sponsor(ctx, secret)
	if err != nil {
		return SponsorView{}, err
	}
	if err := c.Store.AddVisit(ctx, row.Draw, now.UTC().Truncate(time.Second)); err != nil {
		return SponsorView{}, fmt.Errorf("note the sponsor's visit: %w", err)
	}
	return c.sponsorView(ctx, now, row.Draw)
}

func (c Clerk) sponsor(ctx context.Context, secret string) (SponsorRow, error) {
	if !validSecret(secret) {
		return SponsorRow{}, ErrNoSuchLink
	}
	row, err := c.Store.SponsorByLink(ctx, sponsorLink.hash("", secret))
	if err != nil {
		return row, fmt.Errorf("read sponsor's page: %w", err)
	}
	return row, nil
}

func (c Clerk) sponsorView(ctx context.Context, now time.Time, id string) (SponsorView, error) {
	g, err := c.Host.Store.Giveaway(ctx, id)
	if err != nil {
		return SponsorView{}, fmt.Errorf("read sponsor's page: %w", err)
	}
	v := SponsorView{Giveaway: g, Drawn: g.State == giveaway.StateDrawn, Cautions: Caution(g.Terms, now)}
	if !v.Drawn {
		return v, nil
	}
	places, err := c.Places(ctx, now, id)
	if err != nil {
		return v, err
	}
	for _, p := range places {
		if p.Confirmed == nil || p.Answer == nil {
			continue
		}
		parcel, err := c.parcel(ctx, g, p)
		if err != nil {
			return v, fmt.Errorf("read sponsor's page: place %d: %w", p.N, err)
		}
		v.Winners = append(v.Winners, parcel)
	}
	return v, nil
}

func (c Clerk) parcel(ctx context.Context, g giveaway.Giveaway, p Place) (Parcel, error) {
	a := *p.Answer
	// The forms as typed may hold more than the parcel needs; the address as
	// typed stands in Address.
	a.Typed = Form{}
	parcel := Parcel{
		Stand: p.Stand, Answer: a, Label: a.Label(), Country: a.Tidy.Country,
		Phone: PhoneShown(a.Phone, a.Address.Country), Conversion: Conversion(a.Size, g.Terms),
		Asks: p.Asks, Shipping: p.Shipping, Words: p.ShippingWords(g.Terms),
	}
	entry, err := c.Entries.EntryByTicket(ctx, g.ID, p.Ticket)
	if err != nil {
		return parcel, err
	}
	parcel.Entered, parcel.Commitment = entry.Stamp.Entered, entry.Commitment
	listed, err := inRoll(c.Host.Store.Publication(g.ID), p.Ticket)
	if err != nil {
		return parcel, err
	}
	parcel.Fits = listed == entryText(g.ID, entry).Commitment() && listed == entry.Commitment
	signer, err := c.Host.Keys.Signer(ctx)
	if err != nil {
		return parcel, fmt.Errorf("signing key: %w", err)
	}
	parcel.Receipt, err = signer.Sign(draw.Receipt{
		Draw: g.ID, Opening: entry.Stamp.Opening, Ticket: p.Ticket, Entered: entry.Stamp.Entered, Commitment: entry.Commitment,
	}.Text())
	return parcel, err
}

// Mark writes down what the sponsor says of a parcel. MarkCantHave with sizes
// and MarkAskAddress ask the winner, through a link of their own:
// [Clerk.AskLetter]. The same mark twice in a row is one. Errors: [Rejected];
// [ErrNotConfirmed]; [ErrNoSuchLink]; [ErrRace] if another mark came at that
// moment.
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
	if err := c.addMark(ctx, row.Draw, stand, m); err != nil {
		return SponsorView{}, fmt.Errorf("mark a parcel: %w", err)
	}
	return c.sponsorView(ctx, now, row.Draw)
}

func (c Clerk) addMark(ctx context.Context, id string, stand giveaway.Stand, m Mark) error {
	row, err := c.Store.Claim(ctx, id, stand.N)
	if err != nil {
		return err
	}
	p, err := c.place(m.At, id, stand, row)
	if err != nil {
		return err
	}
	if last, ok := p.Shipping.Latest(); ok && last.same(m) {
		return nil
	}
	mark := MarkRow{N: len(row.Marks) + 1, Kind: m.Kind, At: m.At}
	if mark.SealedWords, err = c.sealed(sealMark, where(id, stand.N, mark.N), m); err != nil {
		return err
	}
	if m.Kind == MarkCantHave && len(m.Offers) == 0 || m.Kind != MarkCantHave && m.Kind != MarkAskAddress {
		return c.Store.AddMark(ctx, id, stand.N, mark, nil)
	}
	question, err := c.newAsk(id, stand.N, len(row.Asks)+1, m)
	if err != nil {
		return err
	}
	return c.Store.AddMark(ctx, id, stand.N, mark, &question)
}

// same reports whether two marks say the same.
func (m Mark) same(o Mark) bool {
	return m.Kind == o.Kind && m.Words == o.Words && m.Carrier == o.Carrier && m.Number == o.Number &&
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
	out := Mark{Kind: m.Kind}
	switch m.Kind {
	case MarkInStock, MarkDelivered:
	case MarkCantHave:
		out.Words = line("words", m.Words, "the message", maxWords, false)
		out.Offers = slices.Clone(m.Offers)
		if text := checkOffers(m.Offers, t); text != "" {
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

func checkOffers(sizes []sizing.Size, t giveaway.Terms) string {
	switch {
	case t.Sizes == nil:
		return "This prize has no sizes. Please write to the creator instead."
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

// ShippingWords says in one sentence where the parcel is; "" before the place
// is confirmed. It bears no address, and suits winner, creator and sponsor.
func (p Place) ShippingWords(t giveaway.Terms) string {
	if p.Confirmed == nil {
		return ""
	}
	last, ok := p.Shipping.Latest()
	if !ok {
		return "The prize is confirmed; " + t.Sponsor + " has not written anything about the parcel yet."
	}
	day := dayWords(last.At, t)
	switch last.Kind {
	case MarkInStock:
		return t.Sponsor + " has it in stock (" + day + ")."
	case MarkCantHave:
		return t.Sponsor + " can’t get this size" + p.askWords(AskSize, " and offers others.")
	case MarkAskAddress:
		return t.Sponsor + " has a question about the address" + p.askWords(AskAddress, ".")
	case MarkShipped:
		words := "Shipped on " + day + " with " + last.Carrier
		if last.Number != "" {
			words += ", number " + last.Number
		}
		return words + "."
	case MarkDelivered:
		return "Delivered; noted on " + day + "."
	}
	return ""
}

// askWords says what came of the last question of a kind.
func (p Place) askWords(kind, open string) string {
	asks := slices.DeleteFunc(slices.Clone(p.Asks), func(a Ask) bool { return a.Kind != kind })
	if len(asks) == 0 {
		return "."
	}
	switch r := asks[len(asks)-1].Reply; {
	case r == nil:
		return open + " It waits for the winner’s answer."
	case r.Declined:
		return "; none of those offered suits."
	case kind == AskSize:
		return "; agreed instead: " + r.Size.String() + "."
	}
	return "; it was answered."
}

// dayWords is a day in the giveaway's zone.
func dayWords(at time.Time, t giveaway.Terms) string {
	loc, err := giveaway.LoadZone(t.Event.Zone)
	if err != nil {
		loc = time.UTC
	}
	return strings.TrimSpace(at.In(loc).Format("2 January 2006"))
}
