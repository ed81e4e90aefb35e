package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/giveaway"
)

// A twice is a private page whose form is shown back before it counts: the
// claim and the answer to a question. V is what the page shows.
type twice[V any] struct {
	site *Site
	look func(ctx context.Context, now time.Time, id, secret string) (V, error)
	send func(ctx context.Context, now time.Time, id, secret string, f claims.Form) (V, error)
	at   func(*V) (*claims.Step, *claims.Form)
	path func(id, secret string) string
	show func(c echo.Context, status int, v V, no *claims.Rejected) error
	over func(c echo.Context, v V) overPage
	gone func(c echo.Context, v V) overPage // the personal data was deleted
}

// get shows the page. It changes nothing.
func (p twice[V]) get(c echo.Context) error {
	id, secret, err := p.site.claimFound(c)
	if err != nil {
		return err
	}
	v, err := p.look(c.Request().Context(), now(c), id, secret)
	return p.answer(c, v, err)
}

// post takes the form: first it is shown back, sent once more it is final.
func (p twice[V]) post(c echo.Context) error {
	id, secret, err := p.site.claimFound(c)
	if err != nil {
		return err
	}
	f, back, err := decodeClaim(c.Request())
	if err != nil {
		return err
	}
	if back {
		v, err := p.look(c.Request().Context(), now(c), id, secret)
		if step, form := p.at(&v); *step == claims.StepForm {
			f.Sure, f.Decline = "", ""
			*form = f
		}
		return p.answer(c, v, err)
	}
	v, err := p.send(uncut(c), now(c), id, secret, f)
	if step, _ := p.at(&v); err == nil && *step == claims.StepDone {
		return c.Redirect(http.StatusSeeOther, p.path(id, secret))
	}
	return p.answer(c, v, err)
}

// answer shows what came of it: the page, or a kind one where its time is over.
func (p twice[V]) answer(c echo.Context, v V, err error) error {
	status := http.StatusOK
	step, form := p.at(&v)
	var no *claims.Rejected
	switch {
	case errors.Is(err, claims.ErrOver):
		return p.site.render(c, http.StatusGone, "claim_over", p.over(c, v))
	case errors.Is(err, claims.ErrErased):
		return p.site.render(c, http.StatusGone, "claim_over", p.gone(c, v))
	case errors.As(err, &no):
		status, *form = http.StatusUnprocessableEntity, no.Form
	case errors.Is(err, claims.ErrAnswered) && *step == claims.StepDone:
		status = http.StatusConflict
	case errors.Is(err, claims.ErrSkill):
		status = http.StatusConflict // the page puts the question
	case err != nil:
		return err
	}
	return p.show(c, status, v, no)
}

// claimFound makes the giveaway of the address the page's frame. A link of a
// giveaway that is none is a link that opens nothing, and so is one of a draw
// whose result is held back.
func (s *Site) claimFound(c echo.Context) (id, secret string, err error) {
	g, err := s.giveaway(c)
	if errors.Is(err, giveaway.ErrNotFound) || err == nil && g.State != giveaway.StateDrawn {
		err = claims.ErrNoSuchLink
	}
	return g.ID, c.Param("secret"), err
}

// claimFaults are the fields to put right; the page's title says so.
func claimFaults(f *Frame, no *claims.Rejected) []claims.Problem {
	if no == nil {
		return nil
	}
	f.Title = "To put right · " + f.Title
	return no.Fields
}

// An overPage is the kind page of a link whose time is over.
type overPage struct {
	Frame
	Head string
	Lead []string
	At   Stamp
	Back string
}

func hostOr(t giveaway.Terms) string {
	if t.Host != "" {
		return t.Host
	}
	return t.Channel
}
