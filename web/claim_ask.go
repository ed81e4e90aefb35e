package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/giveaway"
)

// An askPage brings a question of the sponsor to the winner.
type askPage struct {
	Frame
	Terms   giveaway.Terms
	Step    claims.Step
	Kind    string // claims.AskSize or claims.AskAddress
	Head    string
	Ticket  [4]string
	Words   string // the sponsor's own
	Wanted  string
	Pick    field // sizes on offer
	Advice  []string
	Form    claimForm
	Summary summary
	Chosen  string // what was chosen, to be shown back
	None    bool   // none of the sizes
	Preview shownAnswer
	Hidden  []pair
	Lead    []string
}

func (s *Site) getAsk(c echo.Context) error {
	id, secret, err := s.claimFound(c)
	if err != nil {
		return err
	}
	v, err := s.cfg.Claims.Asked(c.Request().Context(), now(c), id, secret)
	return s.showAsk(c, http.StatusOK, v, err)
}

func (s *Site) postAsk(c echo.Context) error {
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
		v, err := s.cfg.Claims.Asked(ctx, now(c), id, secret)
		f.Sure, f.Decline = "", ""
		v.Form = f
		return s.showAsk(c, http.StatusOK, v, err)
	}
	v, err := s.cfg.Claims.AnswerAsk(ctx, now(c), id, secret, f)
	if err == nil && v.Step == claims.StepDone {
		return c.Redirect(http.StatusSeeOther, claims.AskPath(id, secret))
	}
	return s.showAsk(c, http.StatusOK, v, err)
}

func (s *Site) showAsk(c echo.Context, status int, v claims.AskView, err error) error {
	var no *claims.Rejected
	g := v.Giveaway
	switch {
	case errors.Is(err, claims.ErrOver):
		return s.render(c, http.StatusGone, "claim_over", overPage{
			Frame: frame(g, now(c), "Too late"), Head: "This question is settled.", Back: homeURL(g.ID),
			Lead: []string{"Nobody waits for an answer to it any more. If you have something to say about your prize, write to " + hostOr(g.Terms) + "."},
		})
	case errors.As(err, &no):
		status, v.Form = http.StatusUnprocessableEntity, no.Form
	case errors.Is(err, claims.ErrAnswered) && v.Step == claims.StepDone:
		status = http.StatusConflict
	case err != nil:
		return err
	}
	p := askPage{
		Frame: frame(g, now(c), "A question about your prize"), Terms: g.Terms, Step: v.Step, Kind: v.Ask.Kind,
		Ticket: ticketGroups(v.Stand.Ticket), Words: v.Ask.Words, Wanted: v.Wanted.String(),
	}
	var problems []claims.Problem
	if no != nil {
		problems = no.Fields
		p.Title = "To put right · " + p.Title
	}
	p.step(v, problems)
	p.Form.Before = seenSent(c.Request().PostForm)
	return s.render(c, status, "claim_ask", p)
}

func (p *askPage) step(v claims.AskView, problems []claims.Problem) {
	switch v.Step {
	case claims.StepCheck:
		p.Head, p.Hidden = "Is this right?", hiddenOf(v.Form)
		p.None, p.Chosen = v.Preview.Declined, v.Preview.Size.String()
		if v.Ask.Kind == claims.AskAddress {
			a := claims.Answer{CareOf: v.Preview.CareOf, Address: *v.Preview.Address, Tidy: *v.Preview.Tidy}
			p.Preview = showAnswer(a, p.Terms)
			p.Preview.Label = p.Preview.Label[1:] // the name was not asked for
		}
	case claims.StepDone:
		p.Head, p.Lead = "Thank you. Your answer is here.", []string{v.Shipping}
	default:
		p.form(v, claimState(problems, len(problems) > 0))
	}
}

func (p *askPage) form(v claims.AskView, st formState) {
	p.Summary = summarize(st)
	if v.Ask.Kind == claims.AskAddress {
		p.Head = p.Terms.Sponsor + " has a question about your address."
		p.Form = claimFormOf(p.Terms, v.Form, st).addressAlone()
		return
	}
	p.Head = "Your size can’t be had. Would another one suit?"
	p.Pick = st.text("size", "Sizes on offer", "", "", "")
	var list []option
	for _, size := range v.Ask.Offers {
		list = append(list, option{pickOf(size), size.String() + " – " + claims.Conversion(size, p.Terms), size.Size.String() == v.Form.Size && string(size.System) == v.Form.System && size.Width == v.Form.Width})
	}
	p.Pick.Groups = []group{{Options: append(list, option{"none", "None of these would fit me.", v.Form.Decline != ""})}}
	for _, a := range v.Advice {
		p.Advice = append(p.Advice, a.Sentence)
	}
}
