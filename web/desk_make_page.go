package web

import (
	"encoding/base32"
	"errors"
	"maps"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

var keyText = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// A makePart is what the page for making has besides the form's fields.
type makePart struct {
	Path       string // where the form is sent
	Version    int64  // of the kept form that this page shows; 0: never kept
	Kept       string // when it was kept, or ""
	Other      bool   // another window kept something else
	Fresh      bool   // a form in which nothing was typed yet
	Earlier    []earlierOne
	Times      []timeField
	Heading    string // which heading is taken, where none is typed
	Sizes      string // the sizes in words
	Ranges     []rangeForm
	Questions  []questionForm
	Seconds    []makeSecond
	StepKinds  []option
	Currencies []option
	Places     map[string]string // the lists of countries in words
	Needed     []fault           // fields that still have to be filled in
	Whole      bool              // none has, in a form that was kept
}

// An earlierOne is a giveaway that a new one can start from.
type earlierOne struct{ ID, Title string }

// earlier are the newest three.
func (d *desk) earlier(c echo.Context) ([]earlierOne, error) {
	all, err := d.cfg.Host.Store.Giveaways(c.Request().Context())
	var list []earlierOne
	for _, g := range all[:min(len(all), 3)] {
		list = append(list, earlierOne{g.ID, strings.TrimRight(g.Terms.Title, ".")})
	}
	return list, err
}

// A makeSecond is a second secret with the address at which it is made.
type makeSecond struct {
	secondForm
	Link string
}

func (d *desk) makePage(c echo.Context, m making, f termsForm, stored giveaway.TypedForm) termsPage {
	p := termsPage{Frame: deskFrame("Making a giveaway"), F: f, ID: m.g.ID, Zones: zones, Twice: twiceOf(f), Seen: seen(m.g)}
	if m.g.ID != "" {
		p.Frame = d.frame(m.g, "The terms", now(c))
	}
	p.Told = toldWords[c.QueryParam("read")]
	p.makePart = makePart{
		Path: m.path, Version: stored.Version, Fresh: stored.At.IsZero() && m.g.ID == "", Kept: keptSaid(stored.At, f.Zone),
		Times: f.times(now(c)), Heading: f.headingSaid(), Sizes: f.sizeWords(),
		Ranges: padded(f.Ranges, max(1, 2-len(f.Ranges)), 40), Questions: padded(f.Questions, 1, 10),
		StepKinds: kindOptions(f.StepKinds), Currencies: currencyOptions(f.WorthCurrency), Places: f.Places(),
	}
	if !stored.At.IsZero() {
		p.Needed = f.needed()
		p.Whole = len(p.Needed) == 0 && len(p.Faults) == 0
	}
	p.Ranges = likeLast(p.Ranges, len(f.Ranges))
	for _, s := range padded(f.Seconds, 1, 7) {
		p.Seconds = append(p.Seconds, makeSecond{s, d.secondLink(f.Draw, s)})
	}
	return p
}

// likeLast begins the empty rows of sizes: one for men and one for women, later
// as the last one that is filled.
func likeLast(rows []rangeForm, filled int) []rangeForm {
	for i := filled; i < len(rows); i++ {
		switch {
		case i == 1 && rows[0].System != string(sizing.Womens):
			rows[i].System = string(sizing.Womens)
		case filled > 0:
			rows[i].System, rows[i].Step = rows[filled-1].System, rows[filled-1].Step
		}
	}
	return rows
}

// showDraft shows the form for a draft that is there.
func (d *desk) showDraft(c echo.Context, status int, g giveaway.Giveaway, f termsForm, problems giveaway.Problems) error {
	m := making{key: "g/" + g.ID, path: "/desk/g/" + g.ID + "/terms", g: g}
	stored, err := d.cfg.Desk.Forms.Form(c.Request().Context(), m.key)
	if err != nil && !errors.Is(err, giveaway.ErrNotFound) {
		return err
	}
	p := d.makePage(c, m, f, stored)
	p.Faults = faultsOf(problems)
	if status == 409 {
		p.Note = wordStale
	}
	return d.render(c, status, "desk_terms", p)
}

// padded adds empty rows, for those without script.
func padded[T any](rows []T, more, most int) []T {
	rows = append([]T{}, rows...)
	for range more {
		if len(rows) < most {
			var empty T
			rows = append(rows, empty)
		}
	}
	return rows
}

// keptSaid says when a form was kept, on the form's own clocks.
func keptSaid(at time.Time, zone string) string {
	if at.IsZero() {
		return ""
	}
	return "Kept " + stamp("", at, zone).Words + "."
}

func stampUTC(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// said is what the page's script shows beside the fields: times and sizes in
// words, and the heading that is taken where there is none.
func (f termsForm) said(now time.Time) map[string]string {
	all := map[string]string{"sizes": f.sizeWords(), "title": f.headingSaid(), "after": f.AfterWords(), "disclosure": f.DisclosureSaid(), "scale": f.ScaleSaid()}
	for _, one := range f.times(now) {
		all[one.Name] = one.Said
	}
	maps.Copy(all, f.Places())
	return all
}

// headingSaid says which heading is taken where none is typed.
func (f termsForm) headingSaid() string {
	if f.Title != "" || f.Prize == "" {
		return ""
	}
	return "Left empty, it says: " + f.Heading()
}

// sizeWords are the sizes in words; "" while they can't be read.
func (f termsForm) sizeWords() string {
	r := formReader{}
	f.Ranges = slices.Clone(f.Ranges)
	for i, row := range f.Ranges {
		f.Ranges[i].Widths = orText(row.Widths, usualWidth(row.System))
	}
	s := f.sizes(&r)
	if s == nil || len(r.problems) > 0 || s.Run.Validate() != nil {
		return ""
	}
	n := len(s.Run.All())
	return sizeWords(giveaway.Terms{Sizes: s}) + ": " + many(int64(n), "size", "sizes") + " in all."
}

var kindWords = map[string]string{
	giveaway.StepFollow: "to follow, like or subscribe", giveaway.StepShare: "to post or share something", giveaway.StepReview: "to write a review",
	giveaway.StepRefer: "to bring somebody else", giveaway.StepPay: "to buy, give or pay something", giveaway.StepOther: "something else",
}

func kindOptions(set map[string]bool) []option {
	var list []option
	for _, k := range giveaway.StepKinds {
		list = append(list, option{k, kindWords[k], set[k]})
	}
	return list
}

func currencyOptions(chosen string) []option {
	var list []option
	for _, code := range giveaway.Currencies {
		list = append(list, option{code, currencyName(code), code == chosen})
	}
	return list
}

func currencyName(code string) string {
	return strings.TrimPrefix(giveaway.Worth{Currency: code}.Words(), "0.00 ")
}

// secondLink is the address at which somebody makes a second secret; "" while
// something for it is missing.
func (d *desk) secondLink(id string, s secondForm) string {
	role := s.roleOr()
	if !draw.ValidID(id) || !draw.ValidRole(role) || s.Hash != "" {
		return ""
	}
	return d.link("/second?" + url.Values{"draw": {id}, "role": {role}}.Encode())
}

func blankText(s string) bool { return strings.TrimSpace(s) == "" }

// FiledNames are the states where a giveaway may be filed.
func (p termsPage) FiledNames() map[string]string {
	return map[string]string{"NY": "New York", "FL": "Florida", "RI": "Rhode Island"}
}

// RowFaults are what is wrong in a row, by its name such as run_0.
func (p termsPage) RowFaults(row string) []fault {
	return slices.DeleteFunc(slices.Clone(p.Faults), func(f fault) bool { return !strings.HasPrefix(f.Field, row+"_") })
}
