package claims_test

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// newSkillRig is a drawn giveaway in which everybody wins. Even entries live in
// Canada and have the parcel sent to a friend in the United States; odd ones
// live there and have it sent to Canada.
func newSkillRig(t *testing.T, paragraph string) *rig {
	t.Helper()
	return newRigOf(t, 12, 0, func(x *giveaway.Terms) {
		x.Region.Live, x.Region.Ship, x.Rules, x.Paragraphs = []string{"US", "DE", "CA"}, []string{"US", "CA"}, "", paragraph
	}, func(n int, f *entries.Form) {
		f.Ship, f.ShipState, f.Friend = "CA", "ON", "yes"
		if n%2 == 0 {
			f.Live, f.State, f.Ship, f.ShipState = "CA", "ON", "US", "NY"
		}
	})
}

// livesIn returns the places of those who live in a country.
func (r *rig) livesIn(country string) (places []int) {
	r.t.Helper()
	all, err := r.c.Places(context.Background(), event, boots)
	r.must(err)
	for _, p := range all {
		e, err := r.db.EntryByTicket(context.Background(), boots, p.Ticket)
		r.must(err)
		if e.Entry.Live.Country == country {
			places = append(places, p.N)
		}
	}
	if len(places) != 6 {
		r.t.Fatalf("%d places live in %s, want 6", len(places), country)
	}
	return places
}

// at reads a place.
func (r *rig) at(now time.Time, n int) claims.Place {
	r.t.Helper()
	p, err := r.c.Place(context.Background(), now, boots, n)
	r.must(err)
	return p
}

// Who lives where decides, not where the parcel goes (testdata/facts/law.md,
// C2); without the paragraph nobody is asked.
func TestWhoIsAskedTheSum(t *testing.T) {
	r := newSkillRig(t, "Be kind.\n\n"+giveaway.SkillParagraph)
	canada, states := r.livesIn("CA"), r.livesIn("US")
	for n := 1; n <= 12; n++ {
		asked := slices.Contains(canada, n)
		v, err := r.c.Claim(context.Background(), event, boots, r.link(event, n))
		if want := map[bool]claims.Step{true: claims.StepSkill, false: claims.StepForm}[asked]; err != nil || v.Step != want {
			t.Errorf("place %d: %v, step %s, want %s", n, err, v.Step, want)
		}
		l, err := r.c.Letter(context.Background(), event, boots, n)
		if says := strings.Contains(l.Text, "a short sum to answer first, in 5 minutes"); err != nil || says != asked {
			t.Errorf("place %d: %v; the letter speaks of the sum: %v, want %v", n, err, says, asked)
		}
	}
	if len(states) == 0 {
		t.Error("nobody lives in the United States")
	}
	without := newSkillRig(t, "Be kind.")
	n := without.livesIn("CA")[0]
	if v, err := without.c.Claim(context.Background(), event, boots, without.link(event, n)); err != nil || v.Step != claims.StepForm || v.Skill.Asked {
		t.Errorf("without the paragraph: %v, step %s", err, v.Step)
	}
}

