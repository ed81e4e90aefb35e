package web

import (
	"cmp"
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"evenhand/giveaway"
)

// labels name the form's fields in the summary of what is wrong, in the order
// in which they stand on the page. Fields of a row stand here without the
// row's number.
var labels = []fault{
	{Field: "prize", Label: "What is given away"}, {Field: "worth_sum", Label: "Price in a shop"}, {Field: "worth_currency", Label: "Price in a shop, in"}, {Field: "value", Label: "What it is worth, in words"},
	{Field: "winners", Label: "How many win one"}, {Field: "sponsor", Label: "Who sends the prize"}, {Field: "sponsor_address", Label: "Their postal address"},
	{Field: "channel", Label: "Your channel"}, {Field: "disclosure_kind", Label: "Who gave the prize"}, {Field: "disclosure_more", Label: "What else"}, {Field: "disclosure", Label: "One true sentence on who gave the prize"}, {Field: "host", Label: "Where people reach you with questions"},
	{Field: "run_system", Label: "Sizes: For"}, {Field: "run_from", Label: "Sizes: from"}, {Field: "run_to", Label: "Sizes: to"},
	{Field: "run_step", Label: "Sizes: in"}, {Field: "run_whole", Label: "Sizes: whole to"}, {Field: "run_widths", Label: "Sizes: widths"}, {Field: "run_except", Label: "Sizes: except"},
	{Field: "table", Label: "The table"}, {Field: "scale", Label: "For the same foot, a women’s number is"},
	{Field: "zone", Label: "Time zone"}, {Field: "closes", Label: "Entries close"}, {Field: "event", Label: "The draw"}, {Field: "opens", Label: "Entries start"},
	{Field: "live", Label: "Countries where people may live"}, {Field: "ship", Label: "Countries it can be sent to"}, {Field: "min_age", Label: "Youngest age"},
	{Field: "barred", Label: "Who else is left out?"}, {Field: "barred_tick", Label: "Everybody who enters ticks"},
	{Field: "not_live", Label: "States left out"}, {Field: "not_ship", Label: "States that it can’t be sent to"},
	{Field: "carriers", Label: "Who delivers"}, {Field: "filed_NY", Label: "Where the giveaway was filed"},
	{Field: "answer_days", Label: "Days a winner has to answer"}, {Field: "alternates", Label: "How many are next in line"}, {Field: "keep_days", Label: "Days after the end until people’s data are deleted"},
	{Field: "lock_minutes", Label: "Minutes before the draw at which the list locks itself"},
	{Field: "q_label", Label: "The question"}, {Field: "q_kind", Label: "is answered"}, {Field: "q_choices", Label: "Choices"}, {Field: "q_key", Label: "The question"},
	{Field: "title", Label: "Heading"}, {Field: "draw", Label: "Short name"}, {Field: "follows", Label: "It takes the place of the giveaway that was called off"},
	{Field: "steps", Label: "What you ask people to do"},
	{Field: "number", Label: "A public number"}, {Field: "second_who", Label: "Who, as pages name them"}, {Field: "second_role", Label: "Their short name"}, {Field: "second_hash", Label: "The fingerprint that they gave you"},
	{Field: "paragraphs", Label: "Your own paragraphs"}, {Field: "rules", Label: "The whole text"},
}

// fieldOf is the form's field for a field of the terms, where their names
// differ by more than rows and lists do.
var fieldOf = map[string]string{
	"sizes.run": "run_0_from", "sizes.scale": "scale",
	"region.live": "live", "region.not_live": "not_live", "region.ship": "ship", "region.not_ship": "not_ship",
	"worth.cents": "worth_sum", "worth.currency": "worth_currency", "step_kinds": "steps", "filed": "filed_NY",
	"questions": "q_0_label", "seconds": "second_0_who", "beacon": "number",
}

// termsRow finds a field of a row of the terms: its list, number and name.
var termsRow = regexp.MustCompile(`^(sizes\.run|questions|seconds)\.(\d+)\.([a-z]+)`)

