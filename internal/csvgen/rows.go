package csvgen

import (
	"fmt"
	"strings"
	"time"
)

// The columns of the file.
const (
	timestamp = iota
	email
	zone
	first
	country
	state
	system
	size
	width
	age
	rules
	remarks
	columns
)

var header = [columns]string{
	"Timestamp", "Email Address", "Time zone", "First name", "Which country do you live in, at present?", "State",
	"Men's or women's", "Shoe size", "Width", "How old are you?", "I accept the rules", "Anything else?",
}

// Zone is the zone of times whose row names none.
const Zone = "America/New_York"

// Mapping says which column holds which field. One column's name has a comma.
const Mapping = "time=Timestamp,email=Email Address,zone=Time zone,name=First name," +
	"live=Which country do you live in, at present?,state=State,system=Men's or women's,size=Shoe size," +
	"width=Width,age=How old are you?,rules=I accept the rules"

// Terms are those of the giveaway, as JSON. The event is the time of a round
// whose value is published: quicknet's 30798012, 2026-07-28T00:10:00Z
// (testdata/vectors/drand-quicknet.json).
const Terms = `{
  "draw": "trail-boots", "channel": "Slow Miles", "title": "Win trail boots",
  "prize": "A pair of hiking boots", "sponsor": "Larkspur Trail Supply",
  "opens":  {"local": "2026-03-01T00:00", "zone": "America/New_York"},
  "closes": {"local": "2026-07-26T20:00", "zone": "America/New_York"},
  "event":  {"local": "2026-07-27T20:10", "zone": "America/New_York"},
  "winners": 2, "alternates": 8, "min_age": 18,
  "sizes": {"run": [
    {"system": "mens", "from": "7", "to": "14", "step": "half", "widths": ["D", "2E"]},
    {"system": "womens", "from": "5", "to": "11", "step": "half", "widths": ["B", "D"]}]},
  "region": {"live": ["US", "CA", "GB"], "not_live": ["CA-QC"],
    "alaska_hawaii": true, "territories": true, "military": true},
  "barred": ["staff@larkspur.example"],
  "rules": "One entry for each person.\n"
}
`

// The window of Terms, half-open. New York is 5 hours behind UTC until
// 2026-03-08, 4 hours after that (testdata/facts/time.md, section 3).
var (
	opens  = time.Date(2026, 3, 1, 5, 0, 0, 0, time.UTC)
	closes = time.Date(2026, 7, 27, 0, 0, 0, 0, time.UTC)
)

// good is a row with nothing wrong: some time in the window, some size of the
// run, written in one of the usual ways.
func (g *generator) good() raw {
	local, domain := g.person()
	r := raw{Row: Row{List: Roll, Email: local + "@" + domain}}
	r.cells[email] = r.Email
	r.at(opens.Add(time.Duration(g.rand.Int64N(int64(closes.Sub(opens)/time.Second)))*time.Second), g.rand.IntN(len(timeForms)))
	r.cells[first] = pick(g, []string{"Robin", "Sam", "Zoë", "Mika", "Ngọc", "Олена", "陽子", ""})
	where := pick(g, [][3]string{{"US", "", "US"}, {"United States", "NY", "US"}, {"usa", "tx", "US"}, {"Canada", "ON", "CA"},
		{"CA", "British Columbia", "CA"}, {"United Kingdom", "", "GB"}, {"gb", "", "GB"}, {"Puerto Rico", "", "PR"}})
	r.cells[country], r.cells[state], r.Ship = where[0], where[1], where[2]
	if g.rand.IntN(2) == 0 {
		half := 14 + g.rand.IntN(15) // 7 to 14
		r.sized(pick(g, []string{"Men's", "mens", "M", "Men’s"}), "mens", half, pick(g, []string{"D", "2E"}))
	} else {
		half := 10 + g.rand.IntN(13) // 5 to 11
		r.sized(pick(g, []string{"Women's", "WOMENS", "w", "Women’s"}), "womens", half, pick(g, []string{"B", "D"}))
	}
	r.cells[age] = fmt.Sprint(18 + g.rand.IntN(60))
	r.cells[rules] = pick(g, []string{"Yes", "TRUE", "yes"})
	return r
}

// sized sets the size, counted in halves.
func (r *raw) sized(typed, scale string, half int, letter string) {
	number := fmt.Sprint(half / 2)
	if half%2 == 1 {
		number += ".5"
	}
	r.cells[system], r.cells[size], r.cells[width] = typed, number, letter
	r.Size = scale + " " + number + " " + letter
}

// timeForms are the ways in which times are written; the first few bear no
// zone and are those of New York's clocks.
var timeForms = []string{
	"2006-01-02 15:04:05", "1/2/2006 15:04:05", "2006/01/02 3:04:05 PM", "1/2/2006 3:04:05 pm", "2006-01-02T15:04:05",
	"2006-01-02T15:04:05Z07:00", "2006/01/02 3:04:05 PM GMT-4",
}

// at sets the row's time, written in one of the forms.
func (r *raw) at(t time.Time, form int) {
	newYork, err := time.LoadLocation(Zone)
	if err != nil {
		panic("csvgen: no zone data: " + err.Error())
	}
	r.Time = t
	layout := timeForms[form]
	if fixed, ok := strings.CutSuffix(layout, " GMT-4"); ok {
		r.cells[timestamp] = t.In(time.FixedZone("", -4*3600)).Format(fixed) + " GMT-4"
		return
	}
	r.cells[timestamp] = t.In(newYork).Format(layout)
}

// with changes a good row.
func with(change func(g *generator, r *raw)) func(g *generator) []raw {
	return func(g *generator) []raw {
		r := g.good()
		change(g, &r)
		return []raw{r}
	}
}

// excluded makes a row that is read but not in the draw.
func (r *raw) excluded(reason string) { r.List, r.Reason = Excluded, reason }

// unreadable makes a row without a ticket.
func (r *raw) unreadable() { r.List, r.Reason = Unreadable, "" }
