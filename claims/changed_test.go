package claims_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"evenhand/claims"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// look is the one parcel of the sponsor's page.
func (r *parcelRig) look() claims.Parcel {
	r.t.Helper()
	v, err := r.c.Look(context.Background(), r.at, r.sponsor)
	r.must(err)
	if len(v.Winners) != 1 {
		r.t.Fatalf("%d winners on the sponsor's page, want one", len(v.Winners))
	}
	return v.Winners[0]
}

// markSeen marks as a page does that was loaded then.
func (r *parcelRig) markSeen(saw claims.Saw, m claims.Mark) error {
	r.t.Helper()
	m.Saw = saw.String()
	_, err := r.c.Mark(context.Background(), r.at, r.sponsor, 1, m)
	return err
}

// A mark is about a size: it falls when the answer's size is another one, and
// the sponsor's page says what was changed, and when.
func TestInStockIsAboutASize(t *testing.T) {
	r := newParcelRig(t)
	r.mark(claims.Mark{Kind: claims.MarkInStock})
	if p := r.look(); !p.Stocked || len(p.Changes) != 0 {
		t.Fatalf("stocked %v, changes %v", p.Stocked, p.Changes)
	}
	street := goodForm()
	street.Line1 = "14 Wexcombe Street"
	r.correct(street)
	if p := r.look(); !p.Stocked || len(p.Changes) != 1 || p.Changes[0] != (claims.Change{At: r.at, Address: true}) {
		t.Errorf("another address: stocked %v, changes %+v", p.Stocked, p.Changes)
	}
	eleven := street
	eleven.System, eleven.Size, eleven.Width = "mens", "11", "D"
	r.correct(eleven)
	p, want := r.look(), "Larkspur Trail Supply had men’s 10 D in stock (12 December 2026); the size is men’s 11 D now."
	if p.Stocked || p.Words != want || r.place().ShippingWords(r.terms()) != want {
		t.Errorf("another size: stocked %v, %q", p.Stocked, p.Words)
	}
	if len(p.Changes) != 2 || p.Changes[1] != (claims.Change{At: r.at, Size: true, Was: mens(20)}) {
		t.Errorf("changes %+v", p.Changes)
	}
	r.mark(claims.Mark{Kind: claims.MarkInStock}) // not the same mark: of another size
	if p := r.look(); !p.Stocked || !strings.HasSuffix(p.Words, "has it in stock (13 December 2026).") {
		t.Errorf("in stock again: stocked %v, %q", p.Stocked, p.Words)
	}
}

func (r *parcelRig) terms() giveaway.Terms {
	r.t.Helper()
	g, err := r.db.Giveaway(context.Background(), boots)
	r.must(err)
	return g.Terms
}

// A press counts for what its page showed: after a correction, a reply or
// another mark it is refused; the same press twice is one.
func TestStalePressIsRefused(t *testing.T) {
	shipped := claims.Mark{Kind: claims.MarkShipped, Carrier: "Example Post"}
	cantHave := claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(19)}}
	other := goodForm()
	other.Line1 = "14 Wexcombe Street"
	for name, since := range map[string]func(r *parcelRig){
		"a correction":   func(r *parcelRig) { r.correct(other) },
		"an open offer":  func(r *parcelRig) { r.mark(cantHave) },
		"a settled one":  func(r *parcelRig) { r.mark(cantHave); r.reply(1, claims.Form{Decline: "yes"}) },
		"another parcel": func(r *parcelRig) { r.mark(claims.Mark{Kind: claims.MarkShipped, Carrier: "Other Post"}) },
	} {
		t.Run(name, func(t *testing.T) {
			r := newParcelRig(t)
			saw := r.look().Saw
			since(r)
			before := r.look()
			for _, m := range []claims.Mark{shipped, {Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(19)}, Words: "Sold out."}, {Kind: claims.MarkDelivered}} {
				if err := r.markSeen(saw, m); !errors.Is(err, claims.ErrChanged) {
					t.Errorf("%s: %v", m.Kind, err)
				}
			}
			if after := r.look(); after.Saw != before.Saw || after.Words != before.Words {
				t.Errorf("it stands %q, %v; before %q, %v", after.Words, after.Saw, before.Words, before.Saw)
			}
			r.must(r.markSeen(before.Saw, shipped))
			r.must(r.markSeen(before.Saw, shipped)) // a double click
			if n := len(r.look().Shipping.Marks); n != before.Saw.Marks+1 {
				t.Errorf("%d marks, want %d", n, before.Saw.Marks+1)
			}
		})
	}
}

// What was sent stays where it was sent: a correction comes too late.
func TestNoCorrectionOnceSent(t *testing.T) {
	r := newParcelRig(t)
	r.mark(claims.Mark{Kind: claims.MarkShipped, Carrier: "Example Post"})
	other := goodForm()
	other.Line1 = "99 Elsewhere Road"
	_, err := r.c.Record(context.Background(), r.at, boots, 1, claims.ByPhone, other)
	var no *claims.Rejected
	if !errors.As(err, &no) || len(no.Fields) != 1 || !strings.HasPrefix(no.Fields[0].Text, "The parcel was sent already") {
		t.Fatalf("correction after it was sent: %v", err)
	}
	if got := strings.Join(r.look().Answer.Address.Lines, ", "); got != "12 Wexcombe Street, Apartment 4b" {
		t.Errorf("the page shows %q", got)
	}
}
