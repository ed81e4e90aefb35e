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
	Place  string   // "" for none
	Kept   []string // kinds, no values
	Why    string   // why it can't be deleted; "": it can
	Path   string   // where to see to that; "" none
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
		if one.Place, one.Kept, err = d.keptOf(c, p.G, t, entry.Entry); err != nil {
			return err
		}
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
