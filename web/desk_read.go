package web

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

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
		r.add(field, "Write a number.")
		return 0
	}
	return n
}

// moment reads a wall time. One that clocks jump over is refused with its two
// neighbours; of one that comes twice it is asked which is meant.
func (r *formReader) moment(field, local, zone, which string) giveaway.Moment {
	n, _ := strconv.Atoi(which) // "" and nonsense are 0: not said
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
	case errors.Is(err, giveaway.ErrZone):
		if len(r.problems.Of("zone")) == 0 {
			r.add("zone", "Choose a zone by its area and a place, such as America/New_York.")
		}
	default:
		r.add(field, "Write a date and a time such as 2026-12-11T20:30.")
	}
	return giveaway.Moment{Local: local, Zone: zone}
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

func (r *formReader) sizes(field string, system sizing.System, f sizesForm) sizing.Range {
	g := sizing.Range{System: system, From: r.half(field+"_from", f.From), To: r.half(field+"_to", f.To), Step: f.Step}
	for _, w := range splitList(f.Widths) {
		width, err := sizing.ParseWidth(system, w)
		if err != nil {
			r.add(field+"_widths", "There is no width “%.10s”. Write letters such as B, D, 2E.", w)
			continue
		}
		g.Widths = append(g.Widths, width)
	}
	for _, e := range splitList(f.Except) {
		g.Except = append(g.Except, r.half(field+"_except", e))
	}
	return g
}

func (r *formReader) half(field, typed string) sizing.Half {
	h, err := sizing.ParseSize(typed)
	if err != nil {
		r.add(field, "Write a size such as 10 or 10.5.")
	}
	return h
}
