package claims_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

func mens(halves int) sizing.Size {
	return sizing.Size{System: sizing.Mens, Size: sizing.Half(halves), Width: "D"}
}

// A parcelRig is a confirmed place and the sponsor's page of it. Each step is
// an hour after the one before.
type parcelRig struct {
	*rig
	at      time.Time
	sponsor string
}

func newParcelRig(t *testing.T) *parcelRig {
	r := &parcelRig{rig: newRig(t, 1, 2), at: event.Add(day)}
	r.answered(1, true)
	address, err := r.c.SponsorLink(context.Background(), event, boots)
	r.must(err)
	r.sponsor = secret(address)
	return r
}

func (r *parcelRig) mark(m claims.Mark) {
	r.t.Helper()
	r.at = r.at.Add(hour)
	_, err := r.c.Mark(context.Background(), r.at, r.sponsor, 1, m)
	r.must(err)
}

func (r *parcelRig) ask(n int) string {
	r.t.Helper()
	l, err := r.c.AskLetter(context.Background(), r.at, boots, 1, n)
	r.must(err)
	return secret(l.Link)
}

func (r *parcelRig) reply(n int, f claims.Form) {
	r.t.Helper()
	link := r.ask(n)
	r.at = r.at.Add(hour)
	_, err := r.c.AnswerAsk(context.Background(), r.at, boots, link, sure(f))
	r.must(err)
}

func (r *parcelRig) correct(f claims.Form) {
	r.t.Helper()
	r.at = r.at.Add(hour)
	_, err := r.c.Record(context.Background(), r.at, boots, 1, claims.ByPhone, f)
	r.must(err)
}

func (r *parcelRig) place() claims.Place {
	r.t.Helper()
	p, err := r.c.Place(context.Background(), r.at, boots, 1)
	r.must(err)
	return p
}

// What a confirmed prize waits for, and the sentences that say so, after each
// way that a size or an address can go. The ways are the issue's; the sentences
// are ours.
func TestWaits(t *testing.T) {
	cantHave := claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(19), mens(21)}}
	none := claims.Mark{Kind: claims.MarkCantHave, None: true}
	inStock := claims.Mark{Kind: claims.MarkInStock}
	whichDoor := claims.Mark{Kind: claims.MarkAskAddress, Words: "Which door?"}
	shipped := claims.Mark{Kind: claims.MarkShipped, Carrier: "Example Post"}
	takes := claims.Form{System: "mens", Size: "9.5", Width: "D"}
	eleven := goodForm()
	eleven.System, eleven.Size, eleven.Width = "mens", "11", "D"
	const sponsor = "Larkspur Trail Supply "
	for _, c := range []struct {
		name  string
		steps func(r *parcelRig)
		want  claims.Wait
		says  string
		size  string // to be sent
	}{
		{"nothing yet", func(r *parcelRig) {}, claims.WaitNone,
			"The prize is confirmed; " + sponsor + "has not written anything about the parcel yet.", "men’s 10 D"},
		{"in stock", func(r *parcelRig) { r.mark(inStock) }, claims.WaitNone, sponsor + "has it in stock (12 December 2026).", "men’s 10 D"},
		{"a question about the size", func(r *parcelRig) { r.mark(cantHave) }, claims.WaitWinner,
			sponsor + "can’t get this size and offers men’s 9½ D or men’s 10½ D. That waits for the winner’s answer.", "men’s 10 D"},
		{"in stock after all", func(r *parcelRig) { r.mark(cantHave); r.mark(inStock) }, claims.WaitNone,
			sponsor + "has it in stock (13 December 2026).", "men’s 10 D"},
		{"agreed", func(r *parcelRig) { r.mark(cantHave); r.reply(1, takes) }, claims.WaitNone, "Agreed instead: men’s 9½ D.", "men’s 9½ D"},
		{"agreed, then in stock", func(r *parcelRig) { r.mark(cantHave); r.reply(1, takes); r.mark(inStock) }, claims.WaitNone,
			"Agreed instead: men’s 9½ D. " + sponsor + "has it in stock (13 December 2026).", "men’s 9½ D"},
		{"in stock, then not", func(r *parcelRig) { r.mark(inStock); r.mark(none) }, claims.WaitOffer,
			sponsor + "can’t get this size and has no other to offer.", "men’s 10 D"},
		{"none suits", func(r *parcelRig) { r.mark(cantHave); r.reply(1, claims.Form{Decline: "yes"}) }, claims.WaitSuits,
			sponsor + "can’t get this size, and nothing that it offered suits.", "men’s 10 D"},
		{"none suits, agreed by phone", func(r *parcelRig) {
			r.mark(cantHave)
			r.reply(1, claims.Form{Decline: "yes"})
			r.correct(eleven)
		}, claims.WaitNone, "Agreed instead: men’s 11 D.", "men’s 11 D"},
		{"nothing to offer, agreed by phone", func(r *parcelRig) { r.mark(none); r.correct(eleven) }, claims.WaitNone, "Agreed instead: men’s 11 D.", "men’s 11 D"},
		{"an open question, agreed by phone", func(r *parcelRig) { r.mark(cantHave); r.correct(eleven) }, claims.WaitNone, "Agreed instead: men’s 11 D.", "men’s 11 D"},
		{"offers again", func(r *parcelRig) {
			r.mark(cantHave)
			r.reply(1, claims.Form{Decline: "yes"})
			r.mark(claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(22)}})
		}, claims.WaitWinner, sponsor + "can’t get this size and offers men’s 11 D. That waits for the winner’s answer.", "men’s 10 D"},
		{"a question about the address", func(r *parcelRig) { r.mark(inStock); r.mark(whichDoor) }, claims.WaitWinner,
			sponsor + "has a question about the address. It waits for the winner’s answer. " + sponsor + "has it in stock (12 December 2026).", "men’s 10 D"},
		{"the address answered", func(r *parcelRig) { r.mark(whichDoor); r.reply(1, goodForm()) }, claims.WaitNone,
			sponsor + "had a question about the address; it was answered.", "men’s 10 D"},
		{"two questions", func(r *parcelRig) { r.mark(cantHave); r.mark(whichDoor); r.reply(2, goodForm()) }, claims.WaitWinner,
			sponsor + "can’t get this size and offers men’s 9½ D or men’s 10½ D. That waits for the winner’s answer. " + sponsor +
				"had a question about the address; it was answered.", "men’s 10 D"},
		{"two questions answered", func(r *parcelRig) { r.mark(cantHave); r.mark(whichDoor); r.reply(1, takes); r.reply(2, goodForm()) }, claims.WaitNone,
			"Agreed instead: men’s 9½ D. " + sponsor + "had a question about the address; it was answered.", "men’s 9½ D"},
		{"sent all the same", func(r *parcelRig) { r.mark(whichDoor); r.mark(shipped) }, claims.WaitNone, "Shipped on 13 December 2026 with Example Post.", "men’s 10 D"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := newParcelRig(t)
			r.at = time.Date(2026, 12, 12, 20, 0, 0, 0, time.UTC) // 3 pm in New York
			if strings.Contains(c.says, "13 December") {
				r.at = r.at.Add(9 * hour) // midnight there
			}
			c.steps(r)
			p := r.place()
			if got := p.Waits(); got != c.want {
				t.Errorf("waits for %q, want %q", got, c.want)
			}
			if got := p.ShippingWords(giveawayTerms(r.rig)); got != c.says {
				t.Errorf("says  %s\nwant %s", got, c.says)
			}
			if got := p.Answer.Size.String(); got != c.size {
				t.Errorf("to be sent: %s, want %s", got, c.size)
			}
		})
	}
}

