package web

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
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

// An eraseOnePage deletes the data of one ticket, as its holder asks.
type eraseOnePage struct {
	Frame
	G      giveaway.Giveaway
	Which  string // as typed: a ticket or an address
	Faults []fault
	Found  []foundTicket
	Can    bool // one of those found can be deleted
	Done   bool // deleted just now
	Over   string
}

// A foundTicket is one whose data was asked for.
type foundTicket struct {
	Ticket [4]string
	Why    string // why it can't be deleted; "": it can
	Path   string // where to see to that; "" none
	ticket draw.Ticket
}

func (p eraseOnePage) Of(field string) []string { return cancelPage{Faults: p.Faults}.Of(field) }

func (d *desk) eraseOnePage(c echo.Context, g giveaway.Giveaway) eraseOnePage {
	p := eraseOnePage{Frame: d.frame(g, "One person’s data", now(c)), G: g}
	switch {
	case !g.Erased.IsZero():
		p.Over = "The personal data of this giveaway was deleted already, of everybody."
	case g.State == giveaway.StateDraft, g.State == giveaway.StateOpen, g.State == giveaway.StateFreezing:
		p.Over = "The list is not locked yet. Until then people can withdraw on their own private page, and that takes out all but the address. After the lock you can delete the rest here."
	}
	return p
}

func (d *desk) getEraseOne(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	p := d.eraseOnePage(c, g)
	p.Done = c.QueryParam("done") != ""
	return d.render(c, http.StatusOK, "desk_erase_one", p)
}

// postEraseOne finds whose data it is, and deletes it once that was shown.
func (d *desk) postEraseOne(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	p := d.eraseOnePage(c, g)
	if p.Over != "" {
		return d.render(c, http.StatusConflict, "desk_erase_one", p)
	}
	p.Which = strings.TrimSpace(c.FormValue("which"))
	if err := d.findOne(c, &p); err != nil {
		return err
	}
	switch {
	case len(p.Faults) > 0:
		return d.render(c, http.StatusUnprocessableEntity, "desk_erase_one", p)
	case !p.Can || c.FormValue("sure") == "":
		return d.render(c, http.StatusOK, "desk_erase_one", p)
	}
	for _, one := range p.Found {
		if one.Why != "" {
			continue
		}
		err := d.cfg.Host.EraseTicket(uncut(c), now(c), g.ID, one.ticket)
		if errors.Is(err, giveaway.ErrMayWin) || errors.Is(err, giveaway.ErrState) { // things have moved on: look again
			return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/erase/one")
		}
		if err != nil {
			return err
		}
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/erase/one?done=1")
}

// findOne finds the tickets that are meant by what was typed.
func (d *desk) findOne(c echo.Context, p *eraseOnePage) error {
	wrong := func(text string) { p.Faults = []fault{{Field: "which", Label: "Whose", Text: text}} }
	ctx := c.Request().Context()
	var tickets []draw.Ticket
	if strings.Contains(p.Which, "@") {
		a, err := entries.Fold(p.Which)
		if err != nil {
			wrong("Write the whole e-mail address, such as robin@example.com.")
			return nil
		}
		if tickets, err = d.cfg.Host.TicketsOf(ctx, p.G.ID, a.Key); err != nil {
			return err
		}
	} else if t, err := draw.ReadTicket(p.Which); err == nil {
		tickets = []draw.Ticket{t}
	} else {
		wrong("Write a ticket, such as K7QF-2M9X-4RTB-W8ZC, or the e-mail address that was entered.")
		return nil
	}
	for _, t := range tickets {
		entry, err := d.cfg.Desk.Entry(ctx, p.G.ID, t)
		if errors.Is(err, entries.ErrNoSuchLink) {
			continue
		}
		if err != nil {
			return err
		}
		if !entry.Erased.IsZero() {
			wrong("The data of this ticket was deleted already, on " + stamp("", entry.Erased, p.G.Terms.Event.Zone).Words + ".")
			return nil
		}
		one := foundTicket{Ticket: ticketGroups(t), ticket: t}
		if err := d.whyNot(c, p.G, entry, &one); err != nil {
			return err
		}
		p.Found, p.Can = append(p.Found, one), p.Can || one.Why == ""
	}
	if len(p.Found) == 0 {
		wrong("Nothing is kept here under this. It was never entered, or was deleted already.")
	}
	return nil
}

// whyNot says why a ticket's data can't be deleted.
func (d *desk) whyNot(c echo.Context, g giveaway.Giveaway, entry entries.Stored, one *foundTicket) error {
	err := d.cfg.Host.MayEraseTicket(c.Request().Context(), g, one.ticket, entry.Reason == "")
	switch {
	case err == nil:
	case !errors.Is(err, giveaway.ErrMayWin):
		return err
	case g.State == giveaway.StateFrozen:
		one.Why = "The draw may still pick this ticket, and then its holder has to be written to. It can be deleted after the draw, unless it gets a place there, or when the giveaway is called off."
	default:
		one.Why = "This ticket has a place in the draw and may still get the prize: whoever won, or is next in line, has to be written to."
		stand, err := d.cfg.Host.Outcome(c.Request().Context(), g.ID)
		if err != nil {
			return err
		}
		if p, ok := stand.Ticket(one.ticket); ok && p.Turn != nil && d.cfg.Claims != nil {
			one.Why += " If its holder doesn’t want the prize, skip the place first."
			one.Path = placePath(g.ID, p.N)
		} else {
			one.Why += " Its data is deleted with everybody else’s."
		}
	}
	return nil
}

// goneStamp is when personal data was deleted.
func goneStamp(g giveaway.Giveaway, at time.Time) Stamp {
	return stamp("It was deleted on", at, g.Terms.Event.Zone)
}
