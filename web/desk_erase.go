package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// eraseRoutes are the desk's pages about the deletion of personal data.
func (d *desk) eraseRoutes(in *echo.Group) {
	small := body(maxEntry, typeForm)
	in.GET("/g/:id/erase", d.getErase)
	in.POST("/g/:id/erase", d.postErase, small)
	in.GET("/g/:id/erase/one", d.getEraseOne)
	in.POST("/g/:id/erase/one", d.postEraseOne, small)
}

// An erasePage says when personal data is deleted, what goes and what stays,
// and has the button.
type erasePage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Lead    string
	When    Stamp // after Lead
	Then    string
	Problem string
	Goes    []string
	Stays   []string
	Button  bool
	Sure    []string // each confirmed place that nobody knows to have its parcel: asks once more
	One     bool     // one ticket's data can be deleted on request
}

// erasePage says how things stand.
func (d *desk) erasePage(c echo.Context, g giveaway.Giveaway) (erasePage, error) {
	p := erasePage{Frame: d.frame(g, "Personal data", now(c)), G: g}
	p.One = g.Erased.IsZero() && (g.State == giveaway.StateFrozen || g.State == giveaway.StateDrawn || g.State == giveaway.StateCancelled)
	if !g.Erased.IsZero() {
		p.Head, p.When = "The personal data of this giveaway was deleted.", stamp("It was deleted on", g.Erased, g.Terms.Event.Zone)
		p.Then = "Nobody can bring it back. Only backups that were made before still hold it; delete them too when their time has come."
		p.Stays = eraseStays
		return p, nil
	}
	e, err := d.cfg.Host.Ending(c.Request().Context(), now(c), g)
	if err != nil {
		return p, err
	}
	p.Head, p.Lead, p.When = "Personal data can’t be deleted yet.", notYetWords(g), stamp("", e.At, g.Terms.Event.Zone)
	switch {
	case e.Ended.IsZero():
		p.When = Stamp{}
	case e.May:
		p.Head, p.Button = "Delete the personal data of this giveaway?", true
		p.Lead, p.Goes, p.Stays = "", eraseGoes, eraseStays
		p.When.Before = "It is deleted by itself on"
		p.Then = "The rules that you posted promise that. You can do it now. It can’t be undone."
		for _, one := range e.Underway {
			p.Sure = append(p.Sure, placeWords(one.N, g.Opening.Winners)+": the prize is confirmed, but nobody has marked it as delivered.")
		}
	default:
		p.When.Before = "As things stand, it is deleted by itself on"
	}
	return p, nil
}

// notYetWords say why nothing is deleted yet.
func notYetWords(g giveaway.Giveaway) string {
	switch g.State {
	case giveaway.StateDraft:
		return "Nobody has entered yet."
	case giveaway.StateOpen, giveaway.StateFreezing:
		return "The giveaway has not ended. Until the list is locked, people can withdraw on their own private page."
	case giveaway.StateFrozen:
		return "The list is locked, and the draw is still to be made: whoever is drawn has to be written to."
	case giveaway.StateDrawn:
		return "A prize is not settled yet. Confirm a winner, or skip the places until nobody is left."
	}
	return ""
}

// What is deleted, and what is not.
var (
	eraseGoes = []string{
		"Of every entry: the e-mail address, where people live and where the parcel would go, size, name, age range and answers.",
		"Of every winner: name, address, phone number, and what was asked and answered about the parcel.",
		"The winners’ links, and the sponsor’s page. Both say from then on that the data was deleted.",
		"E-mail addresses among those who may not win. Files and forms that were not finished.",
	}
	eraseStays = []string{
		"Everything that was published, byte for byte: anybody can check the draw as before. It names nobody.",
		"Every ticket, with its place on the list, and its private page. It says what was deleted and when, and still hands out the proof of entry.",
		"This day-book, and when a parcel was sent and delivered.",
	}
)

func (d *desk) getErase(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	return d.showErase(c, http.StatusOK, g, "")
}

func (d *desk) showErase(c echo.Context, status int, g giveaway.Giveaway, problem string) error {
	p, err := d.erasePage(c, g)
	if err != nil {
		return err
	}
	p.Problem = problem
	return d.render(c, status, "desk_erase", p)
}

// postErase deletes. A prize that is under way is asked about once more.
func (d *desk) postErase(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	p, err := d.erasePage(c, g)
	switch {
	case err != nil:
		return err
	case len(p.Sure) > 0 && c.FormValue("sure") == "":
		return d.showErase(c, http.StatusUnprocessableEntity, g, "Tick that you know it, if you want to delete everything all the same. Nothing was changed.")
	}
	_, err = d.cfg.Host.Erase(uncut(c), now(c), g.ID)
	switch {
	case errors.Is(err, giveaway.ErrNotEnded):
		return d.showErase(c, http.StatusConflict, g, "A prize is not settled yet. Nothing was changed.")
	case errors.Is(err, giveaway.ErrState):
		return d.showErase(c, http.StatusConflict, g, "That can’t be done now; this page shows how things stand. Nothing was changed.")
	case err != nil:
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/erase")
}

// A dataWords says on the day-book when personal data is deleted.
type dataWords struct {
	When Stamp
	May  bool // it can be deleted now
}

// dataDay adds to the day-book, from the end on, when personal data is deleted.
func (d *desk) dataDay(c echo.Context, p *dayPage) error {
	p.add("Data deleted", "The personal data of this giveaway was deleted. What was published stays.", p.G.Erased)
	if p.G.State != giveaway.StateFrozen && p.G.State != giveaway.StateDrawn && p.G.State != giveaway.StateCancelled {
		return nil
	}
	p.More = append(p.More, step{"Personal data", p.path("erase")})
	if !p.G.Erased.IsZero() || p.G.State == giveaway.StateFrozen {
		return nil
	}
	e, err := d.cfg.Host.Ending(c.Request().Context(), now(c), p.G)
	if err != nil {
		return err
	}
	if !now(c).Before(e.Ended) {
		p.Data = &dataWords{stamp("Personal data is deleted by itself on", e.At, p.G.Terms.Event.Zone), e.May}
	}
	return nil
}