func giveawayTerms(r *rig) giveaway.Terms {
	r.t.Helper()
	g, err := r.c.Host.Store.Giveaway(context.Background(), boots)
	r.must(err)
	return g.Terms
}

// The winner is told of an open question, on the claim page and on the private
// page, and nobody is told of a settled one.
func TestWinnerHearsOfAQuestion(t *testing.T) {
	r := newParcelRig(t)
	claim := r.link(event, 1)
	says := func(want bool) {
		t.Helper()
		v, err := r.c.Claim(context.Background(), r.at, boots, claim)
		r.must(err)
		n, err := r.c.News(context.Background(), r.at, boots, v.Stand.Ticket)
		r.must(err)
		const words = "Larkspur Trail Supply has a question for you; Slow Miles sends you a link to a page where you can answer it."
		if strings.Contains(v.Shipping, words) != want || n.Shipping != v.Shipping {
			t.Errorf("the claim page says %q, the private page %q; a question is open: %v", v.Shipping, n.Shipping, want)
		}
	}
	says(false)
	r.mark(claims.Mark{Kind: claims.MarkAskAddress, Words: "Which door?"})
	says(true)
	r.reply(1, goodForm())
	says(false)
}

// A letter with a question is noted as copied once, while somebody waits for
// the answer.
func TestAskNoticed(t *testing.T) {
	r := newParcelRig(t)
	ctx := context.Background()
	if err := r.c.AskNoticed(ctx, r.at, boots, 1, 1); !errors.Is(err, claims.ErrOver) {
		t.Errorf("no question: %v", err)
	}
	r.mark(claims.Mark{Kind: claims.MarkAskAddress, Words: "Which door?"})
	if p := r.place(); !p.Asks[0].Copied.IsZero() {
		t.Errorf("copied at %v before it was", p.Asks[0].Copied)
	}
	first := r.at.Add(time.Minute)
	for i := range 3 {
		r.must(r.c.AskNoticed(ctx, first.Add(time.Duration(i)*hour), boots, 1, 1))
		r.restart()
	}
	if p := r.place(); !p.Asks[0].Copied.Equal(first) {
		t.Errorf("copied at %v, want %v", p.Asks[0].Copied, first)
	}
	r.reply(1, goodForm())
	if err := r.c.AskNoticed(ctx, r.at, boots, 1, 1); !errors.Is(err, claims.ErrOver) {
		t.Errorf("answered: %v", err)
	}
}

