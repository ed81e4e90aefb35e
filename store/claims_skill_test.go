package store

import (
	"crypto/rand"
	"fmt"
	"path"
	"sync"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

// againLine is what the log says of another try.
func againLine(seconds int) giveaway.LogLine {
	return giveaway.LogLine{At: at(seconds), What: "another sum"}
}

// logged counts the lines of another try.
func (s *suite) logged(id string) (n int) {
	s.t.Helper()
	lines, err := s.Logged(bg(), id)
	s.must(err)
	for _, l := range lines {
		if l.What == "another sum" {
			n++
		}
	}
	return n
}

// The skill question of a claim goes its way; a server that opens the database
// anew finds each step. Each refuses what its contract says, and then nothing
// has changed.
func TestSkillSteps(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		r, other := s.claimed("trail-boots", 1, "ann@example.org"), s.claimed("trail-boots", 2, "bea@example.org")
		show := func(place, again, at1 int) error { return s.ShowSkill(bg(), "trail-boots", place, again, at(at1)) }
		answer := func(place, again int, outcome string) error {
			return s.AnswerSkill(bg(), "trail-boots", place, again, outcome, at(320))
		}
		more := func(place, again int) error {
			return s.SkillAgain(bg(), "trail-boots", place, again, againLine(330))
		}
		step := func(err error) {
			t.Helper()
			s.must(err)
			s.DB = s.server()
			s.same(r)
			s.same(other)
		}
		s.want(show(3, 0, 300), claims.ErrNoClaim)
		s.want(answer(3, 0, claims.SkillRight), claims.ErrNoClaim)
		s.want(more(3, 0), claims.ErrNoClaim)
		s.want(show(1, 1, 300), claims.ErrRace)
		s.want(answer(1, 0, claims.SkillRight), claims.ErrRace) // not shown
		s.want(more(1, 0), claims.ErrRace)
		s.same(r)

		r.Skill.Shown = at(300)
		step(show(1, 0, 300))
		s.want(show(1, 0, 301), claims.ErrRace) // the first time stands
		r.Skill.Answered, r.Skill.Outcome = at(320), claims.SkillWrong
		step(answer(1, 0, claims.SkillWrong))
		s.want(answer(1, 0, claims.SkillRight), claims.ErrRace)
		s.want(more(1, 1), claims.ErrRace)
		s.same(r)

		r.Skill = claims.SkillRow{Again: 1, Allowed: at(330)}
		step(more(1, 0))
		s.want(more(1, 0), claims.ErrRace)
		s.want(show(1, 0, 340), claims.ErrRace)
		r.Skill.Shown = at(340)
		step(show(1, 1, 340))
		r.Skill.Answered, r.Skill.Outcome = at(320), claims.SkillRight
		step(answer(1, 1, claims.SkillRight))
		s.want(more(1, 1), claims.ErrRace) // a right answer stands
		if n := s.logged("trail-boots"); n != 1 {
			t.Errorf("the log says %d times that there is another sum, want once", n)
		}

		// Time went by without an answer: another try begins as well.
		other.Skill.Shown = at(350)
		step(show(2, 0, 350))
		other.Skill = claims.SkillRow{Again: 1, Allowed: at(330)}
		step(more(2, 0))
		if err := s.AnswerSkill(bg(), "trail-boots", 2, 1, "maybe", at(1)); err == nil {
			t.Error("an outcome that is none was written")
		}
	})
}

// Each step is taken by one of fifty who take it at once on two servers.
func TestEachSkillStepHasOneWinner(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.claimed("trail-boots", 1, "ann@example.org")
		row := func() claims.SkillRow {
			t.Helper()
			got, err := s.Claim(bg(), "trail-boots", 1)
			s.must(err)
			return got.Skill
		}
		for again := range 2 {
			won := s.press("show", claims.ErrRace, func(db *DB, n int) error { return db.ShowSkill(bg(), "trail-boots", 1, again, at(300+n)) })
			if got := row(); !got.Shown.Equal(at(300 + won)) {
				t.Errorf("shown %v, want the winner's %v", got.Shown, at(300+won))
			}
			outcomes := []string{claims.SkillWrong, claims.SkillLate}
			won = s.press("answer", claims.ErrRace, func(db *DB, n int) error {
				return db.AnswerSkill(bg(), "trail-boots", 1, again, outcomes[n%2], at(400+n))
			})
			if got := row(); !got.Answered.Equal(at(400+won)) || got.Outcome != outcomes[won%2] {
				t.Errorf("answered %v, %s; want the winner's %v, %s", got.Answered, got.Outcome, at(400+won), outcomes[won%2])
			}
			won = s.press("again", claims.ErrRace, func(db *DB, n int) error { return db.SkillAgain(bg(), "trail-boots", 1, again, againLine(500+n)) })
			if got := row(); got.Again != again+1 || !got.Allowed.Equal(at(500+won)) {
				t.Errorf("try %d, given %v; want %d, %v", got.Again, got.Allowed, again+1, at(500+won))
			}
			if n := s.logged("trail-boots"); n != again+1 {
				t.Errorf("%d lines in the log, want %d", n, again+1)
			}
		}
	})
}

