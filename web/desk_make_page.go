package web

import (
	"encoding/base32"
	"errors"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

var keyText = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// A makePart is what the page for making has besides the form's fields.
type makePart struct {
	Path       string // where the form is sent
	Version    int64  // of the kept form that this page shows; 0: never kept
	Kept       string // when it was kept, or ""
	Other      bool   // another window kept something else
	Fresh      bool   // a form in which nothing was typed yet
	Times      []timeField
	Sizes      string // the sizes in words
	Ranges     []rangeForm
	Questions  []questionForm
	Seconds    []makeSecond
	StepKinds  []option
	Currencies []option
}

// A makeSecond is a second secret with the address at which it is made.
type makeSecond struct {
	secondForm
	Link string
}

// A timeField is one of the three times, with what has to be chosen.
type timeField struct {
	Name, Label, Hint string
	Value, Zone       string // Zone only where it is not the zone of the others
	Said              string // in words, or ""
	Twice, Instead    []option
	Faults            []string
}

func (d *desk) makePage(c echo.Context, m making, f termsForm, stored giveaway.TypedForm) termsPage {
	p := termsPage{Frame: deskFrame("Making a giveaway"), F: f, ID: m.g.ID, Zones: zones, Twice: twiceOf(f), Seen: seen(m.g)}
	if m.g.ID != "" {
		p.Frame = d.frame(m.g, "The terms", now(c))
	}
	p.Told = toldWords[c.QueryParam("read")]
	p.makePart = makePart{
		Path: m.path, Version: stored.Version, Fresh: stored.At.IsZero() && m.g.ID == "", Kept: keptAtWords(stored.At, f.Zone),
		Times: f.times(), Sizes: f.sizeWords(),
		Ranges: padded(f.Ranges, 2, 40), Questions: padded(f.Questions, 2, 10),
		StepKinds: kindOptions(f.StepKinds), Currencies: currencyOptions(f.WorthCurrency),
	}
	if len(f.Ranges) == 0 {
		p.Ranges[0].System, p.Ranges[1].System = "mens", "womens"
	}
	for _, s := range padded(f.Seconds, 1, 7) {
		p.Seconds = append(p.Seconds, makeSecond{s, d.secondLink(f.Draw, s)})
	}
	return p
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

// keptAtWords say when a form was kept, on the form's own clocks.
func keptAtWords(at time.Time, zone string) string {
	if at.IsZero() {
		return ""
	}
	loc, err := giveaway.LoadZone(zone)
	if err != nil {
		return "Kept at " + at.UTC().Format("15:04") + " UTC."
	}
	return "Kept at " + at.In(loc).Format("15:04") + ", " + zoneWords(zone) + "."
}

func stampUTC(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// times are the three times of the form.
func (f termsForm) times() []timeField {
	list := []timeField{
		{Name: "opens", Label: "Entries start", Value: f.Opens, Zone: f.OpensZone},
		{Name: "closes", Label: "Entries close", Value: f.Closes, Zone: f.ClosesZone, Hint: "From this moment on none is taken."},
		{Name: "event", Label: "The draw, in your show", Value: f.Event, Hint: "At least ten minutes after entries close."},
	}
	which := map[string]string{"opens": f.OpensWhich, "closes": f.ClosesWhich, "event": f.EventWhich}
	instead := map[string]string{"opens": f.OpensTake, "closes": f.ClosesTake, "event": f.EventTake}
	for i := range list {
		one := &list[i]
		zone := f.zoneOf(one.Name)
		one.Twice = twiceOptions(one.Value, zone, which[one.Name])
		one.Instead = insteadOptions(one.Value, zone, instead[one.Name])
		one.Said = timeSaid(one.Value, zone, which[one.Name], instead[one.Name])
	}
	return list
}

// timeSaid says a time back: its weekday, its zone, and what it is in UTC.
func timeSaid(local, zone, which, instead string) string {
	r := formReader{}
	m := r.moment("", taken(local, instead, zone), zone, which)
	if m.UTC.IsZero() {
		return ""
	}
	words := timeWords(m)
	if m.Zone == "UTC" {
		return words + "."
	}
	utc := m.UTC.Format("15:04 UTC")
	if local, err := giveaway.LoadZone(m.Zone); err == nil && m.UTC.In(local).Weekday() != m.UTC.Weekday() {
		utc += " on " + m.UTC.Format("Monday 2 January")
	}
	return words + "; that is " + utc + "."
}

func twiceOptions(local, zone, which string) []option {
	var twice giveaway.RepeatedError
	if _, err := giveaway.ParseMoment(wallTime(local), zone, 0); !errors.As(err, &twice) {
		return nil
	}
	return []option{
		{"1", "the first, before clocks go back: " + twice.First.Format("15:04 UTC"), which == "1"},
		{"2", "the second, after clocks went back: " + twice.Second.Format("15:04 UTC"), which == "2"},
	}
}

func insteadOptions(local, zone, instead string) []option {
	var skipped giveaway.SkippedError
	if _, err := giveaway.ParseMoment(wallTime(local), zone, 0); !errors.As(err, &skipped) {
		return nil
	}
	var list []option
	for _, one := range []string{skipped.Before, skipped.After} {
		if said := timeSaid(one, zone, "", ""); said != "" {
			list = append(list, option{one, strings.TrimSuffix(said, "."), instead == one})
		}
	}
	return list
}

// said is what the page's script shows beside the fields: times and sizes in
// words.
func (f termsForm) said() map[string]string {
	all := map[string]string{"sizes": f.sizeWords()}
	for _, one := range f.times() {
		all[one.Name] = one.Said
		switch {
		case len(one.Twice) > 0 && one.Said == "":
			all[one.Name] = "This time comes twice there, because clocks go back. You will be asked which one is meant."
		case len(one.Instead) > 0 && one.Said == "":
			all[one.Name] = "Clocks there jump over this time, so it never comes. You will be asked for another."
		}
	}
	return all
}

// sizeWords are the sizes in words; "" while they can't be read.
func (f termsForm) sizeWords() string {
	r := formReader{}
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
		words := giveaway.Worth{Currency: code}.Words()
		list = append(list, option{code, strings.TrimPrefix(words, "0.00 "), code == chosen})
	}
	return list
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

// MoreWho reports whether the rarer fields of who can win are shown at once.
func (p termsPage) MoreWho() bool {
	return p.F.NotShip != "" || p.F.FreelyAssociated || len(p.F.Filed) > 0 || len(p.Of("not_ship")) > 0
}
