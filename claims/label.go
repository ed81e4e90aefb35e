package claims

import (
	"slices"
	"strings"

	"evenhand/eligibility"
)

// label writes Tidy.Lines and Tidy.Country.
func (c *addressCheck) label() {
	c.tidy.Country = upper(eligibility.CountryName(eligibility.Fold(eligibility.Place{Country: c.chosen, State: c.state}).Country))
	switch c.postal {
	case "US":
		for _, line := range c.a.Lines {
			c.tidy.Lines = append(c.tidy.Lines, labelLine(line))
		}
		c.tidy.Lines = append(c.tidy.Lines, lastLine(plain(c.a.City), c.state, c.code))
	case "CA":
		for _, line := range c.a.Lines {
			c.tidy.Lines = append(c.tidy.Lines, upper(line))
		}
		c.tidy.Lines = append(c.tidy.Lines, lastLine(upper(c.a.City), c.state, c.code))
	default:
		c.tidy.Lines = append(slices.Clone(c.a.Lines), elsewhere(c.a)...)
	}
}

// lastLine has one blank before the state and two before the code
// (Publication 28, Appendix B; the same in Canada, from memory).
func lastLine(city, state, code string) string {
	return strings.TrimSpace(strings.TrimSpace(city+" "+state) + "  " + code)
}

// elsewhere puts town, region and code on lines of their own, as typed: where
// the code stands differs from country to country, and no table of that is at
// hand.
func elsewhere(a Address) []string {
	return slices.DeleteFunc([]string{a.City, a.State, a.Postal}, func(s string) bool { return s == "" })
}

// plain is a text in capitals without the punctuation that Publication 28
// leaves out. Hyphens, slashes, # and the point within a number stay.
func plain(text string) string {
	var words []string
	for _, w := range strings.Fields(strings.NewReplacer(",", " ", ";", " ", "#", " # ").Replace(upper(text))) {
		if w = word(w); w != "" {
			words = append(words, w)
		}
	}
	return strings.Join(words, " ")
}

// word is one word in capitals without points (but within a number) and
// apostrophes.
func word(w string) string {
	w = upper(strings.Trim(w, ".,;"))
	if !strings.ContainsAny(w, "0123456789") {
		w = strings.ReplaceAll(w, ".", "")
	}
	return strings.NewReplacer("'", "", "’", "").Replace(w)
}

// labelLine is a US delivery line in the post's recommended form: capitals,
// short forms of the unit, of a directional, and of the last suffix word.
// Sources: Publication 28, Appendices C1 and C2 and sections 234.2 and 281
// (testdata/facts/postal.md, sections 4 and 5).
func labelLine(line string) string {
	line = unitHash(line)
	words := strings.Fields(plain(line))
	if eligibility.KindOfLine(line) == eligibility.LinePOBox {
		return "PO BOX " + words[len(words)-1]
	}
	street, unit := splitUnit(words)
	return strings.Join(append(shortStreet(street), unit...), " ")
}

// splitUnit takes the units off the end of a line and shortens their words:
// "BUILDING 2 APARTMENT 4B" to "BLDG 2 APT 4B".
func splitUnit(words []string) (street, unit []string) {
	for {
		n := len(words)
		switch {
		case n >= 2 && (words[n-2] == "#" || words[n-2] == "PMB"):
			unit = append([]string{words[n-2], words[n-1]}, unit...)
			words = words[:n-2]
		case n >= 2 && n != 3 && unitWords[words[n-2]].numbered && hasDigitOrLetter(words[n-1]):
			unit = append([]string{unitWords[words[n-2]].abbr, words[n-1]}, unit...)
			words = words[:n-2]
		case n >= 3 && unitWords[words[n-1]].alone:
			unit = append([]string{unitWords[words[n-1]].abbr}, unit...)
			words = words[:n-1]
		default:
			return words, unit
		}
	}
}

// hasDigitOrLetter reports what numbers a unit: 4, 4B, or a single letter. A
// longer word is a name: "12 KEY WEST".
func hasDigitOrLetter(w string) bool {
	return strings.ContainsAny(w, "0123456789") || len(w) == 1
}

// shortStreet shortens "123 NORTH MAIN STREET WEST" to "123 N MAIN ST W". A
// line that does not begin with a house number stays as it is: it may be the
// name of a house. So does a directional that is the street's whole name, as
// in "12 NORTH ST", and one beside another, of which nobody knows which
// belongs to the name.
func shortStreet(words []string) []string {
	if len(words) < 3 || !strings.ContainsAny(words[0], "0123456789") {
		return words
	}
	out := slices.Clone(words)
	first := 1 // of the street's name
	if strings.Contains(out[1], "/") {
		first = 2
	}
	last := len(out) - 1
	if d := directionals[out[last]]; d != "" && last-2 >= first && isSuffix(out[last-1]) {
		out[last] = d
		last--
	}
	if last > first && isSuffix(out[last]) {
		if short := suffixes[out[last]]; short != "" {
			out[last] = short
		}
		last--
	}
	if d := directionals[out[first]]; d != "" && first < last && directionals[out[first+1]] == "" {
		out[first] = d
	}
	return out
}

func isSuffix(w string) bool { return suffixes[w] != "" || shortSuffix[w] }