// canadian is a drawn giveaway whose rules put the skill question, and whose
// people all live in Canada.
func (s *suite) canadian(h giveaway.Host, id string) {
	s.t.Helper()
	terms := s.hostTerms(id)
	terms.Rules, terms.Paragraphs = "", giveaway.SkillParagraph
	terms.Region.Live = []string{"US", "CA"}
	_, err := h.Draft(bg(), at(-100), terms)
	s.must(err)
	_, err = h.Open(bg(), at(-50), id)
	s.must(err)
	for n := range 3 {
		p := person(fmt.Sprintf("robin%d@example.org", n))
		p.Entry.Live = eligibility.Place{Country: "CA", State: "ON"}
		_, err := s.AddEntry(bg(), id, at(1+n), p)
		s.must(err)
	}
	g, err := s.Giveaway(bg(), id)
	s.must(err)
	_, err = h.Lock(bg(), g.Opening.Closes, id)
	s.must(err)
	_, err = h.Draw(bg(), drawnAt, id, nil)
	s.must(err)
}

// Fifty tabs send a right and a wrong answer to the sum at once, through two
// servers: one counts, and every page that follows says the same.
func TestOneAnswerToTheSum(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		s.canadian(hosts[0], "trail-boots")
		clerk := s.clerks(hosts)
		l, err := clerk(0).Letter(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		secret := path.Base(l.Link)
		v, err := clerk(0).ShowSum(bg(), drawnAt, "trail-boots", secret)
		s.must(err)
		right := v.Skill.Sum.Result()
		seen := make([]claims.Skill, 50)
		var wg sync.WaitGroup
		for n := range seen {
			wg.Go(func() {
				v, err := clerk(n).AnswerSum(bg(), drawnAt.Add(time.Duration(n)*time.Second), "trail-boots", secret, fmt.Sprint(right+n%2))
				if err != nil {
					t.Error(err)
				}
				seen[n] = v.Skill
			})
		}
		wg.Wait()
		p, err := clerk(1).Place(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		for n, got := range seen {
			if got.Outcome == "" || got.Outcome != p.Skill.Outcome || !got.Answered.Equal(p.Skill.Answered) {
				t.Errorf("page %d says %q at %v; what stands is %q at %v", n, got.Outcome, got.Answered, p.Skill.Outcome, p.Skill.Answered)
			}
		}
	})
}

// How the skill question went is deleted with the rest: from it one could tell
// where somebody lives.
func TestEraseSkill(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.canadian(h, "trail-boots")
		c := claims.Clerk{Store: s.DB, Entries: s.DB, Host: h, Seal: s.config.Vault, Rand: rand.Reader, URL: "https://slowmiles.example"}
		for place := 1; place <= 3; place++ {
			l, err := c.Letter(bg(), drawnAt, "trail-boots", place)
			s.must(err)
			secret := path.Base(l.Link)
			_, err = c.ShowSum(bg(), drawnAt, "trail-boots", secret)
			s.must(err)
			_, err = c.AnswerSum(bg(), drawnAt, "trail-boots", secret, "0")
			s.must(err)
			s.must(c.SkillAgain(bg(), drawnAt, "trail-boots", place, 0))
			_, err = c.ShowSum(bg(), drawnAt, "trail-boots", secret)
			s.must(err)
			_, err = c.AnswerSum(bg(), drawnAt, "trail-boots", secret, "0")
			s.must(err)
			if got, err := s.Claim(bg(), "trail-boots", place); err != nil || got.Skill.Outcome != claims.SkillWrong || got.Skill.Again != 1 {
				t.Fatalf("%v: %+v", err, got.Skill)
			}
			_, err = h.Pass(bg(), drawnAt, "trail-boots", giveaway.Passing{Place: place, Reason: draw.Ineligible})
			s.must(err)
		}
		first, err := s.Claim(bg(), "trail-boots", 1)
		s.must(err)
		s.must(h.EraseTicket(bg(), drawnAt.Add(time.Hour), "trail-boots", first.Ticket))
		for place, want := range map[int]bool{1: true, 2: false} {
			if got, err := s.Claim(bg(), "trail-boots", place); err != nil || (got.Skill == claims.SkillRow{}) != want {
				t.Errorf("place %d after one ticket's deletion: %v, %+v", place, err, got.Skill)
			}
		}
		_, err = h.Erase(bg(), drawnAt.Add(time.Hour), "trail-boots")
		s.must(err)
		all, err := s.Claims(bg(), "trail-boots")
		s.must(err)
		for _, r := range all {
			if (r.Skill != claims.SkillRow{}) {
				t.Errorf("place %d still has %+v", r.Place, r.Skill)
			}
		}
		s.want(s.ShowSkill(bg(), "trail-boots", 1, 0, drawnAt), claims.ErrErased)
		s.want(s.AnswerSkill(bg(), "trail-boots", 1, 0, claims.SkillRight, drawnAt), claims.ErrErased)
		s.want(s.SkillAgain(bg(), "trail-boots", 1, 0, againLine(1)), claims.ErrErased)
		if places, err := c.Places(bg(), drawnAt, "trail-boots"); err != nil || places[0].Skill.Asked {
			t.Errorf("after the deletion: %v, %+v", err, places[0].Skill)
		}
	})
}
