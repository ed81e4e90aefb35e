package web

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A nowPage lists what goes on here, where that is more than one giveaway.
type nowPage struct {
	Frame
	Head string
	Rows []nowRow
}

// A nowRow is one giveaway of the list.
type nowRow struct {
	Title, URL, Channel string
	Sample              bool
	Where               string // "Taking entries"
	When                Stamp  // what comes next
}

// phaseRanks say what a visitor who names no giveaway most likely comes for: first
// one that can be entered, then one whose draw comes next.
var phaseRanks = map[giveaway.Phase]int{
	giveaway.PhaseTaking: 5, giveaway.PhaseLocked: 4, giveaway.PhaseClosed: 4, giveaway.PhaseSoon: 3,
	giveaway.PhaseDrawn: 2, giveaway.PhaseFinished: 2, giveaway.PhaseOff: 1,
}

// goesOn reports whether a giveaway of that phase has its draw still to come.
func goesOn(p giveaway.Phase) bool { return phaseRanks[p] > phaseRanks[giveaway.PhaseDrawn] }

// postedOnes are the giveaways whose terms are posted, as the public may know them,
// what visitors come for first; of two of one rank the one that opened later.
func (s *Site) postedOnes(c echo.Context) ([]giveaway.Giveaway, error) {
	all, err := s.cfg.Host.Store.Giveaways(c.Request().Context())
	if err != nil {
		return nil, err
	}
	at := now(c)
	all = slices.DeleteFunc(all, func(g giveaway.Giveaway) bool { return g.State == giveaway.StateDraft })
	for i := range all {
		all[i] = all[i].AsPublic(at)
	}
	slices.SortStableFunc(all, func(a, b giveaway.Giveaway) int {
		if by := phaseRanks[b.Phase(at)] - phaseRanks[a.Phase(at)]; by != 0 {
			return by
		}
		return b.Opening.Opens.Compare(a.Opening.Opens)
	})
	return all, nil
}

// getNow leads to the giveaway that a visitor most likely comes for. One that
// was called off is the last choice.
func (s *Site) getNow(c echo.Context) error {
	all, err := s.postedOnes(c)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return errNothingYet
	}
	return s.leadTo(c, all[0])
}

func (s *Site) leadTo(c echo.Context, g giveaway.Giveaway) error {
	c.Set(keyDraw, g.ID)
	c.Response().Header().Set("Cache-Control", "no-store")
	return c.Redirect(http.StatusSeeOther, homeURL(g.ID))
}

// getFirst is the site's first page: where several giveaways go on it lists
// them, otherwise it leads where /now leads.
func (s *Site) getFirst(c echo.Context) error {
	all, err := s.postedOnes(c)
	if err != nil {
		return err
	}
	at := now(c)
	live := slices.DeleteFunc(slices.Clone(all), func(g giveaway.Giveaway) bool { return !goesOn(g.Phase(at)) })
	switch {
	case len(all) == 0:
		return errNothingYet
	case len(live) < 2:
		return s.leadTo(c, all[0])
	}
	head := capitalized(small(len(live))) + " giveaways go on here."
	p := nowPage{Frame: Frame{Title: head, Left: s.cfg.PublicURL.Hostname(), Home: "/"}, Head: head}
	for _, g := range live {
		p.Rows = append(p.Rows, nowRow{
			Title: g.Terms.Title, URL: homeURL(g.ID), Channel: g.Terms.Channel, Sample: g.Sample,
			Where: capitalized(string(g.Phase(at))), When: headStamp(g, at),
		})
	}
	c.Response().Header().Set("Cache-Control", "no-store")
	return s.render(c, http.StatusOK, "now", p)
}
