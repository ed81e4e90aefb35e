package web

import (
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/giveaway"
)

// A skillShown says how the skill question of a place stands.
type skillShown struct {
	Stand   Stamp  // what is so, and since when
	Words   string // what the winner's page does, before the sum was shown
	Allowed Stamp  // when another try was given; zero: none was
	Again   bool   // another try can be given
	Tried   int
}

// skillOf is nil where the rules put none, or the winner would rather not have
// the prize.
func skillOf(p claims.Place, t giveaway.Terms, at time.Time) *skillShown {
	s, zone := p.Skill, t.Event.Zone
	if !s.Asked || p.Answer != nil && p.Answer.Declined {
		return nil
	}
	shown := &skillShown{Tried: s.Again}
	if s.Again > 0 {
		shown.Allowed = stamp("You let the winner try once more on", s.Allowed, zone)
	}
	switch {
	case s.Right():
		shown.Stand = stamp("The skill question was answered right, on", s.Answered, zone)
	case p.Answer != nil && p.Answer.Skill:
		shown.Stand = stamp("The skill question was answered right, as you wrote down on", p.Answer.At, zone)
	case s.Outcome == claims.SkillWrong:
		shown.Stand = stamp("The skill question was answered wrong, on", s.Answered, zone)
	case s.Failed() && !s.Answered.IsZero():
		shown.Stand = stamp("The skill question was answered too late, on", s.Answered, zone)
	case s.Failed():
		shown.Stand = stamp("No answer came to the skill question. The time for it ended on", s.Until, zone)
	case !s.Shown.IsZero():
		shown.Stand = stamp("The winner has the sum before them. There is time for it until", s.Until, zone)
	default:
		shown.Words = "This winner lives in Canada, and your rules put a skill question to them. Their page has a short sum to answer first: " + skillMinutes + ", without help. The letter says so."
	}
	shown.Again = p.Open() && p.Answer == nil && s.Failed() && !timeOver(p, at)
	return shown
}

// timeOver reports whether the winner's page has closed.
func timeOver(p claims.Place, at time.Time) bool {
	return p.Notice != nil && !at.Before(p.Notice.Until)
}

// saySkill says what to do where the skill question stands in the way; false
// where it doesn't.
func (w *winnerPage) saySkill(p claims.Place, at time.Time) bool {
	const skip = "skip this place because the rules don’t allow it. The next in line, if there is one, has its turn then."
	switch {
	case p.Answer != nil && !p.Answer.Declined && p.NeedsSkill():
		w.Head, w.Lead = "The skill question is still open.", "There is an answer, but your rules put a skill question to a winner who lives in Canada. Ask it, and write down that the answer was right."
		w.Next = step{"Write it down", w.Path + "/answer"}
		return true
	case p.Answer != nil || !p.Skill.Failed():
		return false
	case p.Skill.Outcome == claims.SkillWrong:
		w.Head = "The skill question was answered wrong."
	case p.Skill.Answered.IsZero():
		w.Head = "No answer came to the skill question."
	default:
		w.Head = "The skill question was answered too late."
	}
	w.Lead, w.Press = "Let the winner try once more, with another sum, or "+skip, "again"
	if timeOver(p, at) {
		w.Lead, w.Press = "The time to answer the letter is over too. If you heard from the winner another way, write it down. If not, "+skip, "skip"
	}
	return true
}

// skillWords say in a few words how it was settled.
func skillWords(s claims.Skill) string {
	switch s.Outcome {
	case claims.SkillRight:
		return "the skill question was answered right"
	case claims.SkillWrong:
		return "the skill question was answered wrong"
	}
	return "the skill question was not answered in time"
}

// postSumAgain lets the winner try once more.
func (d *desk) postSumAgain(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	tried, err := strconv.Atoi(c.FormValue("tried"))
	if err != nil {
		return errMalformed
	}
	if err := d.cfg.Claims.SkillAgain(uncut(c), now(c), g.ID, p.N, tried); err != nil {
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

// A spokenSkill is the skill question as the creator puts it by chat or phone.
type spokenSkill struct {
	Words       string
	Sum, Result string // to read out, and what comes out; "" where there is none
	Tick        field
}

// spokenOf is nil where none has to be put.
func spokenOf(p claims.Place, f claims.Form, st formState) *spokenSkill {
	if !p.Skill.Asked || p.Skill.Right() {
		return nil
	}
	s := &spokenSkill{
		Words: "This winner lives in Canada, so your rules want a right answer to a skill question first, in a limited time and without help.",
		Tick:  st.tick("skill", "The skill question was answered rightly.", "", f.Skill),
	}
	s.Tick.Needed = true
	if sum := p.Skill.Spoken; sum != (claims.Sum{}) {
		s.Words += " Read out this sum and give " + skillMinutes + ":"
		s.Sum, s.Result = sum.String(), strconv.Itoa(sum.Result())
	}
	return s
}