// The sum is not shown before it is asked for, stays the same when the page is
// opened again and after a restart, differs between places, and the right answer
// in time leads on to the form. The times: five minutes from the press, our own
// choice.
func TestSumAnsweredRightly(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, places := context.Background(), r.livesIn("CA")
	n, s, at := places[0], r.link(event, places[0]), event.Add(hour)
	v, err := r.c.Claim(ctx, at, boots, s)
	if err != nil || v.Step != claims.StepSkill || v.Skill.Sum != (claims.Sum{}) || v.Skill.Spoken != (claims.Sum{}) {
		t.Fatalf("before: %v, %+v", err, v.Skill)
	}
	if _, err := r.c.Answer(ctx, at, boots, s, sure(goodForm())); !errors.Is(err, claims.ErrSkill) {
		t.Errorf("the form before the sum: %v", err)
	}
	if v, err := r.c.AnswerSum(ctx, at, boots, s, "96"); err != nil || !v.Skill.Answered.IsZero() {
		t.Errorf("an answer before the sum: %v, %+v", err, v.Skill)
	}
	v, err = r.c.ShowSum(ctx, at, boots, s)
	r.must(err)
	first := v.Skill.Sum
	if first == (claims.Sum{}) || !v.Skill.Until.Equal(at.Add(5*time.Minute)) {
		t.Fatalf("shown: %+v", v.Skill)
	}
	r.restart()
	v, err = r.c.ShowSum(ctx, at.Add(time.Minute), boots, s)
	if err != nil || v.Skill.Sum != first || !v.Skill.Until.Equal(at.Add(5*time.Minute)) {
		t.Errorf("shown twice: %v, %+v", err, v.Skill)
	}
	other, err := r.c.ShowSum(ctx, at, boots, r.link(event, places[1]))
	if err != nil || other.Skill.Sum == first || other.Skill.Sum == (claims.Sum{}) {
		t.Errorf("another place: %v, %s and %s", err, other.Skill.Sum, first)
	}
	var rejected *claims.Rejected
	if v, err := r.c.AnswerSum(ctx, at, boots, s, "many"); !errors.As(err, &rejected) || rejected.Fields[0].Field != "sum" || v.Skill.Outcome != "" {
		t.Errorf("no number: %v, %+v", err, v.Skill)
	}
	if _, err := r.c.Answer(ctx, at, boots, s, sure(goodForm())); !errors.Is(err, claims.ErrSkill) {
		t.Errorf("the form while the sum runs: %v", err)
	}
	last := at.Add(5*time.Minute - time.Second)
	v, err = r.c.AnswerSum(ctx, last, boots, s, " "+strconv.Itoa(first.Result())+" ")
	if err != nil || v.Step != claims.StepForm || !v.Skill.Right() || !v.Skill.Answered.Equal(last) {
		t.Fatalf("right in the last second: %v, step %s, %+v", err, v.Step, v.Skill)
	}
	if v, err = r.c.AnswerSum(ctx, last.Add(hour), boots, s, "1"); err != nil || !v.Skill.Right() {
		t.Errorf("another answer after the right one: %v, %+v", err, v.Skill)
	}
	if l, err := r.c.Letter(ctx, last, boots, n); err != nil || !strings.Contains(l.Text, "a short sum to answer first") {
		t.Errorf("the letter is not the one that was sent: %v", err)
	}
	_, err = r.c.Answer(ctx, last, boots, s, sure(goodForm()))
	r.must(err)
	_, err = r.c.Confirm(ctx, last, boots, n)
	r.must(err)
}

