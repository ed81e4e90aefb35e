package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A cautionFill is the field of the form that a caution says is missing. It
// stands beside the caution, so that nobody has to look for it.
type cautionFill struct {
	Field, Label string
	Typed        string
	Faults       []string
}

// cautionFields are those fields, by the caution's code.
var cautionFields = map[string]string{"E-1": "host", "L-A3a": "sponsor_address", "L-A9a": "disclosure", "L-A3v": "worth_sum"}

// fillFor is the field that a caution asks for; nil where there is none, or a
// value in another currency stands in it.
func fillFor(t giveaway.Terms, code string) *cautionFill {
	field, ok := cautionFields[code]
	if !ok || field == "worth_sum" && t.Worth != nil {
		return nil
	}
	_, label := fieldPlace(field)
	if field == "worth_sum" {
		label += ", in " + currencyName(formOf(t).WorthCurrency)
	}
	return &cautionFill{Field: field, Label: label}
}

// fillIn takes what was typed beside the cautions into their rows; nil where
// nothing was.
func fillIn(rows []cautionRow, form url.Values) (typed url.Values) {
	for _, r := range rows {
		if r.Fill == nil {
			continue
		}
		if r.Fill.Typed = strings.TrimSpace(form.Get(r.Fill.Field)); r.Fill.Typed != "" {
			if typed == nil {
				typed = url.Values{}
			}
			typed.Set(r.Fill.Field, r.Fill.Typed)
		}
	}
	return typed
}

// fillCautions puts what was typed beside the cautions into the terms, as the
// form would, and marks the others.
func (d *desk) fillCautions(c echo.Context, g giveaway.Giveaway, rows []cautionRow, these []int, typed url.Values) error {
	f := formOf(g.Terms)
	take(typed, slices.DeleteFunc(f.fields(), func(b bound[string]) bool { return !typed.Has(b.name) }))
	if typed.Has("disclosure") {
		f.DisclosureKind = gaveOwnWords
	}
	t, problems := f.starting().onto(g.Terms)
	if problems = merge(problems, onForm(t, t.Validate())); len(problems) > 0 {
		return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, faultyFills(rows, problems))
	}
	changed, err := d.changeDraft(c, g, t)
	switch {
	case errors.Is(err, giveaway.ErrStale), errors.Is(err, giveaway.ErrState):
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	case err != nil:
		return err
	}
	after, err := d.cautionRows(c, changed)
	if err != nil {
		return err
	}
	return d.markRead(c, g, after, stillThere(rows, these, after))
}

// faultyFills puts what is wrong beside the fields, and returns what can't
// stand there.
func faultyFills(rows []cautionRow, problems giveaway.Problems) (problem string) {
	problem = problems[0].Text
	for _, r := range rows {
		if r.Fill == nil {
			continue
		}
		if r.Fill.Faults = problems.Of(r.Fill.Field); len(r.Fill.Faults) > 0 {
			problem = ""
		}
	}
	return problem
}

// stillThere are those of the marked rows that the changed terms raise too, by
// their place after the change. What was filled in is gone from them.
func stillThere(rows []cautionRow, these []int, after []cautionRow) (left []int) {
	for _, i := range these {
		if j := slices.IndexFunc(after, func(r cautionRow) bool { return r.Mark == rows[i].Mark }); j >= 0 {
			left = append(left, j)
		}
	}
	return left
}
