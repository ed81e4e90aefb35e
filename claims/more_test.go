package claims_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A correction that the creator writes down later wins over a reply.
func TestCorrectionAfterReply(t *testing.T) {
	r := newRig(t, 1, 1)
	r.answered(1, true)
	ctx := context.Background()
	address, err := r.c.SponsorLink(ctx, event, boots)
	r.must(err)
	nine := sizing.Size{System: sizing.Mens, Size: 18, Width: "D"}
	_, err = r.c.Mark(ctx, event.Add(day), secret(address), 1, claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{nine}})
	r.must(err)
	l, err := r.c.AskLetter(ctx, event.Add(day), boots, 1, 1)
	r.must(err)
	if _, err := r.c.Claim(ctx, event.Add(day), boots, secret(l.Link)); !errors.Is(err, claims.ErrNoSuchLink) {
		t.Errorf("a question's link at the claim page: %v", err)
	}
	_, err = r.c.AnswerAsk(ctx, event.Add(2*day), boots, secret(l.Link), claims.Form{System: "mens", Size: "9", Width: "D", Sure: "on"})
	r.must(err)
	f := goodForm()
	f.System, f.Size, f.Width = "mens", "11", "D"
	p, err := r.c.Record(ctx, event.Add(3*day), boots, 1, claims.ByPhone, f)
	if err != nil || p.Answer.Size.String() != "men’s 11 D" {
		t.Errorf("got %v, %v", err, p.Answer.Size)
	}
	v, err := r.c.Sponsor(ctx, event.Add(3*day), secret(address))
	if err != nil || v.Winners[0].Answer.Size.String() != "men’s 11 D" || v.Winners[0].Answer.Typed != (claims.Form{}) {
		t.Errorf("sponsor: got %v, %+v", err, v.Winners[0].Answer)
	}
	// The newer answer stands beside an older reply; none of the sizes suits
	// changes nothing either.
	_, err = r.c.Mark(ctx, event.Add(4*day), secret(address), 1, claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{nine}, Words: "Nor this one."})
	r.must(err)
	l, err = r.c.AskLetter(ctx, event.Add(4*day), boots, 1, 2)
	r.must(err)
	_, err = r.c.AnswerAsk(ctx, event.Add(5*day), boots, secret(l.Link), claims.Form{Decline: "on", Sure: "on"})
	r.must(err)
	if p, err = r.c.Place(ctx, event.Add(5*day), boots, 1); err != nil || p.Answer.Size.String() != "men’s 11 D" || !p.Asks[1].Reply.Declined {
		t.Errorf("declined: got %v, %v", err, p.Answer.Size)
	}
}

// A pass ends the claim page, also within the answer period.
func TestPassEndsThePage(t *testing.T) {
	r := newRig(t, 1, 1)
	ctx := context.Background()
	s := r.link(event, 1)
	_, err := r.c.Pass(ctx, event.Add(hour), boots, giveaway.Passing{Place: 1, Reason: draw.Ineligible})
	r.must(err)
	v, err := r.c.Claim(ctx, event.Add(2*hour), boots, s)
	if !errors.Is(err, claims.ErrOver) || v.Stand.Passed == nil || v.EntryText != nil {
		t.Errorf("without an answer: %v, %+v", err, v.Stand.Passed)
	}
	r.answered(2, false)
	s = r.link(event, 2)
	_, err = r.c.Pass(ctx, event.Add(2*hour), boots, giveaway.Passing{Place: 2, Reason: draw.Withdrawn})
	r.must(err)
	if _, err := r.c.Claim(ctx, event.Add(3*hour), boots, s); !errors.Is(err, claims.ErrOver) {
		t.Errorf("with an answer: %v", err)
	}
}

// lying changes what stands behind a ticket, as somebody with the database
// might.
type lying struct {
	claims.Entries
	change func(*entries.Stored)
}

func (l lying) EntryByTicket(ctx context.Context, id string, t draw.Ticket) (entries.Stored, error) {
	e, err := l.Entries.EntryByTicket(ctx, id, t)
	l.change(&e)
	return e, err
}

// The commitment is checked before the winner's eyes: whatever was changed in
// the entry since the list was locked shows.
func TestChangedEntryShows(t *testing.T) {
	r := newRig(t, 1, 1)
	ctx := context.Background()
	s := r.link(event, 1)
	for name, change := range map[string]func(*entries.Stored){
		"salt":    func(e *entries.Stored) { e.Salt[0] ^= 1 },
		"address": func(e *entries.Stored) { e.Entry.Key = "friend@example.com" },
		"size":    func(e *entries.Stored) { e.Entry.Size.Size++ },
		"country": func(e *entries.Stored) { e.Entry.Ship.Country = "CA" },
		"nothing": func(*entries.Stored) {},
	} {
		c := r.c
		c.Entries = lying{r.db, change}
		v, err := c.Claim(ctx, event, boots, s)
		if err != nil || v.Fits != (name == "nothing") {
			t.Errorf("%s: %v, fits %v", name, err, v.Fits)
		}
	}
}

func TestNews(t *testing.T) {
	r := newRig(t, 1, 1)
	r.answered(1, true)
	ctx := context.Background()
	p, err := r.c.Place(ctx, event, boots, 1)
	r.must(err)
	n, err := r.c.News(ctx, event, boots, p.Ticket)
	if err != nil || !n.Drawn || n.Place.Confirmed == nil || !strings.Contains(n.Shipping, "Larkspur Trail Supply") {
		t.Errorf("winner: %v, %+v", err, n)
	}
	next, err := r.c.Place(ctx, event, boots, 2)
	r.must(err)
	if n, err := r.c.News(ctx, event, boots, next.Ticket); err != nil || !n.Drawn || n.Shipping != "" || n.Place.Turn != nil {
		t.Errorf("next in line: %v, %+v", err, n)
	}
	if n, err := r.c.News(ctx, event, boots, draw.Ticket{}); err != nil || n.Drawn {
		t.Errorf("no place: %v, %+v", err, n)
	}
	if _, err := r.c.News(ctx, event, "none", p.Ticket); !errors.Is(err, giveaway.ErrNotFound) {
		t.Errorf("unknown giveaway: %v", err)
	}
}

// Nobody asks about a parcel that is not to be sent any more.
func TestGivenBackEndsQuestions(t *testing.T) {
	r := newRig(t, 1, 1)
	r.answered(1, true)
	ctx := context.Background()
	address, err := r.c.SponsorLink(ctx, event, boots)
	r.must(err)
	_, err = r.c.Mark(ctx, event.Add(day), secret(address), 1, claims.Mark{Kind: claims.MarkAskAddress, Words: "Is there a door code?"})
	r.must(err)
	l, err := r.c.AskLetter(ctx, event.Add(day), boots, 1, 1)
	r.must(err)
	_, err = r.c.Pass(ctx, event.Add(2*day), boots, giveaway.Passing{Place: 1, Reason: draw.Withdrawn, GivenBack: true})
	r.must(err)
	_, asked := r.c.Asked(ctx, event.Add(3*day), boots, secret(l.Link))
	_, answered := r.c.AnswerAsk(ctx, event.Add(3*day), boots, secret(l.Link), sure(goodForm()))
	_, letter := r.c.AskLetter(ctx, event.Add(3*day), boots, 1, 1)
	for i, err := range []error{asked, answered, letter} {
		if !errors.Is(err, claims.ErrOver) {
			t.Errorf("%d: got %v, want ErrOver", i, err)
		}
	}
}