// Wrong, or late by a second, or never: the creator is asked to decide, the form
// stays closed, and another try has another sum and a line in the log.
func TestSumAnsweredWrongly(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, places, at := context.Background(), r.livesIn("CA"), event.Add(hour)
	over := at.Add(5 * time.Minute)
	for i, c := range []struct {
		name     string
		answered time.Time // zero: never
		off      int
		outcome  string
		at       time.Time
		line     string
	}{
		{"wrong", at.Add(time.Minute), 1, claims.SkillWrong, at.Add(time.Minute), "was wrong try once more"},
		{"right, a second late", over, 0, claims.SkillLate, over, "came too late"},
		{"never", time.Time{}, 0, claims.SkillLate, over, "came too late"},
	} {
		n, s := places[i], r.link(event, places[i])
		v, err := r.c.ShowSum(ctx, at, boots, s)
		r.must(err)
		first := v.Skill.Sum
		if err := r.c.SkillAgain(ctx, at, boots, n, 0); !errors.Is(err, claims.ErrRace) {
			t.Errorf("%s: another try while the sum runs: %v", c.name, err)
		}
		if !c.answered.IsZero() {
			if _, err = r.c.AnswerSum(ctx, c.answered, boots, s, strconv.Itoa(first.Result()+c.off)); err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
		}
		later := over.Add(hour)
		v, err = r.c.Claim(ctx, later, boots, s)
		if err != nil || v.Step != claims.StepSkill || v.Skill.Outcome != c.outcome || !v.Skill.At().Equal(c.at) || v.Skill.Sum != (claims.Sum{}) {
			t.Errorf("%s: %v, step %s, %+v", c.name, err, v.Step, v.Skill)
		}
		if _, err := r.c.Answer(ctx, later, boots, s, sure(goodForm())); !errors.Is(err, claims.ErrSkill) {
			t.Errorf("%s: the form: %v", c.name, err)
		}
		p := r.at(later, n)
		if len(p.Proposals) != 1 || p.Proposals[0].Reason != draw.Ineligible || !p.Proposals[0].Since.Equal(c.at) {
			t.Errorf("%s: proposed %+v", c.name, p.Proposals)
		}
		for range 2 { // the same press twice is one
			r.must(r.c.SkillAgain(ctx, later, boots, n, 0))
		}
		lines, err := r.db.Logged(ctx, boots)
		if err != nil || !strings.Contains(lines[0].What, c.line) || !lines[0].At.Equal(later) || strings.Contains(lines[1].What, c.line) && i == 0 {
			t.Errorf("%s: %v, log %+v", c.name, err, lines[0])
		}
		v, err = r.c.ShowSum(ctx, later, boots, s)
		if err != nil || v.Skill.Sum == first || v.Skill.Again != 1 || !v.Skill.Allowed.Equal(later) {
			t.Errorf("%s: again: %v, %+v", c.name, err, v.Skill)
		}
		v, err = r.c.AnswerSum(ctx, later, boots, s, strconv.Itoa(v.Skill.Sum.Result()))
		if err != nil || v.Step != claims.StepForm {
			t.Errorf("%s: right at last: %v, step %s", c.name, err, v.Step)
		}
	}
}

// Who would rather not have the prize needs no sum; a place can be passed as not
// eligible, and then nothing of it can be tried again.
func TestSumLeftAlone(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, places, at := context.Background(), r.livesIn("CA"), event.Add(hour)
	v, err := r.c.Answer(ctx, at, boots, r.link(event, places[0]), claims.Form{Decline: "yes", Sure: "yes"})
	if err != nil || v.Step != claims.StepDone || !v.Sent.Declined {
		t.Errorf("declined: %v, step %s", err, v.Step)
	}
	s := r.link(event, places[1])
	_, err = r.c.ShowSum(ctx, at, boots, s)
	r.must(err)
	_, err = r.c.AnswerSum(ctx, at, boots, s, "0")
	r.must(err)
	_, err = r.c.Pass(ctx, at, boots, giveaway.Passing{Place: places[1], Reason: draw.Ineligible})
	r.must(err)
	r.valid(draw.StageOutcome)
	if err := r.c.SkillAgain(ctx, at, boots, places[1], 0); !errors.Is(err, claims.ErrOver) {
		t.Errorf("another try after the pass: %v", err)
	}
	if _, err := r.c.ShowSum(ctx, at, boots, s); !errors.Is(err, claims.ErrOver) {
		t.Errorf("the sum after the pass: %v", err)
	}
	if err := r.c.SkillAgain(ctx, at, boots, r.livesIn("US")[0], 0); !errors.Is(err, claims.ErrRace) {
		t.Errorf("another try where none was asked: %v", err)
	}
}

// The page closes at the end of the answer period, so the sum does too.
func TestSumEndsWithThePeriod(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, n := context.Background(), r.livesIn("CA")[0]
	s := r.link(event, n)
	until := r.at(event, n).Notice.Until
	v, err := r.c.ShowSum(ctx, until.Add(-time.Minute), boots, s)
	if err != nil || !v.Skill.Until.Equal(until) {
		t.Errorf("%v, until %v, want %v", err, v.Skill.Until, until)
	}
	if _, err := r.c.AnswerSum(ctx, until, boots, s, strconv.Itoa(v.Skill.Sum.Result())); !errors.Is(err, claims.ErrOver) {
		t.Errorf("after the period: %v", err)
	}
}

