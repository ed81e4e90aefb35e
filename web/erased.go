package web

import (
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
	"evenhand/giveaway"
)

// An erasedPage is a private page whose personal data was deleted.
type erasedPage struct {
	Frame
	Know
	Head      string
	When      Stamp
	Lead      []string
	Ticket    [4]string
	Wins      bool
	TicketURL string
	URL       string
	Check     string
	Noted     Stamp
}

// showErased says what was deleted and what is left.
func (s *Site) showErased(c echo.Context, status int, g giveaway.Giveaway, mine entries.Private, link string) error {
	know, _, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	standing, err := entries.Look(s.public(g, now(c)), mine.Ticket)
	if err != nil {
		return err
	}
	p := erasedPage{
		Frame: frame(g, now(c), "Your ticket"), Know: know, Head: "Your personal data was deleted.", When: goneStamp(g, mine.Erased),
		Lead:   []string{"Your e-mail address and all else that you entered is gone from here, and nobody can look it up any more. Your ticket stays: it names nobody."},
		Ticket: ticketGroups(mine.Ticket), Wins: standing.Wins, TicketURL: s.link(ticketURL(g.ID, mine.Ticket)), URL: privateURL(g.ID, link),
		Noted: stamp("", mine.Stamp.Entered, g.Terms.Event.Zone),
	}
	if standing.Locked {
		p.Check = checkLink(g.ID, mine.Receipt)
	}
	return s.render(c, status, "private_erased", p)
}

// erasedOver is the kind page of a winner's link whose data was deleted.
func erasedOver(c echo.Context, g giveaway.Giveaway, at time.Time) overPage {
	return overPage{
		Frame: frame(g, now(c), "Deleted"), Head: "The personal data here was deleted.", At: goneStamp(g, at), Back: homeURL(g.ID),
		Lead: []string{"Name, address, phone number and all else that was asked for is gone from here. The rules promise that, once the giveaway has ended or its holder has asked for it.",
			"If something is still to be said about the prize, write to " + hostOr(g.Terms) + "."},
	}
}

// A gonePage is a page of the desk about a drawn place, or the sponsor's page,
// whose personal data was deleted.
type gonePage struct {
	Frame
	G    giveaway.Giveaway
	What string
	When Stamp
}

// gone shows it. What is what the page was about.
func (d *desk) gone(c echo.Context, g giveaway.Giveaway, what string, at time.Time) error {
	return d.render(c, http.StatusOK, "desk_gone", gonePage{d.frame(g, "Deleted", now(c)), g, what, goneStamp(g, at)})
}

// placeGone is when the personal data of a place of the address was deleted;
// the zero time: it was not, or there is no such place.
func (d *desk) placeGone(c echo.Context) (giveaway.Giveaway, int, time.Time) {
	g, err := d.find(c)
	n, bad := strconv.Atoi(c.Param("n"))
	if err != nil || bad != nil {
		return g, n, time.Time{}
	}
	p, err := d.cfg.Claims.Place(c.Request().Context(), now(c), g.ID, n)
	if err != nil {
		return g, n, time.Time{}
	}
	if !g.Erased.IsZero() {
		return g, n, g.Erased
	}
	e, err := d.cfg.Claims.Entries.EntryByTicket(c.Request().Context(), g.ID, p.Ticket)
	if err != nil {
		return g, n, time.Time{}
	}
	return g, n, e.Erased
}

// placeKept stands before the pages about a place: where its data was deleted
// it says so, and no button does anything.
func (d *desk) placeKept(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		g, n, at := d.placeGone(c)
		if at.IsZero() {
			return next(c)
		}
		return d.gone(c, g, placeWords(n, g.Opening.Winners), at)
	}
}
