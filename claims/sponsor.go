package claims

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// SponsorLink returns the address of the sponsor's page, and makes it if there
// is none that was not revoked.
func (c Clerk) SponsorLink(ctx context.Context, now time.Time, id string) (string, error) {
	g, err := c.Host.Store.Giveaway(ctx, id)
	if err == nil && !g.Erased.IsZero() {
		err = ErrErased
	}
	if err != nil {
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

// SponsorClosed returns when the sponsor's page was closed last; the zero time
// where it never was.
func (c Clerk) SponsorClosed(ctx context.Context, id string) (at time.Time, err error) {
	rows, err := c.Store.SponsorLinks(ctx, id)
	if err != nil {
		return at, fmt.Errorf("read sponsor's link: %w", err)
	}
	for _, r := range rows {
		if r.Revoked.After(at) {
			at = r.Revoked
		}
	}
	return at, nil
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
	Back     []giveaway.Stand // places that were confirmed once and skipped since: nothing is to be sent there
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
	Waits      Wait     // why it can't be sent yet
	Stocked    bool     // what is to be sent is in stock
	Words      string   // ShippingWords
	Saw        Saw      // to be sent back with a mark
	Changes    []Change // what was changed since the place was confirmed

	Entered    time.Time   // when the server took the entry
	Receipt    []byte      // the signed receipt
	Commitment draw.Digest // of the entry
	Fits       bool        // the published list has the same
}

// Look returns what the sponsor's page shows, and notes nothing.
// [ErrNoSuchLink]; [ErrClosed] for a link that was revoked.
func (c Clerk) Look(ctx context.Context, now time.Time, secret string) (SponsorView, error) {
	row, err := c.sponsor(ctx, secret)
	if err != nil {
		return SponsorView{}, err
	}
	return c.sponsorView(ctx, now, row.Draw)
}

// Sponsor returns what the sponsor's page shows, and notes the visit. Errors
// as of Look.
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
	once, err := c.confirmedOnce(ctx, id, places)
	if err != nil {
		return v, fmt.Errorf("read sponsor's page: %w", err)
	}
	for _, p := range places {
		if p.Passed != nil && once[p.N] {
			v.Back = append(v.Back, p.Stand)
		}
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
		Asks: p.Asks, Shipping: p.Shipping, Waits: p.Waits(), Stocked: p.Stocked(), Words: p.ShippingWords(g.Terms), Saw: p.Saw, Changes: p.changes(),
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