var formLists = map[string]string{"sizes.run": "run", "questions": "q", "seconds": "second"}

// formField is the form's field for a field of the terms.
func formField(name string) string {
	if m := termsRow.FindStringSubmatch(name); m != nil {
		return formLists[m[1]] + "_" + m[2] + "_" + m[3]
	}
	base := strings.TrimRight(name, "0123456789")
	if base != name {
		name = strings.TrimSuffix(base, ".") // one of a list that is one field: barred.3
	}
	if f, ok := fieldOf[name]; ok {
		return f
	}
	return name
}

// onForm names the form's field for each problem of terms.
func onForm(_ giveaway.Terms, err error) giveaway.Problems {
	var problems giveaway.Problems
	errors.As(err, &problems)
	problems = slices.Clone(problems)
	for i, p := range problems {
		problems[i].Field = formField(p.Field)
	}
	return problems
}

var formRow = regexp.MustCompile(`^(run|q|second)_(\d+)_`)

// fieldPlace is where a field stands on the page: its section, its row, and its
// place within. A field that the form lacks stands last.
func fieldPlace(field string) (at [3]int, label string) {
	row, base := 0, baseField(field)
	m := formRow.FindStringSubmatch(field)
	if m != nil {
		row, _ = strconv.Atoi(m[2])
	}
	i := slices.IndexFunc(labels, func(l fault) bool { return l.Field == base })
	if i < 0 {
		return [3]int{len(labels)}, ""
	}
	label, section := labels[i].Label, i
	if m != nil {
		label += ", row " + strconv.Itoa(row+1)
		section = slices.IndexFunc(labels, func(l fault) bool { return strings.HasPrefix(l.Field, m[1]+"_") })
	}
	return [3]int{section, row, i}, label
}

// baseField is a field of a row without the row's number.
func baseField(field string) string {
	if m := formRow.FindStringSubmatch(field); m != nil {
		return m[1] + "_" + field[len(m[0]):]
	}
	return field
}

// needed are the fields that have to be filled in and are empty, in the page's
// order.
func (f termsForm) needed() (list []fault) {
	filled := map[string]string{"prize": f.Prize, "sponsor": f.Sponsor, "channel": f.Channel, "disclosure_kind": f.DisclosureKind, "zone": f.Zone, "closes": f.Closes, "event": f.Event}
	for _, l := range labels {
		if l.Field == "run_from" && f.sizesMissing() {
			list = append(list, fault{Field: "run_0_from", Label: "Sizes"})
		}
		if text, needs := filled[l.Field]; needs && text == "" {
			list = append(list, l)
		}
	}
	return list
}

// inSize finds a prize that comes in the winner's size.
var inSize = regexp.MustCompile(`(?i)\b(?:your|their|his or her|winner[’']s)\s+(?:own\s+)?size\b`)

// sizesMissing reports whether the prize is in the winner's size and no sizes
// are named: then nobody would be asked for one.
func (f termsForm) sizesMissing() bool {
	none := !slices.ContainsFunc(f.Ranges, func(r rangeForm) bool { return r.From+r.To+r.Whole != "" })
	return none && blankText(f.Table) && inSize.MatchString(f.Prize)
}

// faultsOf puts each problem beside a field of the form, in the page's order.
// One of a field that the form lacks stands last, in the summary alone.
func faultsOf(problems giveaway.Problems) []fault {
	var faults []fault
	for _, p := range problems {
		field := formField(p.Field)
		if _, label := fieldPlace(field); label != "" {
			faults = append(faults, fault{Field: field, Label: label, Text: p.Text})
		} else {
			faults = append(faults, fault{Label: p.Field, Text: p.Text})
		}
	}
	slices.SortStableFunc(faults, func(a, b fault) int {
		pa, _ := fieldPlace(a.Field)
		pb, _ := fieldPlace(b.Field)
		return cmp.Or(cmp.Compare(pa[0], pb[0]), cmp.Compare(pa[1], pb[1]), cmp.Compare(pa[2], pb[2]))
	})
	return faults
}
