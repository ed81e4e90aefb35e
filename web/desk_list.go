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
	Turn      *nextLook   // the first of all of them
}

type listed struct {
	ID, Title string
	Where     string // in page words
	Sample    bool
	Draft     bool
	Line      string // what is so, in a sentence
	Event     Stamp
	Due       *dueThing // what it waits for, or nil
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
		if t := turnOf(g, now(c)); t != nil && (p.Turn == nil || t.At < p.Turn.At) {
			p.Turn = t
		}
	}
	urgentFirst(p.Giveaways)
	if p.Typed, err = d.typedForms(c); err != nil {
		return err
	}
	return d.render(c, status, "desk_list", p)
}

func (d *desk) listed(c echo.Context, g giveaway.Giveaway) (listed, error) {
	day, err := d.day(c, g)
	if err != nil {
		return listed{}, err
	}
	err = d.overdue(c, &day)
	line := day.Head
	if day.G.State == giveaway.StateDrawn && day.Turned {
		line = day.Lead
	}
	return listed{
		ID: g.ID, Title: g.Terms.Title, Where: capitalized(string(g.Phase(now(c)))), Sample: g.Sample,
		Draft: g.State == giveaway.StateDraft, Line: line, Event: stamp("", g.Terms.Event.UTC, g.Terms.Event.Zone),
		Due: dueOf(day, now(c)),
	}, err
}

// Heading says what is so.
func (p listPage) Heading() string {
	switch all, typed := len(p.Giveaways), len(p.Typed); {
	case all == 0 && typed == 0:
		return "No giveaway here yet."
	case all == 0 && typed == 1:
		return "One giveaway is begun, and not finished."
	case all == 0:
		return number(int64(typed)) + " giveaways are begun, and not finished."
	case all == 1 && p.waiting() == all:
		return "One giveaway is here, not posted yet."
	case all == 1:
		return "One giveaway is here."
	case p.waiting() == all:
		return number(int64(all)) + " giveaways are here, none posted yet."
	default:
		return number(int64(all)) + " giveaways are here."
	}
}

// waiting counts the drafts.
func (p listPage) waiting() (n int) {
	for _, g := range p.Giveaways {
		if g.Draft {
			n++
		}
	}
	return n
}

// Next is the one filled button: what is due. While nothing is posted, it goes
// on with what is begun: a form first, since a draft is further.
func (p listPage) Next() step {
	switch due := p.Due(); {
	case due != nil:
		return due.Step
	case p.waiting() < len(p.Giveaways):
		return step{"Write a new giveaway", "/desk/new"}
	case len(p.Typed) > 0:
		return step{"Go on with “" + p.Typed[0].Title + "”", p.Typed[0].Path}
	case len(p.Giveaways) > 0:
		return step{"Go on with “" + p.Giveaways[0].Title + "”", "/desk/g/" + p.Giveaways[0].ID}
	}
	return step{"Write a giveaway", "/desk/new"}
}

// Other is where a new one is written, if that is not the filled button.
func (p listPage) Other() string {
	if p.Next().Path == "/desk/new" {
		return ""
	}
	return "/desk/new"
}

func deskFrame(title string) Frame { return Frame{Title: title, Left: "Your desk", Home: "/desk"} }
