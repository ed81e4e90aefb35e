package claims

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/giveaway"
)

// SkillTime is how long there is for the sum. Its length is our own choice;
// that it is short is common practice, no source (testdata/facts/law.md, C2).
const SkillTime = 5 * time.Minute

// What came of the skill question, as it is stored.
const (
	SkillRight = "right"
	SkillWrong = "wrong"
	SkillLate  = "late"
)

// A Skill is the skill question of a place: what the rules promise of winners
// who live in Canada ([giveaway.Terms.AsksSkill]). The zero value: none is put.
type Skill struct {
	Asked    bool      // the rules put it to this place's winner
	Again    int       // how many more tries the creator gave
	Allowed  time.Time // the last of those; zero: none
	Sum      Sum       // zero unless it is to be answered now
	Shown    time.Time // zero: the winner has not asked for the sum yet
	Until    time.Time // the first moment at which an answer is late; zero before Shown
	Answered time.Time // zero: no answer came
	Outcome  string    // "" until it is settled; SkillLate also where the time went by without an answer
	Spoken   Sum       // another one, for the creator to ask by phone; on the desk alone
}

// Right reports whether the winner's page has the right answer.
func (s Skill) Right() bool { return s.Outcome == SkillRight }

// Failed reports whether the answer was wrong or late.
func (s Skill) Failed() bool { return s.Outcome == SkillWrong || s.Outcome == SkillLate }

// At is when it was settled; the zero time before.
func (s Skill) At() time.Time {
	if s.Answered.IsZero() && s.Outcome != "" {
		return s.Until
	}
	return s.Answered
}

// NeedsSkill reports whether the skill question still stands between a place
// and its prize: it was answered rightly neither on the page nor, as the
// creator wrote down, by chat or phone.
func (p Place) NeedsSkill() bool {
	return p.Skill.Asked && !p.Skill.Right() && (p.Answer == nil || !p.Answer.Skill)
}

// skill says how the skill question of a place stands.
func (c Clerk) skill(ctx context.Context, now time.Time, g giveaway.Giveaway, stand giveaway.Stand, r Row) (Skill, error) {
	if stand.Turn == nil || !g.Terms.PromisesSkill() {
		return Skill{}, nil
	}
	entry, err := c.Entries.EntryByTicket(ctx, g.ID, stand.Ticket)
	if err != nil || !g.Terms.AsksSkill(entry.Entry.Live) {
		return Skill{}, err
	}
	s := Skill{Asked: true, Again: r.Skill.Again, Allowed: r.Skill.Allowed, Shown: r.Skill.Shown, Answered: r.Skill.Answered, Outcome: r.Skill.Outcome}
	if r.SealedLink != nil {
		s.Spoken = r.sum(-1)
	}
	if s.Shown.IsZero() {
		return s, nil
	}
	s.Until = s.Shown.Add(SkillTime)
	if !r.Until.IsZero() && r.Until.Before(s.Until) {
		s.Until = r.Until // the page closes then
	}
	switch {
	case s.Outcome != "":
	case now.Before(s.Until):
		s.Sum = r.sum(s.Again)
	default:
		s.Outcome = SkillLate
	}
	return s, nil
}

// sum is the sum of a try, the same as long as the link is the same. It comes
// from the link as it is sealed, which nobody who has the link can know.
func (r Row) sum(try int) Sum {
	return sumFrom(where(r.Draw, r.Place, try) + "\n" + string(r.SealedLink))
}

// ShowSum shows the winner the sum, and the time for it runs from then. Twice
// is once. Where none is asked for now, nothing changes. Errors as of Claim.
func (c Clerk) ShowSum(ctx context.Context, now time.Time, id, secret string) (View, error) {
	v, row, err := c.claim(ctx, now, id, secret)
	if err != nil || v.Step != StepSkill || !v.Skill.Shown.IsZero() {
		return v, err
	}
	err = c.Store.ShowSkill(ctx, id, row.Place, v.Skill.Again, now.UTC().Truncate(time.Second))
	if err != nil && !errors.Is(err, ErrRace) {
		return v, fmt.Errorf("show the sum: %w", err)
	}
	return c.Claim(ctx, now, id, secret)
}

// AnswerSum takes the winner's answer to the sum. The first one counts; where
// none is waited for, nothing changes. Errors: [Rejected] for what is no number,
// which is no answer; as of Claim.
func (c Clerk) AnswerSum(ctx context.Context, now time.Time, id, secret, typed string) (View, error) {
	v, row, err := c.claim(ctx, now, id, secret)
	if err != nil || v.Step != StepSkill || v.Skill.Shown.IsZero() || !v.Skill.Answered.IsZero() {
		return v, err
	}
	outcome := SkillLate
	if v.Skill.Outcome == "" {
		n, ok := readSum(typed)
		switch {
		case !ok:
			return v, &Rejected{Fields: []Problem{{Field: "sum", Text: "Please write the result in digits."}}}
		case n == v.Skill.Sum.Result():
			outcome = SkillRight
		default:
			outcome = SkillWrong
		}
	}
	err = c.Store.AnswerSkill(ctx, id, row.Place, v.Skill.Again, outcome, now.UTC().Truncate(time.Second))
	if err != nil && !errors.Is(err, ErrRace) {
		return v, fmt.Errorf("answer the sum: %w", err)
	}
	return c.Claim(ctx, now, id, secret)
}

// SkillAgain lets a winner whose answer was wrong or late try once more, with
// another sum, and keeps that in the log. Tried is the [Skill].Again that the
// creator saw: the same press twice is one. Errors: [giveaway.ErrNoTurn];
// [ErrOver] for a place that was passed; [ErrRace] if nothing failed.
func (c Clerk) SkillAgain(ctx context.Context, now time.Time, id string, place, tried int) error {
	p, err := c.Place(ctx, now, id, place)
	switch {
	case err != nil:
	case p.Turn == nil:
		err = giveaway.ErrNoTurn
	case p.Passed != nil:
		err = ErrOver
	case p.Skill.Again > tried:
		return nil
	case p.Answer != nil || p.Confirmed != nil || !p.Skill.Failed():
		err = ErrRace
	default:
		line := giveaway.LogLine{At: now.UTC().Truncate(time.Second), What: againWords[p.Skill.Outcome]}
		err = c.Store.SkillAgain(ctx, id, place, p.Skill.Again, line)
	}
	if err != nil {
		return fmt.Errorf("let the winner try the sum again: %w", err)
	}
	return nil
}

// againWords name no place: the log stays when personal data is deleted, and
// where somebody lives can be told from a skill question.
var againWords = map[string]string{
	SkillWrong: "You let a winner whose answer to the skill question was wrong try once more, with another sum.",
	SkillLate:  "You let a winner whose answer to the skill question came too late, or never, try once more, with another sum.",
}
