package csvgen

import (
	"fmt"
	"strings"
	"time"
)

var plain = trouble{"", with(func(*generator, *raw) {})}

// A byte-order mark, line ends of both kinds, cells in quotes that need none,
// empty lines between rows, and a comma in a column's name are in every file.
var troubles = []trouble{
	// The file's form.
	{"comma in quotes", with(func(g *generator, r *raw) { r.cells[remarks] = "Yes, please, and thank you" })},
	{"quotes in quotes", with(func(g *generator, r *raw) { r.cells[remarks] = `My "old" boots, they leak` })},
	{"line break in a cell", with(func(g *generator, r *raw) {
		r.cells[remarks] = pick(g, []string{"First line\nsecond line", "First line\r\n\r\nthird line", "\n"})
	})},
	{"quote that is not doubled", with(func(g *generator, r *raw) {
		r.line = strings.Join([]string{r.cells[timestamp], r.cells[email], "", `Rob"in`, "US", "", "m", "9", "D", "30", "yes", ""}, ",")
		r.unreadable()
	})},
	{"last cell missing", with(func(g *generator, r *raw) { r.cut = columns - 1 })},
	{"short row", with(func(g *generator, r *raw) { r.cut = email + 1; r.excluded("ineligible") })},
	{"row of one cell", with(func(g *generator, r *raw) { r.cut = 1; r.unreadable() })},
	{"long row", with(func(g *generator, r *raw) { r.more = []string{"", "one cell too many"}; r.unreadable() })},
	{"empty cells too many", with(func(g *generator, r *raw) { r.more = []string{"", ""} })},
	{"row of empty cells", with(func(g *generator, r *raw) { r.line = strings.Repeat(",", columns-1); r.unreadable() })},

	// Addresses: testdata/facts/email.md, section 5.
	{"mixed case", with(func(g *generator, r *raw) { r.cells[email] = strings.ToUpper(r.Email[:3]) + r.Email[3:] })},
	{"stray blanks", with(func(g *generator, r *raw) {
		r.cells[email] = pick(g, []string{" ", "\t", "\u00a0", "  "}) + r.Email + pick(g, []string{" ", "\t", "\u00a0"})
		r.cells[country] = " " + r.cells[country] + "  "
	})},
	{"plus tag", with(func(g *generator, r *raw) { r.cells[email] = strings.Replace(r.Email, "@", "+boots@", 1) })},
	{"dots where they don't count", func(g *generator) []raw {
		a, b := g.pair()
		local, _, _ := strings.Cut(a.Email, "@")
		a.Email, b.Email = local+"@gmail.com", local+"@gmail.com"
		a.cells[email], b.cells[email] = a.Email, local[:2]+"."+local[2:]+"@googlemail.com"
		return later(a, b)
	}},
	{"dots where they count", func(g *generator) []raw {
		a, b := g.pair()
		b.Email = b.Email[:2] + "." + b.Email[2:]
		b.cells[email] = b.Email
		return []raw{a, b}
	}},
	{"international domain", with(func(g *generator, r *raw) {
		// bücher is xn--bcher-kva (RFC 3492 in use; testdata/facts/email.md, section 5, step 3).
		local, _, _ := strings.Cut(r.Email, "@")
		r.cells[email], r.Email = local+"@Bücher.example", local+"@xn--bcher-kva.example"
	})},
	{"other script before the @", with(func(g *generator, r *raw) { r.cells[email] = "мария@example.org"; r.unreadable() })},
	{"near miss of a domain", with(func(g *generator, r *raw) {
		local, _, _ := strings.Cut(r.Email, "@")
		r.cells[email], r.Email = local+"@gmial.com", local+"@gmial.com" // a hint on a form, not ours to change in a file
	})},
	{"no address", with(func(g *generator, r *raw) { r.cells[email] = pick(g, []string{"", "  "}); r.unreadable() })},
	{"no readable address", with(func(g *generator, r *raw) {
		// Limits and forms: RFC 5321, 4.5.3.1.1 to .3; RFC 5322, 3.2.3.
		r.cells[email] = pick(g, []string{"robin", "robin@", "@example.com", "robin@example", "robin hill@example.com", "robin@@example.com",
			"robin..hill@example.com", ".robin@example.com", "robin@example..com", "robin@-example.com", "Robin <robin@example.com>",
			strings.Repeat("r", 65) + "@example.com", "robin@" + strings.Repeat("e", 64) + ".com", "robin@example.com, sam@example.com"})
		r.unreadable()
	})},
	{"hidden character in an address", with(func(g *generator, r *raw) {
		r.cells[email] = r.Email[:4] + pick(g, []string{"\u200b", "\u00ad", "\a", "\u202e"}) + r.Email[4:]
		r.unreadable()
	})},

	// Duplicates: the earliest stands, of one time the upper.
	{"duplicate later", func(g *generator) []raw { a, b := g.pair(); return later(a, b) }},
	{"duplicate earlier", func(g *generator) []raw { a, b := g.pair(); return earlier(a, b) }},
	{"duplicate at the same time", func(g *generator) []raw {
		a, b := g.pair()
		b.cells[timestamp], b.Time = a.cells[timestamp], a.Time
		b.excluded("duplicate")
		return []raw{a, b}
	}},
	{"duplicate by a fraction", func(g *generator) []raw {
		a, b := g.pair()
		a.at(a.Time, 0)
		b.Time = a.Time
		b.cells[timestamp] = a.cells[timestamp] + ".25"
		a.cells[timestamp] += ".75"
		a.excluded("duplicate")
		return []raw{a, b}
	}},
	{"duplicate of one out of the window", func(g *generator) []raw {
		a, b := g.pair()
		a.at(opens.Add(-time.Hour), 0)
		a.excluded("ineligible")
		return []raw{a, b}
	}},
	{"duplicate of one out of the region", func(g *generator) []raw {
		a, b := g.pair()
		a.cells[country], a.cells[state] = "France", ""
		a.excluded("region")
		return later0(a, b)
	}},

	// The window, half-open.
	{"before opening", with(func(g *generator, r *raw) { r.at(opens.Add(-time.Second), g.rand.IntN(5)); r.excluded("ineligible") })},
	{"first second", with(func(g *generator, r *raw) { r.at(opens, g.rand.IntN(len(timeForms))) })},
	{"last second", with(func(g *generator, r *raw) { r.at(closes.Add(-time.Second), g.rand.IntN(len(timeForms))) })},
	{"at closing", with(func(g *generator, r *raw) { r.at(closes, g.rand.IntN(len(timeForms))); r.excluded("ineligible") })},
	{"no readable time", with(func(g *generator, r *raw) {
		r.cells[timestamp] = pick(g, []string{"", "yesterday", "2026-02-30 12:00:00", "13/13/2026 10:00:00", "2026-05-01 25:00:00", "2026-05-01", "46143.5"})
		r.unreadable()
	})},
	{"time that never was", with(func(g *generator, r *raw) {
		r.cells[timestamp] = "2026-03-08 02:30:00" // testdata/facts/time.md, TZ-03
		r.unreadable()
	})},
	{"time that came twice", with(func(g *generator, r *raw) {
		// Sydney's clocks went back on 2026-04-05, the first Sunday in April, as in TZ-46 a year later: the first counts.
		r.cells[timestamp], r.cells[zone] = "2026-04-05 02:30:00", "Australia/Sydney"
		r.Time = time.Date(2026, 4, 4, 15, 30, 0, 0, time.UTC)
	})},
	{"zone of its own", with(func(g *generator, r *raw) {
		r.cells[timestamp], r.cells[zone] = "2026-06-01 10:00:00", "Europe/London" // summer time: UTC+1
		r.Time = time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC)
	})},

	// Places.
	{"another country", with(func(g *generator, r *raw) {
		r.cells[country], r.cells[state] = pick(g, []string{"France", "DE", "New Zealand", "Côte d’Ivoire"}), ""
		r.excluded("region")
	})},
	{"province that is left out", with(func(g *generator, r *raw) {
		r.cells[country], r.cells[state] = "Canada", pick(g, []string{"QC", "Quebec", "qc"})
		r.excluded("region")
	})},
	{"province not named", with(func(g *generator, r *raw) { r.cells[country], r.cells[state] = "Canada", ""; r.excluded("region") })},
	{"no such country", with(func(g *generator, r *raw) {
		r.cells[country], r.cells[state] = pick(g, []string{"Atlantis", "Earth", "XX", ""}), ""
		r.excluded("region")
	})},

	// Sizes: testdata/facts/sizing.md.
	{"size with a fraction sign", with(func(g *generator, r *raw) {
		r.sized("mens", "mens", 21, "D")
		r.cells[size] = pick(g, []string{"10½", "10 ½", "10 1/2", "US 10.5", "10.50"})
	})},
	{"size with a comma", with(func(g *generator, r *raw) { r.sized("w", "womens", 19, "B"); r.cells[size] = "9,5" })},
	{"width in words", with(func(g *generator, r *raw) {
		if g.rand.IntN(2) == 0 {
			r.sized("mens", "mens", 20, "2E")
		} else {
			r.sized("womens", "womens", 16, "D") // a word means two letters less on the women's scale
		}
		r.cells[width] = pick(g, []string{"wide", "Wide", "W"})
	})},
	{"width repeated", with(func(g *generator, r *raw) {
		r.sized("mens", "mens", 20, "2E")
		r.cells[width] = pick(g, []string{"EE", "ee", "2e"})
	})},
	{"size that is not made", with(func(g *generator, r *raw) { r.sized("mens", "mens", 30, "4E") })}, // in the draw, to be settled
	{"European size", with(func(g *generator, r *raw) {
		r.cells[size] = pick(g, []string{"EU 42", "42", "eu43"})
		r.excluded("ineligible")
	})},
	{"no such size", with(func(g *generator, r *raw) {
		r.cells[size] = pick(g, []string{"9.25", "large", "", "27.5 cm", "-9", "10..5"})
		r.excluded("ineligible")
	})},
	{"system not named", with(func(g *generator, r *raw) {
		r.cells[system] = pick(g, []string{"", "unisex"})
		r.excluded("ineligible")
	})},

	// Other answers.
	{"too young", with(func(g *generator, r *raw) { r.cells[age] = fmt.Sprint(g.rand.IntN(18)); r.excluded("ineligible") })},
	{"age not given", with(func(g *generator, r *raw) { r.cells[age] = ""; r.excluded("ineligible") })},
	{"rules not accepted", with(func(g *generator, r *raw) {
		r.cells[rules] = pick(g, []string{"No", "", "false"})
		r.excluded("ineligible")
	})},
	{"barred", with(func(g *generator, r *raw) {
		r.cells[email], r.Email = fmt.Sprintf("Staff+%d@larkspur.example", g.people), "staff@larkspur.example"
		r.excluded("ineligible")
	})},
	{"formula for a name", with(func(g *generator, r *raw) {
		r.cells[first] = pick(g, []string{`=HYPERLINK("http://example.com","win")`, "@SUM(A1:A9)", "=1+1", "+44", "-1"})
	})},
	{"control character in a name", with(func(g *generator, r *raw) { r.cells[first] = pick(g, []string{"Ro\x07bin", "Ro\u200bbin", "\x1b[2J"}) })},
	{"long name", with(func(g *generator, r *raw) { r.cells[first] = strings.Repeat("Robin ", 20) })},
}

// pair is two good rows of one person.
func (g *generator) pair() (a, b raw) {
	a, b = g.good(), g.good()
	b.Email = a.Email
	b.cells[email] = pick(g, []string{a.Email, strings.ToUpper(a.Email), strings.Replace(a.Email, "@", "+again@", 1)})
	return a, b
}

// later makes b the later one, which is the duplicate.
func later(a, b raw) []raw {
	a.at(closes.Add(-48*time.Hour), 0)
	b.at(closes.Add(-47*time.Hour), 1)
	b.excluded("duplicate")
	return []raw{a, b}
}

// earlier makes b, which stands below, the earlier one: a is the duplicate.
func earlier(a, b raw) []raw {
	a.at(closes.Add(-47*time.Hour), 2)
	b.at(closes.Add(-48*time.Hour), 3)
	a.excluded("duplicate")
	return []raw{a, b}
}

// later0 makes b later without any duplicate.
func later0(a, b raw) []raw {
	a.at(closes.Add(-48*time.Hour), 0)
	b.at(closes.Add(-47*time.Hour), 0)
	return []raw{a, b}
}
