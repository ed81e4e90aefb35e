package web

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A formReader reads the fields of the terms form and keeps what is wrong.
type formReader struct{ problems giveaway.Problems }

func (r *formReader) add(field, format string, args ...any) {
	r.problems = append(r.problems, giveaway.Problem{Field: field, Text: fmt.Sprintf(format, args...)})
}

func (r *formReader) number(field, typed string) int {
	n, err := strconv.Atoi(typed)
	if err != nil || n < 0 || n > 1_000_000 {
		least, most := giveaway.NumbersOf(field)
		r.add(field, "Write a number from %d to %d.", least, most)
		return 0
	}
	return n
}

// moment reads a wall time. One that clocks jump over is refused with its two
// neighbours; of one that comes twice it is asked which is meant.
func (r *formReader) moment(field, local, zone, which string) giveaway.Moment {
	n, _ := strconv.Atoi(which) // "" and nonsense are 0: not said
	local = wallTime(local)
	m, err := giveaway.ParseMoment(local, zone, n)
	var skipped giveaway.SkippedError
	var twice giveaway.RepeatedError
	switch {
	case err == nil:
		return m
	case errors.As(err, &skipped):
		r.add(field, "Clocks there jump over this time, so it never comes. Choose %s or %s.", localWords(skipped.Before), localWords(skipped.After))
	case errors.As(err, &twice):
		r.add(field, "This time comes twice there, because clocks go back. Say which one is meant.")
	case errors.Is(err, giveaway.ErrZone): // said by zone
	case local == "":
		r.add(field, "Choose a day and an hour.")
	default:
		r.add(field, "Choose a day and an hour, or write them so: 2026-12-11 20:30.")
	}
	return giveaway.Moment{Local: local, Zone: zone}
}

// zone reads a time zone. In place of one that can't be read it gives UTC, so
// that the times can still be looked at: they are not kept as they are then.
func (r *formReader) zone(zone string) string {
	if _, err := giveaway.LoadZone(zone); err == nil {
		return zone
	}
	switch {
	case len(r.problems.Of("zone")) > 0:
	case zone == "":
		r.add("zone", "Choose the time zone in which these times are meant.")
	default:
		r.add("zone", "Choose a zone by its area and a place, such as America/New_York.")
	}
	return "UTC"
}

// localWords shows a wall time as people write it: 2026-11-01 01:59.
func localWords(local string) string {
	if len(local) > 10 && local[10] == 'T' {
		return local[:10] + " " + local[11:]
	}
	return local
}

func (r *formReader) countries(field, typed string) []string {
	var codes []string
	for _, one := range splitList(typed) {
		code, err := countryCode(one)
		if err != nil {
			r.add(field, "There is no country “%.40s”. Write its English name or its two letters, such as US.", one)
			continue
		}
		codes = append(codes, code)
	}
	return codes
}

// states reads codes of states, in any case.
func (r *formReader) states(field, typed string) []string {
	var codes []string
	for _, one := range splitList(typed) {
		code := strings.ToUpper(one)
		country, state, _ := strings.Cut(code, "-")
		if eligibility.StateName(country, state) == "" {
			r.add(field, "“%.40s” is not known here. Write a code such as US-FL.", one)
			continue
		}
		codes = append(codes, code)
	}
	return codes
}

func (r *formReader) sizes(row string, f rangeForm) sizing.Range {
	g := sizing.Range{System: sizing.System(f.System), From: r.half(row+"_from", f.From), To: r.half(row+"_to", f.To), Step: f.Step}
	for _, w := range splitWidths(f.Widths) {
		width, err := sizing.ParseWidth(g.System, w)
		if err != nil {
			r.add(row+"_widths", "There is no width “%.10s”. Write letters such as B, D, 2E.", w)
			continue
		}
		g.Widths = append(g.Widths, width)
	}
	for _, e := range splitList(f.Except) {
		g.Except = append(g.Except, r.half(row+"_except", e))
	}
	return g
}

// wholeSizes are the whole sizes behind a range, up to the one that is typed.
func (r *formReader) wholeSizes(field string, g sizing.Range, typed string) sizing.Range {
	to := r.half(field, typed)
	from := g.To + 2 - g.To%2
	if g.To > 0 && to > 0 && (to < from || to%2 != 0) {
		r.add(field, "Write a whole size above %s, such as %s, or leave it empty.", g.To.Shown(), from.Shown())
	}
	return sizing.Range{System: g.System, From: from, To: to, Step: sizing.WholeSteps, Widths: g.Widths}
}

func (r *formReader) half(field, typed string) sizing.Half {
	h, err := sizing.ParseSize(typed)
	if err != nil {
		r.add(field, "Write a size such as 10 or 10.5.")
	}
	return h
}

// numberOrNone reads a number that may be left out.
func (r *formReader) numberOrNone(field, typed string) int {
	if typed == "" {
		return 0
	}
	return r.number(field, typed)
}

var money = regexp.MustCompile(`^(\d{1,9}|\d{1,3}(?:,\d{3}){1,2})(?:\.(\d{2}))?$`)

// worth reads a sum such as 189, 189.00 or 1,189.00; nil where there is none.
func (r *formReader) worth(sum, currency string) *giveaway.Worth {
	if sum == "" {
		return nil
	}
	m := money.FindStringSubmatch(strings.TrimLeft(sum, "$£€ "))
	if m == nil {
		r.add("worth_sum", "Write a sum such as 189 or 189.50.")
		return nil
	}
	cents, err := strconv.ParseInt(strings.ReplaceAll(m[1], ",", "")+(m[2] + "00")[:2], 10, 64)
	if err != nil {
		r.add("worth_sum", "Write a sum such as 189 or 189.50.")
		return nil
	}
	return &giveaway.Worth{Cents: cents, Currency: currency}
}

// wallTime brings a typed time to the form that browsers send: a blank in
// place of the T is taken too.
func wallTime(typed string) string {
	if len(typed) >= 16 && typed[10] == ' ' {
		return typed[:10] + "T" + typed[11:]
	}
	return typed
}

// taken is the neighbour that was chosen in place of a time that never comes,
// or the time itself.
func taken(local, instead, zone string) string {
	var skipped giveaway.SkippedError
	_, err := giveaway.ParseMoment(wallTime(local), zone, 0)
	if errors.As(err, &skipped) && (instead == skipped.Before || instead == skipped.After) {
		return instead
	}
	return local
}

// slug makes a short name of a–z, 0–9 and hyphens from words, most characters
// at most and cut between words where that can be.
func slug(words string, most int) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(words)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case strings.ContainsRune("'’", r) || unicode.Is(unicode.Mn, r):
		default:
			b.WriteByte(' ')
		}
	}
	name := strings.Join(strings.Fields(b.String()), "-")
	if len(name) <= most {
		return name
	}
	if i := strings.LastIndexByte(name[:most+1], '-'); i > 0 {
		return name[:i]
	}
	return strings.TrimRight(name[:most], "-")
}
