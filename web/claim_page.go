package web

import (
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/giveaway"
)

// claimRoutes are the winner's pages and the sponsor's. They are private:
// stored nowhere, found by no search, named to no other page.
func (s *Site) claimRoutes(e *echo.Echo) {
	if s.cfg.Claims == nil {
		return
	}
	read := []echo.MiddlewareFunc{keepPrivate, limited(s.private)}
	change := []echo.MiddlewareFunc{keepPrivate, limited(s.posts), body(maxEntry, typeForm)}
	claim, ask := s.claimTwice(), s.askTwice()
	e.GET("/g/:id/c/:secret", claim.get, read...)
	e.POST("/g/:id/c/:secret", s.postClaim(claim), change...)
	e.GET("/g/:id/a/:secret", ask.get, read...)
	e.POST("/g/:id/a/:secret", ask.post, change...)
	e.GET("/s/:secret", s.getSponsor, read...)
	e.POST("/s/:secret/:place", s.postMark, change...)
}

// A claimPage is the winner's page.
type claimPage struct {
	Frame
	Terms   giveaway.Terms
	Prize   string // within a sentence
	Step    claims.Step
	Skill   skillPart
	SumDone bool // the sum was answered rightly
	Head    string
	Ticket  [4]string
	Rows    []pair // what was entered
	Fits    bool
	Print   string // the entry's fingerprint on the list
	Entry   string // the entry's own text
	Fair    string
	Until   Stamp
	Summary summary
	Form    claimForm
	Preview shownAnswer
	Decline bool
	Hidden  []pair
	Sent    *claims.Sent
	Lead    []string
}

func (s *Site) claimTwice() twice[claims.View] {
	return twice[claims.View]{
		site: s, look: s.cfg.Claims.Claim, send: s.cfg.Claims.Answer, path: claims.ClaimPath, show: s.showClaim, over: s.claimOver,
		gone: func(c echo.Context, v claims.View) overPage { return erasedOver(c, v.Giveaway, v.Erased) },
		at:   func(v *claims.View) (*claims.Step, *claims.Form) { return &v.Step, &v.Form },
	}
}

func (s *Site) showClaim(c echo.Context, status int, v claims.View, no *claims.Rejected) error {
	g := v.Giveaway
	p := claimPage{
		Frame: frame(g, now(c), "Your prize"), Terms: g.Terms, Prize: g.Terms.PrizeWithin(), Step: v.Step, Ticket: ticketGroups(v.Stand.Ticket),
		Rows: enteredRows(g, v.Entry.Entry), Fits: v.Fits, Print: v.InList.String(), Entry: string(v.EntryText), Fair: fairURL(g.ID),
	}
	if v.Notice != nil {
		p.Until = stamp("", v.Notice.Until, g.Terms.Event.Zone)
	}
	problems := claimFaults(&p.Frame, no)
	if v.Step == claims.StepSkill {
		p.skill(v, c.Request().PostForm.Get("sum"), problems)
	} else {
		p.step(v, problems)
	}
	p.Form.Before = seenSent(c.Request().PostForm)
	return s.render(c, status, "claim", p)
}

// step fills in what belongs to the step alone.
func (p *claimPage) step(v claims.View, problems []claims.Problem) {
	t := p.Terms
	switch v.Step {
	case claims.StepCheck:
		p.Head, p.Hidden, p.Decline = "Is all of this right?", hiddenOf(v.Form), v.Preview.Declined
		if p.Decline {
			p.Head = "You would rather not have the prize?"
			return
		}
		p.Preview = showAnswer(*v.Preview, t)
	case claims.StepDone:
		p.Head, p.Sent, p.Lead = "Thank you. Your answer is here.", v.Sent, sentWords(v, t)
		switch {
		case v.Other:
			p.Head, p.Lead = notTaken(v.Sent.At, t, v.Shipping)
		case v.Sent.Declined:
			p.Head = "Thank you for saying so."
		case v.Parcel == claims.MarkShipped:
			p.Head = "Your prize is on its way."
		case v.Parcel == claims.MarkDelivered:
			p.Head = "Your prize was delivered."
		case v.Stand.Confirmed != nil:
			p.Head = "Thank you. The prize is yours."
		}
	default:
		p.Head, p.SumDone = "Your ticket was drawn.", v.Skill.Right()
		st := claimState(problems, len(problems) > 0)
		p.Summary, p.Form = summarize(st), claimFormOf(t, v.Form, st)
		for _, a := range v.Advice {
			p.Form.Advice = append(p.Form.Advice, a.Sentence)
		}
		if t.Sizes != nil && t.Sizes.Run.Has(v.About) {
			p.Form.Advice = append(p.Form.Advice, capitalized(v.About.String())+" is "+claims.Conversion(v.About, t)+".")
		}
		for _, n := range v.Nearest {
			p.Form.Advice = append(p.Form.Advice, capitalized(n.String())+" is near to "+v.About.String()+": "+claims.Conversion(n, t)+".")
		}
	}
}

// notTaken says that a second answer was not taken: the first one stands.
func notTaken(first time.Time, t giveaway.Terms, standing string) (string, []string) {
	words := "An answer came before, on " + stamp("", first, t.Event.Zone).Words + ", and that one counts. Nothing that you sent now is kept. To change something, write to " + hostOr(t) + "."
	return "This second answer was not taken.", []string{words, standing}
}

// sentWords say what stands of an answer, and bear no address.
func sentWords(v claims.View, t giveaway.Terms) []string {
	if v.Sent.Declined {
		return []string{"You said that you would rather not have the prize. It goes to the ticket that is next in line."}
	}
	words := []string{"It can’t be changed here any more, and this page doesn’t show your address again. If something in it is wrong, write to " + hostOr(t) + "."}
	if v.Stand.Confirmed == nil {
		return append(words, t.Channel+" looks at it next and then tells "+t.Sponsor+" where to send the prize.")
	}
	if v.Shipping != "" {
		words = append([]string{v.Shipping}, words...)
	}
	return words
}

// claimOver is the kind page of a claim that came too late.
func (s *Site) claimOver(c echo.Context, v claims.View) overPage {
	g := v.Giveaway
	if v.Stand.Passed != nil {
		return s.skippedPage(c, g, v.Stand)
	}
	p := overPage{Frame: frame(g, now(c), "Too late"), Head: "The time to answer is over.", Back: homeURL(g.ID)}
	if v.Notice != nil {
		p.At = stamp("It ended on", v.Notice.Until, g.Terms.Event.Zone)
	}
	p.Lead = []string{"Nobody else has been chosen yet. If you still want the prize, write to " + hostOr(g.Terms) + " at once: your answer can be taken by hand until then."}
	return p
}
