package claims

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A Step is where a claim page is.
type Step string

// The steps of a claim page.
const (
	StepSkill Step = "skill" // the skill question comes first; see View.Skill
	StepForm  Step = "form"  // to be filled in
	StepCheck Step = "check" // shown back, to be sent once more with Form.Sure
	StepDone  Step = "done"  // final; no address is shown
)

// A View is what the claim page shows. It is for the holder of the link alone.
type View struct {
	Giveaway giveaway.Giveaway
	Stand    giveaway.Stand // place and ticket, and whether it was passed or confirmed
	Notice   *Notice        // nil: no answer period runs yet
	Erased   time.Time      // beside [ErrErased]: when the personal data was deleted

	Entry     entries.Stored // what was entered
	EntryText []byte         // the text whose hash the commitment is
	InList    draw.Digest    // the commitment that the published list has beside the ticket
	Fits      bool           // the two are equal: checked here and now

	Skill    Skill // the skill question, where the rules put one
	Step     Step
	Form     Form            // what to fill the form with; at first the size that was entered
	About    sizing.Size     // the size that Nearest and Advice are about: the one typed, at first the one entered
	Nearest  []sizing.Size   // sizes of the sponsor next to it, where it lacks that
	Advice   []sizing.Advice // trade habits for it: advice, not a promise
	Other    bool            // beside [ErrAnswered]: what was sent now is not what stands
	Preview  *Answer         // StepCheck: what would be kept
	Sent     *Sent           // StepDone
	Shipping string          // StepDone: WinnerWords, or ""
	Parcel   string          // StepDone: MarkShipped or MarkDelivered, once it was sent

	sent Form // StepDone: what was typed
}

// says reports whether two forms say the same; what was asked about it and how
// often it was sent is no matter.
func (f Form) says(o Form) bool {
	f.Seen, f.Sure, o.Seen, o.Sure = "", "", "", ""
	return f == o
}

// Sent is what may be shown again of an answer: nothing that says where
// somebody lives.
type Sent struct {
	At       time.Time
	By       string
	Declined bool
	Size     sizing.Size
	Country  string // ISO 3166-1 alpha-2
}

// Claim returns what the claim page shows, and changes nothing. Errors:
// [ErrNoSuchLink], whatever is wrong with a link; [ErrOver], with the view,
// when the place was passed or the answer period is over: a kind page;
// [ErrErased], with the view.
func (c Clerk) Claim(ctx context.Context, now time.Time, id, secret string) (View, error) {
	v, _, err := c.claim(ctx, now, id, secret)
	return v, err
}

func (c Clerk) claim(ctx context.Context, now time.Time, id, secret string) (View, Row, error) {
	if !validSecret(secret) {
		return View{}, Row{}, ErrNoSuchLink
	}
	row, err := c.Store.ClaimByLink(ctx, id, claimLink.hash(id, secret))
	if err != nil {
		return View{}, row, fmt.Errorf("read claim: %w", err)
	}
	v, err := c.view(ctx, now, id, row)
	return v, row, err
}

// view makes the page of a row.
func (c Clerk) view(ctx context.Context, now time.Time, id string, row Row) (View, error) {
	d, err := c.desk(ctx, id)
	if err != nil {
		return View{}, fmt.Errorf("read claim: %w", err)
	}
	stand, ok := d.s.Of(row.Place)
	if !ok || stand.Ticket != row.Ticket {
		return View{}, fmt.Errorf("read claim: place %d: %w", row.Place, giveaway.ErrNoTurn)
	}
	if at := d.erased(row); !at.IsZero() {
		return View{Giveaway: d.g, Stand: stand, Erased: at}, ErrErased
	}
	p, err := c.place(ctx, now, d.g, stand, row)
	if err != nil {
		return View{}, fmt.Errorf("read claim: %w", err)
	}
	v := View{Giveaway: d.g, Stand: stand, Notice: p.Notice, Step: StepForm}
	if stand.Passed != nil || p.Answer == nil && p.Notice != nil && !now.Before(p.Notice.Until) {
		return v, ErrOver
	}
	if err := c.showEntry(ctx, &v); err != nil {
		return v, fmt.Errorf("read claim: %w", err)
	}
	v.offer()
	v.Skill = p.Skill
	v.Skill.Spoken = Sum{}
	switch {
	case p.Answer != nil:
		v.done(p)
	case p.NeedsSkill():
		v.Step = StepSkill
	}
	return v, nil
}

// showEntry adds the entry, and checks its commitment against the published
// list.
func (c Clerk) showEntry(ctx context.Context, v *View) error {
	id := v.Giveaway.ID
	entry, err := c.Entries.EntryByTicket(ctx, id, v.Stand.Ticket)
	if err != nil {
		return err
	}
	v.Entry, v.EntryText = entry, entryText(id, entry).Text()
	if v.InList, err = inRoll(c.Host.Store.Publication(id), v.Stand.Ticket); err != nil {
		return err
	}
	v.Fits = v.InList == draw.Hash(v.EntryText)
	return nil
}

// entryText is the text that the entry's commitment is the hash of.
func entryText(id string, e entries.Stored) draw.EntryText {
	return entries.Ticketed{Ticket: e.Ticket, Salt: e.Salt, Entry: e.Entry}.Text(id)
}

// offer fills in the size that was entered and says what there is beside it.
func (v *View) offer() {
	terms, size := v.Giveaway.Terms.Sizes, v.Entry.Entry.Size
	v.Form.Country = v.Entry.Entry.Ship.Country
	v.Form.State = v.Entry.Entry.Ship.State
	if terms == nil {
		return
	}
	v.Form.System, v.Form.Size, v.Form.Width = string(size.System), size.Size.String(), size.Width
	v.advise(size)
}

