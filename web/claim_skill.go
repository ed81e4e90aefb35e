package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/entries"
)

// A skillPart is the part of the claim page that puts the skill question.
type skillPart struct {
	Words []string
	Show  bool   // the button that shows the sum
	Sum   string // to be answered now; "" for none
	Until Stamp
	Field field
}

// skillMinutes is the time for the sum in words.
var skillMinutes = strconv.Itoa(int(claims.SkillTime.Minutes())) + " minutes"

// postClaim takes what the claim page sends: the press that shows the sum, its
// answer, or the claim itself.
func (s *Site) postClaim(claim twice[claims.View]) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := c.Request().ParseForm(); err != nil {
			return unreadable(err)
		}
		form := c.Request().PostForm
		if !form.Has("sum") && !form.Has("show_sum") {
			return claim.post(c)
		}
		id, secret, err := s.claimFound(c)
		if err != nil {
			return err
		}
		send := s.cfg.Claims.ShowSum
		if form.Has("sum") {
			send = func(ctx context.Context, at time.Time, id, secret string) (claims.View, error) {
				return s.cfg.Claims.AnswerSum(ctx, at, id, secret, form.Get("sum"))
			}
		}
		v, err := send(uncut(c), now(c), id, secret)
		if err == nil {
			return c.Redirect(http.StatusSeeOther, claims.ClaimPath(id, secret))
		}
		return claim.answer(c, v, err)
	}
}

// skill says how the skill question stands, to the winner.
func (p *claimPage) skill(v claims.View, typed string, problems []claims.Problem) {
	t, s := p.Terms, v.Skill
	decides := t.Channel + " is told, and decides what comes next: that you try once more, with another sum, or that the prize goes to the ticket that is next in line. This page then says so. If something went wrong on your side, write to " + hostOr(t) + "."
	switch {
	case s.Outcome == claims.SkillWrong:
		p.Head, p.Skill.Words = "That was not the right answer.", []string{"It came on " + stamp("", s.Answered, t.Event.Zone).Words + ".", decides}
	case s.Failed():
		p.Head, p.Skill.Words = "The time for the sum is over.", []string{"It ended on " + stamp("", s.Until, t.Event.Zone).Words + ".", decides}
	case !s.Shown.IsZero():
		st := formState{Sent: len(problems) > 0, Verdict: entries.Verdict{Fields: problems}}
		p.Head, p.Summary = "Work out this sum.", summarize(st)
		p.Skill.Sum, p.Skill.Until = s.Sum.String(), stamp("", s.Until, t.Event.Zone)
		p.Skill.Field = st.text("sum", p.Skill.Sum+" =", "A whole number, in digits. The first number that you send counts.", typed, "off")
		p.Skill.Field.Needed = true
	default:
		p.Head, p.Skill.Show = "Your ticket was drawn.", true
		p.Skill.Words = []string{
			"The rules put a skill question to a winner who lives in Canada, and you entered as living there. It is a sum, without a calculator and without help of any kind. Once its answer is right, this page asks where the prize should go.",
			"There are " + skillMinutes + " for it, from the moment at which it is shown; that length is this site’s own choice. Have paper and a pen ready.",
		}
		if s.Again > 0 {
			p.Skill.Words = append([]string{t.Channel + " lets you try once more, with another sum."}, p.Skill.Words...)
		}
	}
}
