package web

import (
	"errors"
	"html/template"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A postPage shows what will bind, before the one button that posts it.
type postPage struct {
	Frame
	G       giveaway.Giveaway
	Know    []string      // what will have to be known about the draw
	Problem string        // what went wrong with the last press, or ""
	Reach   *reachWarning // of the address that would be posted
	Unread  int           // cautions that were not read; the button is not there while there are any
	Chosen  []fact        // what only this creator chose
	Terms   []fact        // all that is posted
	Rules   template.HTML
	Seen    string // the draft that is shown; see [seen]
}

func (d *desk) getPost(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDraft {
		return toDay(c, g)
	}
	return d.showPost(c, http.StatusOK, g, "")
}

// showPost shows the page; a conflict while something to look at is unread.
func (d *desk) showPost(c echo.Context, status int, g giveaway.Giveaway, problem string) error {
	unread, err := d.unread(c, g)
	if err != nil {
		return err
	}
	all, err := d.cfg.Host.Store.Giveaways(c.Request().Context())
	if err != nil {
		return err
	}
	if unread > 0 {
		status = http.StatusConflict
	}
	return d.render(c, status, "desk_post", postPage{
		Frame: d.frame(g, "Post the terms", now(c)), G: g, Know: deskKnow(g), Problem: problem, Unread: unread, Reach: reach(d.cfg.PublicURL, anyPosted(all)),
		Chosen: chosenFacts(g.Terms), Terms: factsOf(g.Terms), Rules: rulesHTML(g.Terms.AsPosted(now(c)).Rules), Seen: seen(g),
	})
}

// errUnread says why nothing is posted yet.
var errUnread = errors.New("cautions were not read")

// toDayOr leads to the day-book unless something went wrong.
func toDayOr(c echo.Context, g giveaway.Giveaway, err error) error {
	if err != nil {
		return err
	}
	return toDay(c, g)
}

func (d *desk) postPost(c echo.Context) error {
	return d.move(c, "/spread", func(g giveaway.Giveaway) error {
		if g.State != giveaway.StateDraft {
			_, err := d.cfg.Host.Open(uncut(c), now(c), g.ID) // posted already
			return err
		}
		if err := d.ready(c, g); err != nil {
			return err
		}
		_, err := d.cfg.Host.OpenShown(uncut(c), now(c), g.ID, g.Terms.Mark())
		return err
	}, func(g giveaway.Giveaway, err error) error {
		var problems giveaway.Problems
		switch {
		case errors.Is(err, giveaway.ErrStale):
			if g, err = d.find(c); err != nil || g.State != giveaway.StateDraft {
				return toDayOr(c, g, err)
			}
			return d.showPost(c, http.StatusConflict, g, wordStale)
		case errors.Is(err, errUnread):
			return d.showPost(c, http.StatusConflict, g, "Nothing was posted yet.")
		case errors.As(err, &problems):
			return d.showDraft(c, http.StatusUnprocessableEntity, g, formOf(g.Terms), onForm(g.Terms, problems))
		}
		return err
	})
}

// ready reports why a draft can't be posted from this page: its terms are not
// those that the page showed, or a caution of them was not read.
func (d *desk) ready(c echo.Context, g giveaway.Giveaway) error {
	if c.FormValue("seen") != seen(g) {
		return giveaway.ErrStale
	}
	unread, err := d.unread(c, g)
	if err == nil && unread > 0 {
		err = errUnread
	}
	return err
}
