package claims

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"evenhand/giveaway"
)

// Deadline is the end of an answer period of so many days of 24 hours, rounded
// up to the next full hour (UTC), so that it can be said in a sentence.
func Deadline(noticed time.Time, days int) time.Time {
	t := noticed.UTC().Add(time.Duration(days) * 24 * time.Hour)
	if hour := t.Truncate(time.Hour); hour.Before(t) {
		return hour.Add(time.Hour)
	}
	return t
}

// Letter returns the letter to the winner at a place that has its turn; the
// link in it is made the first time and then stays. Until is what it would be
// if the letter were copied now, until it is. Errors: [giveaway.ErrNoTurn];
// [ErrOver] for a place that was passed.
func (c Clerk) Letter(ctx context.Context, now time.Time, id string, place int) (Letter, error) {
	d, row, err := c.claimRow(ctx, now, id, place)
	if err != nil {
		return Letter{}, fmt.Errorf("write letter: %w", err)
	}
	return c.letter(ctx, now, d, row)
}

// Noticed notes that the creator copied the letter. The answer period runs
// from the first time, whoever presses again; the letter returned says until
// when. With a new link it runs anew, since the winner had none until then.
func (c Clerk) Noticed(ctx context.Context, now time.Time, id string, place int) (Letter, error) {
	d, row, err := c.claimRow(ctx, now, id, place)
	if err != nil {
		return Letter{}, fmt.Errorf("note the letter: %w", err)
	}
	if row.standing().Noticed.IsZero() {
		at := now.UTC().Truncate(time.Second)
		err := c.Store.Notice(ctx, id, place, at, row.until(at, d.g.Terms))
		if err != nil && !errors.Is(err, ErrRace) {
			return Letter{}, fmt.Errorf("note the letter: %w", err)
		}
		if row, err = c.Store.Claim(ctx, id, place); err != nil {
			return Letter{}, fmt.Errorf("note the letter: %w", err)
		}
	}
	return c.letter(ctx, now, d, row)
}

// NewLink replaces the link of a place, such as when it went to the wrong
// person: the old one opens nothing from then on, the letter has to be copied
// again, and the log says so. A new link that was not noticed yet stays.
// Errors: as Letter; [ErrRace] once there is an answer.
func (c Clerk) NewLink(ctx context.Context, now time.Time, id string, place int) (Letter, error) {
	d, row, err := c.claimRow(ctx, now, id, place)
	if err != nil {
		return Letter{}, fmt.Errorf("renew link: %w", err)
	}
	if !row.Renewed.IsZero() {
		return c.letter(ctx, now, d, row)
	}
	fresh, err := c.newRow(now, id, place, row)
	if err != nil {
		return Letter{}, fmt.Errorf("renew link: %w", err)
	}
	line := giveaway.LogLine{At: fresh.Made, What: "You made a new link for the letter to a winner; the old one opens nothing."}
	if !row.Noticed.IsZero() {
		fresh.Renewed = fresh.Made
		line.What = "You made a new link for the letter to a winner: the one that was sent opens nothing any more. The letter has to be sent again, and the time to answer runs anew from then."
	}
	err = c.Store.RenewLink(ctx, id, place, row.LinkHash, fresh.LinkHash, fresh.SealedLink, line)
	if err != nil {
		return Letter{}, fmt.Errorf("renew link: %w", err)
	}
	return c.letter(ctx, now, d, fresh)
}

// standing is a row without the letter whose link was replaced.
func (r Row) standing() Row {
	if !r.Renewed.IsZero() {
		r.Noticed, r.Until = time.Time{}, time.Time{}
	}
	return r
}

// until is the end of an answer period that begins at a time; it ends no
// sooner than one that was told already.
func (r Row) until(at time.Time, t giveaway.Terms) time.Time {
	end := Deadline(at, t.AnswerDays)
	if r.Until.After(end) {
		return r.Until
	}
	return end
}

// claimRow returns the row of a place that has its turn, and makes it if
// there is none. If two make it at once, both get the one that was written.
func (c Clerk) claimRow(ctx context.Context, now time.Time, id string, place int) (desk, Row, error) {
	d, err := c.desk(ctx, id)
	if err != nil {
		return d, Row{}, err
	}
	if !d.g.Erased.IsZero() {
		return d, Row{}, ErrErased
	}
	stand, err := d.turn(place)
	if err != nil {
		return d, Row{}, err
	}
	row, err := c.Store.Claim(ctx, id, place)
	if !errors.Is(err, ErrNoClaim) {
		return d, row, err
	}
	row, err = c.newRow(now, id, place, Row{Ticket: stand.Ticket})
	if err != nil {
		return d, row, err
	}
	if err := c.Store.AddClaim(ctx, row); err != nil && !errors.Is(err, ErrRace) {
		return d, row, err
	}
	row, err = c.Store.Claim(ctx, id, place)
	return d, row, err
}

