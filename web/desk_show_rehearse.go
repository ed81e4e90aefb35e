package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A rehearsePage makes and ends a rehearsal.
type rehearsePage struct {
	Frame
	G      giveaway.Giveaway
	Head   string
	Lead   string
	On     string // the rehearsal's id; "": there is none
	Number bool   // the giveaway waits for a public number
	Stages []address
	Phone  string // why no phone can open the remote; "": one can
	Remote string
}

func (d *desk) getRehearse(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	p := rehearsePage{Frame: d.frame(g, "Rehearsal", now(c)), G: g, Number: g.Opening.Beacon != nil, Phone: phoneWords(d.cfg.PublicURL),
		Head: "Practise the whole evening.", Lead: "A rehearsal has made-up tickets and throw-away numbers of its own. It can’t touch your giveaway, nobody but you can open it, and every screen says that it is one."}
	if p.On, err = d.cfg.Event.Rehearsals.Store.Rehearsal(c.Request().Context()); err != nil {
		return err
	}
	if p.On == "" || giveaway.IsRehearsal(g.ID) {
		return d.render(c, http.StatusOK, "desk_show_rehearse", p)
	}
	p.Head, p.Lead = "The rehearsal is ready.", "Open the stage, take the remote, and go through it to the end. Nothing in it counts."
	practice, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), p.On)
	if err != nil {
		return err
	}
	if p.Stages, err = d.stageLinks(c, practice); err != nil {
		return err
	}
	if p.Remote, err = d.keyLink(c, p.On, show.KeyRemote); err != nil {
		return err
	}
	return d.render(c, http.StatusOK, "desk_show_rehearse", p)
}

// postRehearse makes a rehearsal anew, with a public number unless it
// says no, and with its stage and remote.
func (d *desk) postRehearse(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	if giveaway.IsRehearsal(g.ID) {
		return errNoSuchPage
	}
	ctx := uncut(c)
	practice, err := d.cfg.Event.Rehearsals.Make(ctx, now(c), g, c.FormValue("number") != "no")
	if err != nil {
		return err
	}
	if err := d.pair(c, practice.ID, pairKinds[""]); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/show/rehearse")
}

// postRehearseEnd deletes it.
func (d *desk) postRehearseEnd(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	if err := d.cfg.Event.Rehearsals.Store.DropRehearsals(uncut(c)); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/show")
}
