package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// keepForm keeps the form as typed. The version that it was made from is the
// page's own; giveaway.ErrState: another window was first.
func (d *desk) keepForm(c echo.Context, m making, f termsForm, form url.Values) (giveaway.TypedForm, error) {
	v := f.values()
	if was := form.Get("seen"); was != "" {
		v.Set("seen", was)
	}
	values, err := json.Marshal(v)
	if err != nil {
		return giveaway.TypedForm{}, fmt.Errorf("keep a form: %w", err)
	}
	typed := giveaway.TypedForm{Key: m.key, Title: cut(orText(f.Title, f.Prize), 120), Values: values, Version: versionOf(form), At: now(c)}
	typed.Version, err = d.cfg.Desk.Forms.SaveForm(uncut(c), typed)
	return typed, err
}

func versionOf(form url.Values) int64 {
	n, _ := strconv.ParseInt(form.Get("version"), 10, 64) // "" and nonsense: never kept
	return n
}

func cut(text string, most int) string {
	if r := []rune(text); len(r) > most {
		return string(r[:most])
	}
	return text
}

// keepAnd keeps the form and leads on.
func (d *desk) keepAnd(c echo.Context, m making, f termsForm, form url.Values, to string) error {
	_, err := d.keepForm(c, m, f, form)
	switch {
	case errors.Is(err, giveaway.ErrState):
		return d.elsewhere(c, m, f)
	case err != nil:
		return err
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// postKeep answers the page's script, which keeps what is typed now and then.
func (d *desk) postKeep(c echo.Context, m making) error {
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read terms form: %w", errMalformed)
	}
	f := readTermsForm(form)
	f.Draw = orText(m.g.ID, f.Draw)
	type answer struct {
		Version int64              `json:"version"`
		At      string             `json:"at"`
		Kept    string             `json:"kept,omitempty"` // when, in words
		Said    map[string]string  `json:"said,omitempty"`
		Asks    map[string]timeAsk `json:"asks,omitempty"`
		Wrong   map[string]string  `json:"wrong,omitempty"` // what can't be read in the lists of countries
		Lock    bool               `json:"lock,omitempty"`  // the fold with the minutes of the lock opens
	}
	typed, err := d.keepForm(c, m, f, form)
	if errors.Is(err, giveaway.ErrState) {
		stored, _ := d.cfg.Desk.Forms.Form(uncut(c), m.key)
		return writeJSON(c, http.StatusConflict, typeJSON, answer{Version: stored.Version, At: stampUTC(stored.At)})
	}
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, typeJSON, answer{typed.Version, stampUTC(typed.At), keptSaid(typed.At, f.Zone), f.said(now(c)), f.timeAsks(), f.placeWrongs(), f.lockHelps()})
}

// elsewhere says that another window was first. What was typed here stands in
// the form; pressed once more, it counts.
func (d *desk) elsewhere(c echo.Context, m making, f termsForm) error {
	stored, err := d.cfg.Desk.Forms.Form(uncut(c), m.key)
	if err != nil && !errors.Is(err, giveaway.ErrNotFound) {
		return err
	}
	p := d.makePage(c, m, f, stored)
	p.Other = err == nil
	p.Note = "This was changed in another window. Below stands what you typed here; send it again and it counts."
	if err != nil {
		p.Note = "This form was finished or thrown away in another window. Below stands what you typed here; send it again and it becomes a giveaway of its own."
	}
	return d.render(c, http.StatusConflict, "desk_terms", p)
}

// postDropForm throws a form away that is not finished.
func (d *desk) postDropForm(c echo.Context, m making) error {
	if err := d.cfg.Desk.Forms.DropForm(uncut(c), m.key); err != nil {
		return err
	}
	if m.g.ID != "" {
		return toDay(c, m.g)
	}
	return c.Redirect(http.StatusSeeOther, "/desk")
}
