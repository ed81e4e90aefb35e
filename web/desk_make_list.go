package web

import (
	"encoding/json"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A typedForm is a form that is not finished, for the desk's first page.
type typedForm struct {
	What  string // in the margin
	Title string
	Path  string
	At    Stamp
	Just  bool // it was kept a moment ago, and the page says so
}

// typedForms lists what is not finished, the one kept last first. Changes of a
// draft that has been posted since are left out: they lead nowhere.
func (d *desk) typedForms(c echo.Context) ([]typedForm, error) {
	all, err := d.cfg.Desk.Forms.Forms(c.Request().Context())
	if err != nil {
		return nil, err
	}
	var list []typedForm
	for _, f := range all {
		one := typedForm{What: "a new one", Title: orText(f.Title, "A giveaway without a name yet"), Path: "/desk/w/" + f.Key, At: stamp("", f.At, keptZone(f)), Just: c.QueryParam("kept") == f.Key}
		if id, ok := strings.CutPrefix(f.Key, "g/"); ok {
			g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), id)
			if err != nil || g.State != giveaway.StateDraft {
				continue
			}
			one.What, one.Path = "changes of a draft", "/desk/g/"+id+"/terms"
		}
		one.Path += firstNeeded(f)
		list = append(list, one)
	}
	return list, nil
}

// firstNeeded leads to the first field of a kept form that still has to be
// filled in; "" where none has.
func firstNeeded(f giveaway.TypedForm) string {
	var v url.Values
	if json.Unmarshal(f.Values, &v) != nil {
		return ""
	}
	if need := readTermsForm(v).needed(); len(need) > 0 {
		return "#f-" + need[0].Field
	}
	return ""
}

// keptZone is the zone that a kept form names, UTC if it names none.
func keptZone(f giveaway.TypedForm) string {
	var v url.Values
	if json.Unmarshal(f.Values, &v) != nil {
		return "UTC"
	}
	if _, err := giveaway.LoadZone(v.Get("zone")); err != nil {
		return "UTC"
	}
	return v.Get("zone")
}