// advise says what there is beside a size.
func (v *View) advise(size sizing.Size) {
	terms := v.Giveaway.Terms.Sizes
	v.About, v.Nearest, v.Advice = size, nil, nil
	if !terms.Run.Has(size) {
		v.Nearest = terms.Run.Nearest(size, terms.Scale, nearest)
		v.Advice = terms.Run.Advise(size, false, terms.Scale)
	}
}

// typed takes the form back that was typed, with advice about its size.
func (v *View) typed(f Form) {
	v.Form = f
	if v.Giveaway.Terms.Sizes == nil {
		return
	}
	if size, problems := parseSize(f); len(problems) == 0 {
		v.advise(size)
	}
}

func (v *View) done(p Place) {
	v.Step, v.Form = StepDone, Form{}
	v.Sent = &Sent{At: p.Answer.At, By: p.Answer.By, Declined: p.Answer.Declined, Size: p.Answer.Size, Country: p.Answer.Address.Country}
	v.Shipping = p.WinnerWords(v.Giveaway.Terms)
	if last, ok := p.Shipping.Latest(); ok && p.Shipping.Sent() {
		v.Parcel = last.Kind
	}
	v.sent = p.Sent.Typed
}

// Answer takes the winner's form. First it is shown back (StepCheck); sent
// again with Sure it is final (StepDone). Errors: [Rejected]; [ErrAnswered],
// with the view, if an answer stands; [ErrSkill], with the view, while the skill
// question stands in the way of all but a No; [ErrOver] and [ErrNoSuchLink] as
// Claim.
func (c Clerk) Answer(ctx context.Context, now time.Time, id, secret string, f Form) (View, error) {
	v, row, err := c.claim(ctx, now, id, secret)
	if err != nil {
		return v, err
	}
	if v.Step == StepDone {
		v.Other = !v.sent.says(f)
		return v, ErrAnswered
	}
	if v.Step == StepSkill && !ticked(f.Decline) {
		return v, ErrSkill
	}
	a, problems := Decide(f, v.Giveaway.Terms, v.Entry)
	f.Seen = a.Typed.Seen
	if len(problems) > 0 {
		v.typed(f)
		return v, &Rejected{Fields: problems, Form: f}
	}
	a.By, a.At = ByPage, now.UTC().Truncate(time.Second)
	if !ticked(f.Sure) {
		v.Step, v.Form, v.Preview = StepCheck, f, &a
		return v, nil
	}
	if err := c.keep(ctx, id, row.Place, row.Version, a); err != nil && !errors.Is(err, ErrRace) {
		return v, fmt.Errorf("answer: %w", err)
	} else if err != nil {
		v, again := c.Claim(ctx, now, id, secret)
		v.Other = !v.sent.says(f)
		return v, errors.Join(again, ErrAnswered)
	}
	return c.Claim(ctx, now, id, secret)
}

// keep seals and writes an answer, replacing version from.
func (c Clerk) keep(ctx context.Context, id string, place, from int, a Answer) error {
	sealed, err := c.sealed(sealAnswer, where(id, place, 0), a)
	if err != nil {
		return err
	}
	return c.Store.Answer(ctx, id, place, from, sealed, a.By, a.At)
}

// Record writes down what the winner said by chat or phone (ByChat, ByPhone),
// or a correction of what came before. It may come after the answer period,
// as long as the place was not passed and no parcel was sent. Errors:
// [Rejected], also once the parcel was sent; [ErrOver];
// [giveaway.ErrNoTurn]; [ErrRace] if another answer came at that moment.
func (c Clerk) Record(ctx context.Context, now time.Time, id string, place int, by string, f Form) (Place, error) {
	if by != ByChat && by != ByPhone {
		return Place{}, &Rejected{Fields: []Problem{{Field: "by", Text: "Say whether it came by chat or by phone."}}, Form: f}
	}
	d, row, err := c.claimRow(ctx, now, id, place)
	if err != nil {
		return Place{}, fmt.Errorf("record answer: %w", err)
	}
	entry, err := c.Entries.EntryByTicket(ctx, id, row.Ticket)
	if err != nil {
		return Place{}, fmt.Errorf("record answer: %w", err)
	}
	a, problems := Decide(f, d.g.Terms, entry)
	if d.g.Terms.AsksSkill(entry.Entry.Live) && row.Skill.Outcome != SkillRight && !a.Declined {
		if a.Skill = ticked(f.Skill); !a.Skill {
			problems = append(problems, Problem{Field: "skill", Text: "Put the skill question, and tick this once the answer was right. The rules ask it of winners who live in Canada."})
		}
	}
	before, err := c.Place(ctx, now, id, place)
	if err != nil {
		return Place{}, fmt.Errorf("record answer: %w", err)
	}
	if before.Shipping.Sent() {
		problems = []Problem{{Field: "by", Text: "The parcel was sent already, by the answer that stood then. Nothing was changed; write to " + d.g.Terms.Sponsor + " at once."}}
	}
	if len(problems) > 0 {
		f.Seen = a.Typed.Seen
		return Place{}, &Rejected{Fields: problems, Form: f}
	}
	a.By, a.At = by, now.UTC().Truncate(time.Second)
	if was := before.Answer; was != nil {
		a.Changes = was.Changes
		if change := was.changed(a); change.any() {
			a.Changes = append(slices.Clone(was.Changes), change)
		}
	}
	if err := c.keep(ctx, id, place, row.Version, a); err != nil {
		return Place{}, fmt.Errorf("record answer: %w", err)
	}
	return c.Place(ctx, now, id, place)
}
