package web

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// uncut is a request's context without its end: a move that has begun is not
// cut off because somebody closes their browser.
func uncut(c echo.Context) context.Context { return context.WithoutCancel(c.Request().Context()) }

// A listPage is the desk's first page.
type listPage struct {
	Frame
	Note      string // a sentence about what was just tried, or ""
	Warning   string
	Giveaways []listed
	Typed     []typedForm // what is not finished
	Offer     bool        // of the invented sample
}

type listed struct {
	ID, Title string
	Where     string // in page words
	Sample    bool
	Line      string // what is so, in a sentence
	Event     Stamp
}

func (d *desk) getDesk(c echo.Context) error {
	if !d.isIn(c) {
		return d.askWho(c, http.StatusOK, signInPage{Next: "/desk"})
	}
	return d.list(c, http.StatusOK, "")
}

func (d *desk) list(c echo.Context, status int, note string) error {
	all, err := d.cfg.Host.Store.Giveaways(c.Request().Context())
	if err != nil {
		return err
	}
	p := listPage{
		Frame: deskFrame("Your giveaways"), Note: note, Warning: d.cfg.Desk.Warning,
		Offer: len(all) == 0 && d.cfg.Desk.Sample != nil,
	}
	for _, g := range all {
		one, err := d.listed(c, g)
		if err != nil {
			return err
		}
		p.Giveaways = append(p.Giveaways, one)
	}
	if p.Typed, err = d.typedForms(c); err != nil {
		return err
	}
	return d.render(c, status, "desk_list", p)
}

func (d *desk) listed(c echo.Context, g giveaway.Giveaway) (listed, error) {
	day, err := d.day(c, g)
	return listed{
		ID: g.ID, Title: g.Terms.Title, Where: string(g.Phase(now(c))), Sample: g.Sample,
		Line: day.Head, Event: stamp("", g.Terms.Event.UTC, g.Terms.Event.Zone),
	}, err
}

// Heading says what is so.
func (p listPage) Heading() string {
	switch n := len(p.Giveaways); n {
	case 0:
		return "No giveaway here yet."
	case 1:
		return "One giveaway is here."
	default:
		return number(int64(n)) + " giveaways are here."
	}
}

func deskFrame(title string) Frame { return Frame{Title: title, Left: "Your desk", Home: "/desk"} }
