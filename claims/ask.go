package claims

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenhand/giveaway"
	"evenhand/sizing"
)

// newAsk makes the question that goes with a mark.
func (c Clerk) newAsk(id string, place, n int, m Mark) (AskRow, error) {
	a := AskRow{N: n, Kind: AskAddress, Asked: m.At}
	if m.Kind == MarkCantHave {
		a.Kind = AskSize
	}
	secret, err := c.newSecret()
	if err != nil {
		return a, err
	}
	a.LinkHash = askLink.hash(id, secret)
	if a.SealedLink, err = c.Seal.Seal(sealAskLink, where(id, place, n), []byte(secret)); err != nil {
		return a, err
	}
	a.SealedAsk, err = c.sealed(sealAsk, where(id, place, n), Ask{Words: m.Words, Offers: m.Offers})
	return a, err
}

// AskLetter returns the letter that brings question n of the sponsor to the
// winner, ready to copy. [ErrOver] when nobody can answer it any more.
func (c Clerk) AskLetter(ctx context.Context, now time.Time, id string, place, n int) (Letter, error) {
	d, err := c.desk(ctx, id)
	if err != nil {
		return Letter{}, fmt.Errorf("write letter: %w", err)
	}
	row, err := c.Store.Claim(ctx, id, place)
	if err != nil {
		return Letter{}, fmt.Errorf("write letter: %w", err)
	}
	stand, _ := d.s.Of(place)
	p, err := c.place(ctx, now, d.g, stand, row)
	if err != nil {
		return Letter{}, fmt.Errorf("write letter: %w", err)
	}
	if n < 1 || n > len(p.Asks) || !p.Asks[n-1].Open() {
		return Letter{}, fmt.Errorf("write letter: %w", ErrOver)
	}
	secret, err := c.Seal.Open(sealAskLink, where(id, place, n), row.Asks[n-1].SealedLink)
	if err != nil {
		return Letter{}, fmt.Errorf("open link: %w", err)
	}
	return askLetter(d.g.Terms, p.Asks[n-1], p, c.URL+AskPath(id, string(secret))), nil
}

// AskNoticed notes that the creator copied the letter with question n. Twice
// is once. [ErrOver] when nobody can answer it any more.
func (c Clerk) AskNoticed(ctx context.Context, now time.Time, id string, place, n int) error {
	p, err := c.Place(ctx, now, id, place)
	if err != nil {
		return fmt.Errorf("note the letter: %w", err)
	}
	if n < 1 || n > len(p.Asks) || !p.Asks[n-1].Open() {
		return fmt.Errorf("note the letter: %w", ErrOver)
	}
	err = c.Store.NoticeAsk(ctx, id, place, n, now.UTC().Truncate(time.Second))
	if err != nil && !errors.Is(err, ErrRace) {
		return fmt.Errorf("note the letter: %w", err)
	}
	return nil
}

func askLetter(t giveaway.Terms, a Ask, p Place, link string) Letter {
	l := Letter{Subject: "A question about your prize: " + t.Prize, Link: link}
	ask := t.Sponsor + " has a question about the address that it should go to."
	if a.Kind == AskSize {
		ask = t.Sponsor + " can’t get the size that you asked for, " + p.Answer.Size.String() + ". It offers " + sizeList(a.Offers) + " instead."
	}
	ask = "this is about the prize for your ticket " + p.Ticket.Grouped() + ": " + t.PrizeWithin() + ".\n" + ask
	if a.Words != "" {
		ask += " They write: “" + a.Words + "”"
	}
	l.Text = paragraphs("Hello,", ask, "Please answer on this page:", link,
		"The parcel waits for your answer. Nobody will ask you for money, a card, a password or a code.", signed(t))
	return l
}