// The letter of a question names the sizes, and reads well where the prize's
// name has "pair" or "size" in it.
func TestAskLetterWords(t *testing.T) {
	r := newParcelRig(t)
	r.mark(claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(19)}})
	l, err := r.c.AskLetter(context.Background(), r.at, boots, 1, 1)
	r.must(err)
	ticket := r.place().Ticket.Grouped()
	want := "this is about the prize for your ticket " + ticket + ": a pair of hiking boots.\n" +
		"Larkspur Trail Supply can’t get the size that you asked for, men’s 10 D. It offers men’s 9½ D instead."
	if !strings.Contains(l.Text, want) || strings.Contains(l.Text, "size of") {
		t.Errorf("got  %s\nwant %s", l.Text, want)
	}
	// A second question is about what was agreed since.
	r.reply(1, claims.Form{System: "mens", Size: "9.5", Width: "D"})
	r.mark(claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{mens(20)}})
	l, err = r.c.AskLetter(context.Background(), r.at, boots, 1, 2)
	r.must(err)
	v, err := r.c.Asked(context.Background(), r.at, boots, secret(l.Link))
	r.must(err)
	if !strings.Contains(l.Text, "men’s 9½ D. It offers men’s 10 D instead.") || v.Wanted != mens(19) {
		t.Errorf("got %v, %s", v.Wanted, l.Text)
	}
}

// The sponsor learns which prizes came back, by ticket alone, and nothing of
// places that were skipped before they were confirmed.
func TestSponsorSeesWhatCameBack(t *testing.T) {
	r := newParcelRig(t)
	ctx := context.Background()
	skip := func(place int, back bool) {
		t.Helper()
		r.at = r.at.Add(hour)
		_, err := r.c.Pass(ctx, r.at, boots, giveaway.Passing{Place: place, Reason: draw.Declined, GivenBack: back})
		r.must(err)
	}
	skip(1, true)
	skip(2, false)
	v, err := r.c.Look(ctx, r.at, r.sponsor)
	r.must(err)
	var back []int
	for _, s := range v.Back {
		back = append(back, s.N)
	}
	if !slices.Equal(back, []int{1}) || len(v.Winners) != 0 {
		t.Errorf("back: %v, want [1]; %d winners, want none", back, len(v.Winners))
	}
	bare(t, "the sponsor's page", asJSON(t, v))
}

// Looking is not visiting; only Sponsor notes.
func TestLookIsNoVisit(t *testing.T) {
	r := newParcelRig(t)
	ctx := context.Background()
	for range 3 {
		_, err := r.c.Look(ctx, r.at, r.sponsor)
		r.must(err)
	}
	_, err := r.c.Sponsor(ctx, r.at, r.sponsor)
	r.must(err)
	visits, err := r.c.Visits(ctx, boots)
	if err != nil || len(visits) != 1 {
		t.Errorf("%v, %d visits, want 1", err, len(visits))
	}
}

// When the page was closed last.
func TestSponsorClosed(t *testing.T) {
	r := newParcelRig(t)
	ctx := context.Background()
	if at, err := r.c.SponsorClosed(ctx, boots); err != nil || !at.IsZero() {
		t.Errorf("open: %v, %v", err, at)
	}
	for i := range 2 {
		_, err := r.c.SponsorLink(ctx, r.at, boots)
		r.must(err)
		want := r.at.Add(time.Duration(i+1) * hour)
		r.must(r.c.RevokeSponsorLink(ctx, want, boots))
		if at, err := r.c.SponsorClosed(ctx, boots); err != nil || !at.Equal(want) {
			t.Errorf("closed: %v, %v, want %v", err, at, want)
		}
	}
}

// Advice is about the size that was typed, not about the one that was entered.
func TestAdviceFollowsWhatWasTyped(t *testing.T) {
	r := newRig(t, 1, 1)
	s := r.link(event, 1)
	f := goodForm()
	f.System, f.Size, f.Width = "mens", "13", "D" // made up to 12
	v, err := r.c.Answer(context.Background(), event.Add(hour), boots, s, f)
	var no *claims.Rejected
	if !errors.As(err, &no) || v.About != mens(26) || !slices.Contains(v.Nearest, mens(24)) {
		t.Errorf("got %v, about %v, nearest %v", err, v.About, v.Nearest)
	}
}
