package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A FormStore keeps forms that are not finished.
type FormStore interface {
	// SaveForm keeps a form and returns its new version. Version is the one
	// that it was made from, 0 for a new one; if another is stored (or none),
	// nothing changes and the error is giveaway.ErrState.
	SaveForm(ctx context.Context, f giveaway.TypedForm) (version int64, err error)
	// Form finds one; giveaway.ErrNotFound if it isn't there. Of one that was
	// dropped the version comes with that error, to begin anew from.
	Form(ctx context.Context, key string) (giveaway.TypedForm, error)
	// Forms lists all, the one saved last first.
	Forms(ctx context.Context) ([]giveaway.TypedForm, error)
	// DropForm removes one; what was made from a version of before is refused
	// from then on, also what was made from none. One that isn't there is no
	// error.
	DropForm(ctx context.Context, key string) error
}

// makeRoutes are the pages on which a giveaway is made. Save, keep and drop
// are POSTs; what is read from a form never changes by looking at it.
func (d *desk) makeRoutes(in *echo.Group) {
	form := body(maxTermsBody, typeForm)
	in.GET("/new", d.getNew)
	in.POST("/new", d.postNew, form)
	for path, find := range map[string]func(echo.Context) (making, error){"/w/:key": d.makingNew, "/g/:id/terms": d.makingDraft} {
		with := func(do func(echo.Context, making) error) echo.HandlerFunc {
			return func(c echo.Context) error {
				m, err := find(c)
				switch {
				case err != nil:
					return err
				case m.g.ID != "" && m.g.State != giveaway.StateDraft:
					return toDay(c, m.g)
				}
				return do(c, m)
			}
		}
		in.GET(path, with(d.getMaking))
		in.POST(path, with(d.postMaking), form)
		in.POST(path+"/keep", with(d.postKeep), form)
		in.POST(path+"/drop", with(d.postDropForm), form)
	}
	in.GET("/g/:id/preview", d.getPreview)
	in.POST("/g/:id/preview", d.postPreview, body(maxEntry, typeForm))
}

// A making is one giveaway in the making: a new one, or a draft.
type making struct {
	key  string            // of its form in the store
	path string            // its address
	g    giveaway.Giveaway // the draft; zero: a new one
}

var makingKey = regexp.MustCompile(`^[A-Za-z0-9_-]{16,64}$`)

func (d *desk) makingNew(c echo.Context) (making, error) {
	key := c.Param("key")
	if !makingKey.MatchString(key) {
		return making{}, errNoSuchPage
	}
	return making{key: key, path: "/desk/w/" + key}, nil
}

func (d *desk) makingDraft(c echo.Context) (making, error) {
	g, err := d.find(c)
	return making{key: "g/" + g.ID, path: "/desk/g/" + g.ID + "/terms", g: g}, err
}

// getNew leads to a form of its own. Nothing is kept before something is
// typed, so that opening this page twice leaves nothing behind.
func (d *desk) getNew(c echo.Context) error {
	key, err := newKey(d.cfg.Rand)
	if err != nil {
		return err
	}
	to := url.URL{Path: "/desk/w/" + key}
	if from := c.QueryParam("from"); from != "" {
		to.RawQuery = url.Values{"from": {from}}.Encode()
	}
	return c.Redirect(http.StatusSeeOther, to.String())
}

// postNew takes a form that was made for no address of its own, as a program
// may send it.
func (d *desk) postNew(c echo.Context) error {
	key, err := newKey(d.cfg.Rand)
	if err != nil {
		return err
	}
	return d.postMaking(c, making{key: key, path: "/desk/w/" + key})
}

// begin is what a form holds that was never kept.
func (d *desk) begin(c echo.Context, m making) (termsForm, error) {
	from := c.QueryParam("from")
	switch {
	case m.g.ID != "":
		return formOf(m.g.Terms), nil
	case from == "":
		return d.firstForm(c)
	}
	g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), from)
	if err != nil {
		return termsForm{}, err
	}
	return nextFrom(g.Terms, g.State == giveaway.StateCancelled && g.Successor == ""), nil
}

