package web

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// getPlaceTyped is where a form with a ticket leads that names no giveaway.
func (s *Site) getPlaceTyped(c echo.Context) error {
	return s.toPlace(c, c.QueryParam("ticket"))
}

// getPlace leads from a ticket alone to its page: it looks through the
// published lists of all giveaways here, the newest first.
func (s *Site) getPlace(c echo.Context) error {
	return s.toPlace(c, pathValue(c.Param("ticket")))
}

func (s *Site) toPlace(c echo.Context, typed string) error {
	t, err := draw.ReadTicket(typed)
	if err != nil {
		return errNoTicket
	}
	all, err := s.cfg.Host.Store.Giveaways(c.Request().Context())
	if err != nil {
		return err
	}
	for _, g := range byAge(all) {
		st, err := entries.Look(s.public(g, now(c)), t)
		if err != nil {
			return err
		}
		if st.Known() {
			c.Set(keyDraw, g.ID)
			c.Response().Header().Set("Cache-Control", "no-store")
			return c.Redirect(http.StatusSeeOther, ticketURL(g.ID, t))
		}
	}
	return errNoPlace
}

// byAge are the giveaways that anybody may know of, the newest first.
func byAge(all []giveaway.Giveaway) []giveaway.Giveaway {
	var out []giveaway.Giveaway
	for _, g := range all {
		if g.State != giveaway.StateDraft {
			out = append(out, g)
		}
	}
	slices.SortStableFunc(out, func(a, b giveaway.Giveaway) int { return b.Opening.Opens.Compare(a.Opening.Opens) })
	return out
}