// What came by chat or phone needs the creator's word that the question was
// answered rightly, unless the page has the right answer; nobody else's tick
// counts.
func TestSumByPhone(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, places, at := context.Background(), r.livesIn("CA"), event.Add(hour)
	ticked := goodForm()
	ticked.Skill = "yes"
	s := r.link(event, places[0])
	if _, err := r.c.Answer(ctx, at, boots, s, sure(ticked)); !errors.Is(err, claims.ErrSkill) {
		t.Errorf("the winner's own tick: %v", err)
	}
	if spoken := r.at(at, places[0]).Skill.Spoken; spoken == (claims.Sum{}) {
		t.Error("the desk has no sum to ask by phone")
	} else if v, err := r.c.ShowSum(ctx, at, boots, s); err != nil || v.Skill.Sum == spoken {
		t.Errorf("the page has the one to ask by phone: %v", err)
	}
	var rejected *claims.Rejected
	_, err := r.c.Record(ctx, at, boots, places[0], claims.ByPhone, goodForm())
	if !errors.As(err, &rejected) || len(rejected.Fields) != 1 || rejected.Fields[0].Field != "skill" {
		t.Fatalf("without the tick: %v", err)
	}
	p, err := r.c.Record(ctx, at, boots, places[0], claims.ByPhone, ticked)
	if err != nil || p.NeedsSkill() || !p.Answer.Skill {
		t.Errorf("with the tick: %v, %+v", err, p.Answer)
	}
	_, err = r.c.Confirm(ctx, at, boots, places[0])
	r.must(err)
	if _, err := r.c.Record(ctx, at, boots, places[1], claims.ByChat, claims.Form{Decline: "yes"}); err != nil {
		t.Errorf("declined by chat: %v", err)
	}
	states, f := r.livesIn("US")[0], goodForm() // no friend's name, and another country: asked about
	if _, err := r.c.Record(ctx, at, boots, states, claims.ByChat, f); errors.As(err, &rejected) {
		f.Seen = rejected.Form.Seen
	}
	if p, err := r.c.Record(ctx, at, boots, states, claims.ByChat, f); err != nil || p.Answer.Skill {
		t.Errorf("somebody in the United States: %v", err)
	}
	s = r.link(event, places[2])
	v, err := r.c.ShowSum(ctx, at, boots, s)
	r.must(err)
	_, err = r.c.AnswerSum(ctx, at, boots, s, strconv.Itoa(v.Skill.Sum.Result()))
	r.must(err)
	if p, err := r.c.Record(ctx, at, boots, places[2], claims.ByPhone, goodForm()); err != nil || p.NeedsSkill() {
		t.Errorf("after the right answer on the page: %v", err)
	}
}

// An answer that is there without the question, as a program kept it that put
// none, is not enough: the place can't be confirmed.
func TestConfirmNeedsTheSum(t *testing.T) {
	r := newSkillRig(t, giveaway.SkillParagraph)
	ctx, n, at := context.Background(), r.livesIn("CA")[0], event.Add(hour)
	r.link(event, n)
	data, err := json.Marshal(claims.Answer{Name: "Ann Quillby", By: claims.ByPhone, At: at})
	r.must(err)
	sealed, err := r.vault.Seal("evenhand/claims/answer/v1", boots+"/"+strconv.Itoa(n)+"/0", data)
	r.must(err)
	r.must(r.db.Answer(ctx, boots, n, 0, sealed, claims.ByPhone, at))
	if _, err := r.c.Confirm(ctx, at, boots, n); !errors.Is(err, claims.ErrSkill) {
		t.Errorf("confirmed without the question: %v", err)
	}
	if p := r.at(at, n); p.Confirmed != nil || !p.NeedsSkill() {
		t.Errorf("it stands %+v", p.Stand)
	}
	f := goodForm()
	f.Skill = "yes"
	_, err = r.c.Record(ctx, at, boots, n, claims.ByPhone, f)
	r.must(err)
	_, err = r.c.Confirm(ctx, at, boots, n)
	r.must(err)
}