// firstForm is an empty form with what rarely changes from one giveaway to the
// next: the channel, how it is reached, the zone.
func (d *desk) firstForm(c echo.Context) (termsForm, error) {
	f := newForm()
	all, err := d.cfg.Host.Store.Giveaways(c.Request().Context())
	if i := slices.IndexFunc(all, func(g giveaway.Giveaway) bool { return !g.Sample }); i >= 0 {
		t := all[i].Terms
		f.Channel, f.Host, f.Zone = t.Channel, t.Host, t.Event.Zone
	}
	return f, err
}

// kept finds the form as it was kept; ok is false where it never was.
func (d *desk) kept(ctx context.Context, m making) (f termsForm, stored giveaway.TypedForm, ok bool, err error) {
	stored, err = d.cfg.Desk.Forms.Form(ctx, m.key)
	if errors.Is(err, giveaway.ErrNotFound) {
		return f, stored, false, nil
	}
	if err != nil {
		return f, stored, false, err
	}
	var v url.Values
	if err := json.Unmarshal(stored.Values, &v); err != nil {
		return f, stored, false, fmt.Errorf("read a kept form: %w", err)
	}
	return readTermsForm(v), stored, true, nil
}

func (d *desk) getMaking(c echo.Context, m making) error {
	if id := d.sessions.GetString(c.Request().Context(), madeKey(m)); id != "" {
		return c.Redirect(http.StatusSeeOther, "/desk/g/"+id+"/terms") // back to a form that is finished
	}
	f, stored, ok, err := d.kept(c.Request().Context(), m)
	if err == nil && !ok {
		f, err = d.begin(c, m)
	}
	if err != nil {
		return err
	}
	p := d.makePage(c, m, f, stored)
	if p.Fresh && c.QueryParam("from") == "" {
		if p.Earlier, err = d.earlier(c); err != nil {
			return err
		}
	}
	if ok {
		if p.Faults, err = d.faultsAt(c, m, f); err != nil {
			return err
		}
	}
	if ok && m.g.ID != "" {
		p.Told = "These are changes that you have not finished. The draft itself is as it was."
		if stale := keptSeen(stored); stale != "" && stale != seen(m.g) {
			p.Note = "The draft was changed after you began these changes. Finishing them here is not possible; throw them away and begin again from the draft as it is."
		}
	}
	if drifted(m.g.Terms) {
		p.Told = "Since you wrote this, the rules for clocks there have changed. Look at the times below: each is said back as it is meant now."
	}
	return d.render(c, http.StatusOK, "desk_terms", p)
}

// drifted reports whether newer zone data have moved a time of a draft. A
// draft was announced to nobody, so its clock times count and not the instants.
func drifted(t giveaway.Terms) bool {
	return slices.ContainsFunc([]giveaway.Moment{t.Opens, t.Closes, t.Event}, func(m giveaway.Moment) bool { return !m.IsZero() && m.Drifted() })
}

// keptSeen is the state of the draft that a kept form was filled from.
func keptSeen(stored giveaway.TypedForm) string {
	var v url.Values
	if json.Unmarshal(stored.Values, &v) != nil {
		return ""
	}
	return v.Get("seen")
}

// postMaking does what the pressed button says: keep the form, read the table
// of sizes, or finish.
func (d *desk) postMaking(c echo.Context, m making) error {
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read terms form: %w", errMalformed)
	}
	f := readTermsForm(form)
	f.Draw = orText(m.g.ID, f.Draw)
	switch form.Get("do") {
	case "keep":
		return d.keepAnd(c, m, f, form, m.path)
	case "later":
		return d.keepAnd(c, m, f, form, "/desk?kept="+url.QueryEscape(m.key))
	case "table":
		return d.readTable(c, m, f, form)
	}
	return d.finish(c, m, f, form)
}

func orText(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// madeKey is where the session remembers what became of a form.
func madeKey(m making) string { return "made " + m.key }
