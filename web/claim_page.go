package web

import (
	"errors"
	"net/http"

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
	e.GET("/g/:id/c/:secret", s.getClaim, read...)
	e.POST("/g/:id/c/:secret", s.postClaim, change...)
	e.GET("/g/:id/a/:secret", s.getAsk, read...)
	e.POST("/g/:id/a/:secret", s.postAsk, change...)
	e.GET("/s/:secret", s.getSponsor, read...)
	e.POST("/s/:secret/:place", s.postMark, change...)
}

// A claimPage is the winner's page.
type claimPage struct {
	Frame
	Terms   giveaway.Terms
	Prize   string // within a sentence
	Step    claims.Step
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

// claimFound makes the giveaway of the address the page's frame. A link of a
// giveaway that is none is a link that opens nothing.
func (s *Site) claimFound(c echo.Context) (id, secret string, err error) {
	g, err := s.giveaway(c)
	if errors.Is(err, giveaway.ErrNotFound) {
		err = claims.ErrNoSuchLink
	}
	return g.ID, c.Param("secret"), err
}

func (s *Site) getClaim(c echo.Context) error {
	id, secret, err := s.claimFound(c)
	if err != nil {
		return err
	}
	v, err := s.cfg.Claims.Claim(c.Request().Context(), now(c), id, secret)
	return s.showClaim(c, http.StatusOK, v, err)
}

// postClaim takes the form: first it is shown back, sent once more it is
// final.
func (s *Site) postClaim(c echo.Context) error {
	id, secret, err := s.claimFound(c)
	if err != nil {
		return err
	}
	f, back, err := decodeClaim(c.Request())
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	if back {
		v, err := s.cfg.Claims.Claim(ctx, now(c), id, secret)
		if v.Step == claims.StepForm {
			f.Sure, f.Decline = "", ""
			v.Form = f
		}
		return s.showClaim(c, http.StatusOK, v, err)
	}
	v, err := s.cfg.Claims.Answer(ctx, now(c), id, secret, f)
	if err == nil && v.Step == claims.StepDone {
		return c.Redirect(http.StatusSeeOther, claims.ClaimPath(id, secret))
	}
	return s.showClaim(c, http.StatusOK, v, err)
}

// showClaim shows a step of the claim, or a kind page where its time is over.
func (s *Site) showClaim(c echo.Context, status int, v claims.View, err error) error {
	var no *claims.Rejected
	switch {
	case errors.Is(err, claims.ErrOver):
		return s.render(c, http.StatusGone, "claim_over", overOf(v, c))
	case errors.As(err, &no):
		status = http.StatusUnprocessableEntity
		v.Form = no.Form
	case errors.Is(err, claims.ErrAnswered) && v.Step == claims.StepDone:
		status = http.StatusConflict
	case err != nil:
		return err
	}
	g := v.Giveaway
	p := claimPage{
		Frame: frame(g, now(c), "Your prize"), Terms: g.Terms, Prize: g.Terms.PrizeWithin(), Step: v.Step, Ticket: ticketGroups(v.Stand.Ticket),
		Rows: enteredRows(g, v.Entry.Entry), Fits: v.Fits, Print: v.InList.String(), Entry: string(v.EntryText), Fair: fairURL(g.ID),
	}
	if v.Notice != nil {
		p.Until = stamp("", v.Notice.Until, g.Terms.Event.Zone)
	}
	var problems []claims.Problem
	if no != nil {
		problems = no.Fields
		p.Title = "To put right · " + p.Title
	}
	p.step(v, problems)
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
		if v.Sent.Declined {
			p.Head = "Thank you for saying so."
		}
	default:
		p.Head = "Your ticket was drawn."
		st := claimState(problems, len(problems) > 0)
		p.Summary, p.Form = summarize(st), claimFormOf(t, v.Form, st)
		for _, a := range v.Advice {
			p.Form.Advice = append(p.Form.Advice, a.Sentence)
		}
		if t.Sizes != nil && t.Sizes.Run.Has(v.Entry.Entry.Size) {
			p.Form.Advice = append(p.Form.Advice, v.Entry.Entry.Size.String()+" is "+claims.Conversion(v.Entry.Entry.Size, t)+".")
		}
		for _, n := range v.Nearest {
			p.Form.Advice = append(p.Form.Advice, n.String()+" is near to what you entered: "+claims.Conversion(n, t)+".")
		}
	}
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

func hostOr(t giveaway.Terms) string {
	if t.Host != "" {
		return t.Host
	}
	return t.Channel
}

// An overPage is the kind page of a link whose time is over.
type overPage struct {
	Frame
	Head string
	Lead []string
	At   Stamp
	Back string
}

func overOf(v claims.View, c echo.Context) overPage {
	g := v.Giveaway
	p := overPage{Frame: frame(g, now(c), "Too late"), Head: "The time to answer is over.", Back: homeURL(g.ID)}
	if passed := v.Stand.Passed; passed != nil {
		p.Head, p.At = "This prize is not yours any more.", stamp("This place was skipped on", passed.At, g.Terms.Event.Zone)
		p.Lead = []string{"The reason: " + wordOr(passWords, passed.Reason) + ".",
			"We are sorry. Nothing that you send now can bring the prize back; if you think that this is a mistake, write to " + hostOr(g.Terms) + "."}
		return p
	}
	if v.Notice != nil {
		p.At = stamp("It ended on", v.Notice.Until, g.Terms.Event.Zone)
	}
	p.Lead = []string{"Nobody else has been chosen yet. If you still want the prize, write to " + hostOr(g.Terms) + " at once: your answer can be taken by hand until then."}
	return p
}