// newRow gives a row a new link.
func (c Clerk) newRow(now time.Time, id string, place int, r Row) (Row, error) {
	secret, err := c.newSecret()
	if err != nil {
		return r, err
	}
	r.Draw, r.Place, r.Made = id, place, now.UTC().Truncate(time.Second)
	r.LinkHash = claimLink.hash(id, secret)
	r.SealedLink, err = c.Seal.Seal(sealClaimLink, where(id, place, 0), []byte(secret))
	return r, err
}

func (c Clerk) letter(ctx context.Context, now time.Time, d desk, r Row) (Letter, error) {
	secret, err := c.Seal.Open(sealClaimLink, where(r.Draw, r.Place, 0), r.SealedLink)
	if err != nil {
		return Letter{}, fmt.Errorf("open link: %w", err)
	}
	stand, _ := d.s.Of(r.Place)
	now, told := now.Truncate(time.Second), r
	r = r.standing()
	skill, err := c.skill(ctx, now, d.g, stand, r)
	if err != nil {
		return Letter{}, fmt.Errorf("write letter: %w", err)
	}
	t := d.g.Terms
	l := Letter{Subject: "Your ticket was drawn: " + t.Prize, Link: c.URL + ClaimPath(r.Draw, string(secret))}
	l.Until, l.Noticed = r.Until, !r.Noticed.IsZero()
	if !l.Noticed {
		l.Until = told.until(now, t)
	}
	l.Text = paragraphs(
		"Hello,",
		"you entered the giveaway of "+t.Channel+": "+t.Title+"\n"+drawnWords(r, d.s.Winners),
		"The prize is "+t.PrizeWithin()+". "+t.Sponsor+" sends it. Please say on this page where it should go:",
		l.Link,
		shows(t, skill)+" Please answer by",
		both(l.Until, t),
		"If nothing has come by then, "+lostTo(d.s, r)+" If you would rather not have it, you can say so on the page.",
		"The prize is free. Nobody will ask you for money, a card, a password or a code. How the draw was made, and how to check it:\n"+c.URL+"/g/"+r.Draw+"/fair/",
		signed(t))
	return l, nil
}

func drawnWords(r Row, winners int) string {
	words := "Your ticket " + r.Ticket.Grouped() + " was drawn"
	if r.Place > winners {
		return words + " as next in line, number " + fmt.Sprint(r.Place-winners) + ", and now it is its turn."
	}
	return words + "."
}

// lostTo says what becomes of a prize that nobody claims. Once the letter was
// sent, it goes by who was next in line then: the letter is what was sent.
func lostTo(s giveaway.Standing, r Row) string {
	for _, p := range s.Places {
		if p.Turn == nil || !r.Noticed.IsZero() && p.Turn.At.After(r.Noticed) {
			return "the prize goes to the ticket that is next in line."
		}
	}
	return "the prize is not given: nobody is next in line any more."
}

// shows says what the page has for the winner. It stays the same once the sum is
// answered: the letter is what was sent.
func shows(t giveaway.Terms, s Skill) string {
	asks := " then asks for your " + asksFor(t) + "."
	if !s.Asked {
		return "It shows your ticket and what you entered, and" + asks
	}
	return "It shows your ticket and what you entered. As the rules say of winners who live in Canada, it has a short sum to answer first, in " +
		fmt.Sprint(int(SkillTime.Minutes())) + " minutes and without help of any kind, and" + asks
}

func asksFor(t giveaway.Terms) string {
	if t.Sizes == nil {
		return "name, postal address and phone number"
	}
	return "size, name, postal address and phone number"
}

// both writes a time in the giveaway's zone and in UTC, a line each.
func both(at time.Time, t giveaway.Terms) string {
	utc := utcWords(at)
	local, err := giveaway.MomentAt(at, t.Event.Zone)
	if err != nil || t.Event.Zone == "UTC" {
		return utc
	}
	return local.Words() + "\n" + utc
}

// utcWords can't fail: UTC is known without zone data.
func utcWords(at time.Time) string {
	return giveaway.Moment{UTC: at.UTC(), Zone: "UTC"}.Words()
}

func signed(t giveaway.Terms) string {
	return strings.TrimSpace(t.Channel + "\n" + t.Host)
}

func paragraphs(p ...string) string { return strings.Join(p, "\n\n") + "\n" }