// sizeList joins sizes: "men’s 10 D, men’s 10 2E or men’s 11 D".
func sizeList(sizes []sizing.Size) string {
	words := make([]string, len(sizes))
	for i, s := range sizes {
		words[i] = s.String()
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// An AskView is what the page of a sponsor's question shows to the winner.
type AskView struct {
	Giveaway giveaway.Giveaway
	Stand    giveaway.Stand
	Erased   time.Time // beside [ErrErased]: when the personal data was deleted
	Ask      Ask
	Wanted   sizing.Size     // what would be sent if it could be had
	Advice   []sizing.Advice // for the offers that trade habit knows; advice, not a promise
	Newer    bool            // another question waits, through a link of its own
	Step     Step
	Form     Form
	Other    bool   // beside [ErrAnswered]: what was sent now is not what stands
	Preview  *Reply // StepCheck: what would be kept
	Shipping string // StepDone: WinnerWords
}

// Asked returns what the page of a question shows, and changes nothing. It
// shows no address. Errors: [ErrNoSuchLink]; [ErrOver], with the view, when
// nobody can answer it any more; [ErrErased], with the view.
func (c Clerk) Asked(ctx context.Context, now time.Time, id, secret string) (AskView, error) {
	v, _, err := c.asked(ctx, now, id, secret)
	return v, err
}

func (c Clerk) asked(ctx context.Context, now time.Time, id, secret string) (AskView, Place, error) {
	if !validSecret(secret) {
		return AskView{}, Place{}, ErrNoSuchLink
	}
	row, n, err := c.Store.ClaimByAsk(ctx, id, askLink.hash(id, secret))
	if err != nil {
		return AskView{}, Place{}, fmt.Errorf("read question: %w", err)
	}
	d, err := c.desk(ctx, id)
	if err != nil {
		return AskView{}, Place{}, fmt.Errorf("read question: %w", err)
	}
	stand, _ := d.s.Of(row.Place)
	if at := d.erased(row); !at.IsZero() {
		return AskView{Giveaway: d.g, Stand: stand, Erased: at}, Place{}, ErrErased
	}
	p, err := c.place(ctx, now, d.g, stand, row)
	if err != nil || n < 1 || n > len(p.Asks) || p.Answer == nil {
		return AskView{}, p, errors.Join(fmt.Errorf("read question %d of place %d", n, row.Place), err)
	}
	v := AskView{Giveaway: d.g, Stand: stand, Ask: p.Asks[n-1].hidden(), Wanted: p.Answer.Size, Step: StepForm}
	v.Newer = slices.ContainsFunc(p.OpenAsks(), func(a Ask) bool { return a.N > n })
	if v.Ask.Reply != nil {
		v.Step, v.Shipping = StepDone, p.WinnerWords(d.g.Terms)
	} else if v.Ask.Closed {
		return v, p, ErrOver
	}
	v.advise()
	return v, p, nil
}

// hidden is a question without the address in its reply.
func (a Ask) hidden() Ask {
	if a.Reply != nil {
		a.Reply = &Reply{Declined: a.Reply.Declined, Size: a.Reply.Size, At: a.Reply.At}
	}
	return a
}

// advise keeps the advice that is about a size on offer.
func (v *AskView) advise() {
	if v.Ask.Kind != AskSize || v.Giveaway.Terms.Sizes == nil {
		return
	}
	t := v.Giveaway.Terms.Sizes
	var run sizing.Run
	for _, s := range v.Ask.Offers {
		run = append(run, sizing.Range{System: s.System, From: s.Size, To: s.Size, Step: sizing.HalfSteps, Widths: []string{s.Width}})
	}
	v.Advice = run.Advise(v.Wanted, false, t.Scale)
}

// AnswerAsk takes the winner's answer to a question: one of the sizes on
// offer, or Decline for none of them; or the address anew. It is shown back
// first and final when it comes again with Sure. Errors: [Rejected];
// [ErrAnswered], [ErrOver], with the view; [ErrNoSuchLink].
func (c Clerk) AnswerAsk(ctx context.Context, now time.Time, id, secret string, f Form) (AskView, error) {
	v, p, err := c.asked(ctx, now, id, secret)
	if err != nil {
		return v, err
	}
	if v.Step == StepDone {
		v.Other = !p.Asks[v.Ask.N-1].Reply.Typed.says(f)
		return v, ErrAnswered
	}
	entry, err := c.Entries.EntryByTicket(ctx, id, v.Stand.Ticket)
	if err != nil {
		return v, fmt.Errorf("answer question: %w", err)
	}
	d := decision{form: f, terms: v.Giveaway.Terms, entry: entry}
	r := d.reply(v.Ask)
	f.Seen, v.Form = d.seen(), f
	if len(d.problems) > 0 {
		return v, &Rejected{Fields: d.problems, Form: f}
	}
	r.Typed, r.At = f, now.UTC().Truncate(time.Second)
	if !ticked(f.Sure) {
		v.Step, v.Preview = StepCheck, &r
		return v, nil
	}
	sealed, err := c.sealed(sealReply, where(id, p.N, v.Ask.N), r)
	if err != nil {
		return v, err
	}
	err = c.Store.Reply(ctx, id, p.N, p.Saw, v.Ask.N, sealed, r.At)
	if errors.Is(err, ErrRace) {
		return c.AnswerAsk(ctx, now, id, secret, f) // it may be open all the same
	}
	if err != nil {
		return v, fmt.Errorf("answer question: %w", err)
	}
	return c.Asked(ctx, now, id, secret)
}

// reply reads the answer to a question.
func (d *decision) reply(a Ask) Reply {
	if a.Kind == AskAddress {
		d.readCareOf()
		d.readAddress()
		return Reply{CareOf: d.CareOf, Address: &d.Address, Tidy: &d.Tidy}
	}
	if ticked(d.form.Decline) {
		return Reply{Declined: true}
	}
	if strings.TrimSpace(d.form.Size) != "" {
		d.readSize()
	}
	if len(d.problems) == 0 && !slices.Contains(a.Offers, d.Size) {
		text := "Please choose one of the sizes on offer, or say that none of them suits."
		if len(a.Offers) == 1 {
			text = "Please take the size on offer, or say that it doesn’t suit."
		}
		d.problem("size", text)
	}
	return Reply{Size: d.Size}
}
