package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A laterPage moves closing or the draw to a later time, or changes the rules.
type laterPage struct {
	termsPage
	G    giveaway.Giveaway
	Head string
	Lead string
	Over bool   // the draw's time has come without a lock
	Zone string // in page words
	Note string // a sentence about what was just tried, or ""
}

const wordStale = "These terms were changed in another window; look again."

func (d *desk) getLater(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateOpen {
		return toDay(c, g)
	}
	return d.showLater(c, http.StatusOK, g, formOf(g.Terms), nil)
}

// staleLater answers a form that was filled from terms that no longer stand:
// it would bring the old ones back.
func (d *desk) staleLater(c echo.Context, g giveaway.Giveaway) error {
	p := d.laterPage(c, g, formOf(g.Terms), nil)
	p.Note = wordStale
	return d.render(c, http.StatusConflict, "desk_later", p)
}

func (d *desk) showLater(c echo.Context, status int, g giveaway.Giveaway, f termsForm, problems giveaway.Problems) error {
	return d.render(c, status, "desk_later", d.laterPage(c, g, f, problems))
}

func (d *desk) laterPage(c echo.Context, g giveaway.Giveaway, f termsForm, problems giveaway.Problems) laterPage {
	p := laterPage{
		termsPage: termsPage{Frame: d.frame(g, "Move the times", now(c)), F: f, ID: g.ID, Faults: faultsOf(problems), Zones: zones, Twice: twiceOf(f)},
		G:         g, Zone: zoneWords(g.Terms.Event.Zone), Head: "A change is posted beside the old terms.",
		Lead: "Both times can only move to a later one. Everybody who checks the giveaway sees what you changed, and when.",
		Over: !now(c).Before(g.Opening.Event),
	}
	if p.Over {
		p.Head = "The list was not locked before the draw, so the draw has to move."
		p.Lead = "Choose a later time and lock the list at least ten minutes before it. Everybody who checks the giveaway sees that the draw was moved after its time."
	}
	return p
}

// twiceOf says of which times it has to be asked which one is meant.
func twiceOf(f termsForm) map[string]bool {
	twice := map[string]bool{}
	for field, typed := range map[string]string{"opens": f.Opens, "closes": f.Closes, "event": f.Event} {
		var repeated giveaway.RepeatedError
		_, err := giveaway.ParseMoment(typed, f.Zone, 0)
		twice[field] = errors.As(err, &repeated)
	}
	return twice
}

func (d *desk) postLater(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateOpen {
		return toDay(c, g)
	}
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read change form: %w", errMalformed)
	}
	typed := readTermsForm(form)
	f := formOf(g.Terms)
	f.Closes, f.ClosesWhich, f.Event, f.EventWhich = typed.Closes, typed.ClosesWhich, typed.Event, typed.EventWhich
	f.Rules = typed.Rules
	change, problems := changeOf(f, g)
	if form.Get("revision") != strconv.Itoa(g.Revision) {
		if len(problems) == 0 && change == (giveaway.Change{}) {
			return toDay(c, g) // pressed twice
		}
		return d.staleLater(c, g)
	}
	if len(problems) > 0 {
		return d.showLater(c, http.StatusUnprocessableEntity, g, f, problems)
	}
	_, err = d.cfg.Host.Revise(uncut(c), now(c), g.ID, change)
	if errors.As(err, &problems) {
		return d.showLater(c, http.StatusUnprocessableEntity, g, f, problems)
	}
	if !errors.Is(err, giveaway.ErrState) {
		return d.changed(c, g, err)
	}
	if g, err = d.find(c); err == nil && g.State == giveaway.StateOpen {
		return d.staleLater(c, g) // another change came between
	}
	return d.changed(c, g, err)
}

func (d *desk) changed(c echo.Context, g giveaway.Giveaway, err error) error {
	if err != nil {
		return err
	}
	return toDay(c, g)
}

// changeOf is what differs from the terms as they stand.
func changeOf(f termsForm, g giveaway.Giveaway) (giveaway.Change, giveaway.Problems) {
	r := formReader{}
	closes := r.moment("closes", f.Closes, f.Zone, f.ClosesWhich)
	event := r.moment("event", f.Event, f.Zone, f.EventWhich)
	var change giveaway.Change
	if !closes.UTC.Equal(g.Terms.Closes.UTC) {
		change.Closes = &closes
	}
	if !event.UTC.Equal(g.Terms.Event.UTC) {
		change.Event = &event
	}
	if strings.TrimSpace(f.Rules) != strings.TrimSpace(g.Terms.Rules) {
		change.Rules = &f.Rules
	}
	return change, r.problems
}
