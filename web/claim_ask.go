package web

import (
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
	One     bool   // there is one size on offer
	Preview shownAnswer
	Hidden  []pair
	Lead    []string
}

func (s *Site) askTwice() twice[claims.AskView] {
	return twice[claims.AskView]{
		site: s, look: s.cfg.Claims.Asked, send: s.cfg.Claims.AnswerAsk, path: claims.AskPath, show: s.showAsk, over: s.askOver,
		gone: func(c echo.Context, v claims.AskView) overPage { return erasedOver(c, v.Giveaway, v.Erased) },
		at:   func(v *claims.AskView) (*claims.Step, *claims.Form) { return &v.Step, &v.Form },
	}
}

// askOver is the kind page of a question that nobody waits for any more.
func (s *Site) askOver(c echo.Context, v claims.AskView) overPage {
	g := v.Giveaway
	if v.Stand.Passed != nil {
		return s.skippedPage(c, g, v.Stand)
	}
	if v.Newer {
		return overPage{
			Frame: frame(g, now(c), "Another question came"), Head: "Another question came in place of this one.", Back: homeURL(g.ID),
			Lead: []string{g.Terms.Sponsor + " has asked something newer, and the parcel waits for your answer to that. " + g.Terms.Channel + " sends you the link to it; if it has not come, write to " + hostOr(g.Terms) + "."},
		}
	}
	return overPage{
		Frame: frame(g, now(c), "Too late"), Head: "This question is settled.", Back: homeURL(g.ID),
		Lead: []string{"Nobody waits for an answer to it any more. If you have something to say about your prize, write to " + hostOr(g.Terms) + "."},
	}
}

func (s *Site) showAsk(c echo.Context, status int, v claims.AskView, no *claims.Rejected) error {
	g := v.Giveaway
	p := askPage{
		Frame: frame(g, now(c), "A question about your prize"), Terms: g.Terms, Step: v.Step, Kind: v.Ask.Kind,
		Ticket: ticketGroups(v.Stand.Ticket), Words: v.Ask.Words, Wanted: v.Wanted.String(),
		One: len(v.Ask.Offers) == 1,
	}
	p.step(v, claimFaults(&p.Frame, no))
	p.Form.Before = seenSent(c.Request().PostForm)
	return s.render(c, status, "claim_ask", p)
}

func (p *askPage) step(v claims.AskView, problems []claims.Problem) {
	switch v.Step {
	case claims.StepCheck:
		p.Head, p.Hidden = "Is this right?", hiddenOf(v.Form)
		p.None, p.Chosen = v.Preview.Declined, v.Preview.Size.String()
		if v.Ask.Kind == claims.AskAddress {
			a := claims.Answer{Name: "(your name)", CareOf: v.Preview.CareOf, Address: *v.Preview.Address, Tidy: *v.Preview.Tidy}
			p.Preview = showAnswer(a, p.Terms) // the name was not asked for, and is not shown to whoever has the link
		}
	case claims.StepDone:
		p.Head, p.Lead = "Thank you. Your answer is here.", []string{v.Shipping}
		if v.Other {
			p.Head, p.Lead = notTaken(v.Ask.Reply.At, p.Terms, v.Shipping)
		}
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
	none := "None of these would fit me."
	if len(v.Ask.Offers) == 1 {
		none = "It would not fit me."
	}
	p.Pick = st.text("size", "Sizes on offer", "", "", "")
	var list []option
	for _, size := range v.Ask.Offers {
		list = append(list, option{pickOf(size), size.String() + " – " + claims.Conversion(size, p.Terms), size.Size.String() == v.Form.Size && string(size.System) == v.Form.System && size.Width == v.Form.Width})
	}
	p.Pick.Groups = []group{{Options: append(list, option{"none", none, v.Form.Decline != ""})}}
	for _, a := range v.Advice {
		p.Advice = append(p.Advice, a.Sentence)
	}
}
