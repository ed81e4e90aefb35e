package web

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// finish turns the form into a draft, or shows what is missing; then the form
// is kept as typed, so that nothing is lost. Whoever presses twice is led to
// the same day-book.
func (d *desk) finish(c echo.Context, m making, f termsForm, form url.Values) error {
	if m.g.ID != "" && stale(c, m.g) {
		return d.showDraft(c, http.StatusConflict, m.g, formOf(m.g.Terms), nil)
	}
	stored, err := d.cfg.Desk.Forms.Form(c.Request().Context(), m.key)
	gone := errors.Is(err, giveaway.ErrNotFound)
	if err != nil && !gone {
		return err
	}
	if stored.Version != versionOf(form) {
		if g, again := d.finished(c, m, f); gone && again {
			return toDay(c, g)
		}
		return d.elsewhere(c, m, f)
	}
	f, asked, err := d.propose(c, m, f)
	if err != nil {
		return err
	}
	t, problems := f.onto(m.g.Terms)
	show := func(problems giveaway.Problems) error {
		typed, err := d.keepForm(c, m, f, form)
		if errors.Is(err, giveaway.ErrState) {
			return d.elsewhere(c, m, f)
		}
		if err != nil {
			return err
		}
		p := d.makePage(c, m, f, typed)
		p.Faults = faultsOf(problems)
		return d.render(c, http.StatusUnprocessableEntity, "desk_terms", p)
	}
	err = d.save(c, t, append(problems, asked...), m.g, show, func(g giveaway.Giveaway) error {
		if m.g.ID == "" {
			d.sessions.Put(c.Request().Context(), madeKey(m), g.ID)
		}
		return d.cfg.Desk.Forms.DropForm(uncut(c), m.key)
	})
	if errors.Is(err, giveaway.ErrStale) { // another window finished first
		g, err := d.find(c)
		if err != nil {
			return err
		}
		return d.showDraft(c, http.StatusConflict, g, formOf(g.Terms), nil)
	}
	return err
}

// finished finds the draft that this very form became.
func (d *desk) finished(c echo.Context, m making, f termsForm) (giveaway.Giveaway, bool) {
	t, problems := f.onto(m.g.Terms)
	g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), t.Draw)
	return g, err == nil && len(problems) == 0 && pressedTwice(g, t)
}

// propose fills in what can be proposed from the rest, and asks to look at it:
// the short name, and the sizes of a table that was pasted but not read. The
// page's script proposes earlier.
func (d *desk) propose(c echo.Context, m making, f termsForm) (termsForm, giveaway.Problems, error) {
	r := formReader{}
	if name := slug(f.Title, 40); m.g.ID == "" && f.Draw == "" && name != "" {
		free, err := d.freeName(c, name)
		if err != nil {
			return f, nil, err
		}
		f.Draw, f.DrawProposed = free, free
		r.add("draw", "This name is proposed. It can’t be changed later; change it now or leave it, and go on.")
	}
	if blankText(f.Table) {
		f.Table = ""
		return f, r.problems, nil
	}
	read, faults := readSizeTable(f.Table)
	for _, text := range faults {
		r.add("table", "%s", text)
	}
	if len(faults) == 0 {
		f.Ranges, f.Table = read.onto(f.Ranges), ""
		r.add("run_0_from", "These sizes were read from your table. Change them until they are right, or leave them, and go on.")
	}
	return f, r.problems, nil
}

// freeName finds a short name that no giveaway has: boots, boots-2, boots-3 …
func (d *desk) freeName(c echo.Context, name string) (string, error) {
	free := name
	for n := 2; ; n++ {
		_, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), free)
		if errors.Is(err, giveaway.ErrNotFound) {
			return free, nil
		}
		if err != nil {
			return "", fmt.Errorf("look for a free name: %w", err)
		}
		free = name + "-" + strconv.Itoa(n)
	}
}

// readTable puts the sizes of a pasted table into the rows of the form.
func (d *desk) readTable(c echo.Context, m making, f termsForm, form url.Values) error {
	read, faults := readSizeTable(f.Table)
	if len(faults) == 0 {
		f.Ranges, f.Table = read.onto(f.Ranges), ""
	}
	typed, err := d.keepForm(c, m, f, form)
	switch {
	case errors.Is(err, giveaway.ErrState):
		return d.elsewhere(c, m, f)
	case err != nil:
		return err
	case len(faults) == 0:
		return c.Redirect(http.StatusSeeOther, m.path+"?"+read.told()+"#sizes")
	}
	r := formReader{}
	for _, text := range faults {
		r.add("table", "%s", text)
	}
	p := d.makePage(c, m, f, typed)
	p.Faults = faultsOf(r.problems)
	return d.render(c, http.StatusUnprocessableEntity, "desk_terms", p)
}

// newKey makes the key of a new form: 128 random bits, 26 characters.
func newKey(source io.Reader) (string, error) {
	if source == nil {
		source = rand.Reader
	}
	var b [16]byte
	if _, err := io.ReadFull(source, b[:]); err != nil {
		return "", fmt.Errorf("make the key of a form: %w", err)
	}
	return keyText.EncodeToString(b[:]), nil
}
