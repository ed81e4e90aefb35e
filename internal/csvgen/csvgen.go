// Package csvgen writes a file of entries as a form of somebody else's would
// export it, with the troubles that such files have, and says for each row what
// must become of it. It knows that from how it made the row: it uses none of
// this project's packages, so that it can't share a mistake with them.
//
// Start with [Generate]. [Terms] are the terms that the expectations go by,
// [Mapping] and [Zone] what a reader of the file has to be told.
//
// What is expected follows the facts in testdata/facts (addresses: email.md;
// sizes and widths: sizing.md; times: time.md) and the terms; where a file can
// be read in two ways, the import's documented choice. File forms are those of
// RFC 4180 and of common spreadsheets (common practice, no source).
package csvgen

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"sort"
	"strings"
	"time"
)

// Where a row ends up.
const (
	Roll       = "roll"
	Excluded   = "excluded"
	Unreadable = "unreadable"
)

// A Row is what must become of one row of the file.
type Row struct {
	Number  int    // as a spreadsheet shows it; the header is row 1
	Trouble string // the name of what is wrong with it, "" for nothing
	List    string // Roll, Excluded or Unreadable
	Reason  string // of an excluded row: duplicate, region, ineligible

	Email string    // what counts for duplicates
	Time  time.Time // UTC, whole seconds
	Size  string    // "mens 10.5 D", of a row in the roll
	Ship  string    // country code, of a row in the roll
}

// A raw row is on its way into the file.
type raw struct {
	Row
	cells [columns]string
	line  string   // instead of cells: the line as it stands in the file
	cut   int      // cells that are written; 0 for all of them
	more  []string // cells behind the last column
	order float64  // where in the file, 0 to 1
}

// Generate makes a file of so many rows, a few hundred at least so that each
// trouble is in it. The same seed gives the same bytes.
func Generate(seed uint64, rows int) (file []byte, expected []Row) {
	g := &generator{rand: rand.New(rand.NewPCG(seed, 1))}
	for _, trouble := range troubles {
		for range 3 {
			g.add(trouble)
		}
	}
	for len(g.rows) < rows-2 {
		if g.rand.IntN(100) < 55 {
			g.add(plain)
		} else {
			g.add(troubles[g.rand.IntN(len(troubles))])
		}
	}
	for len(g.rows) < rows {
		g.add(plain)
	}
	sort.SliceStable(g.rows, func(i, j int) bool { return g.rows[i].order < g.rows[j].order })
	return g.write()
}

// A generator has made some rows.
type generator struct {
	rand   *rand.Rand
	rows   []raw
	people int
}

// A trouble makes one row or several that belong together, in the order in
// which they stand in the file.
type trouble struct {
	name string
	make func(g *generator) []raw
}

func (g *generator) add(t trouble) {
	made := t.make(g)
	places := make([]float64, len(made))
	for i := range places {
		places[i] = g.rand.Float64()
	}
	sort.Float64s(places)
	for i, r := range made {
		r.order, r.Trouble = places[i], t.name
		g.rows = append(g.rows, r)
	}
}

// write puts the rows into a file, with a byte-order mark, line ends of both
// kinds and some empty lines, and numbers them.
func (g *generator) write() ([]byte, []Row) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	b.WriteString(strings.Join(quoteAll(header[:]), ",") + "\r\n")
	number := 1
	var expected []Row
	for i := range g.rows {
		if g.rand.IntN(200) == 0 { // an empty line is a row to a spreadsheet
			b.WriteString("\n")
			number++
		}
		r := &g.rows[i]
		number++
		r.Number = number
		b.WriteString(r.text(g.rand))
		b.WriteString([]string{"\n", "\r\n"}[g.rand.IntN(2)])
		expected = append(expected, r.Row)
	}
	return b.Bytes(), expected
}

// text is the row as it stands in the file.
func (r *raw) text(rand *rand.Rand) string {
	if r.line != "" {
		return r.line
	}
	cells := r.cells[:]
	if r.cut > 0 {
		cells = cells[:r.cut]
	}
	var out []string
	for _, c := range append(append([]string{}, cells...), r.more...) {
		if strings.ContainsAny(c, "\",\r\n") || rand.IntN(4) == 0 {
			c = quote(c)
		}
		out = append(out, c)
	}
	return strings.Join(out, ",")
}

func quote(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

func quoteAll(list []string) (out []string) {
	for _, s := range list {
		out = append(out, quote(s))
	}
	return out
}

// person is an address that nobody else in the file has.
func (g *generator) person() (local, domain string) {
	g.people++
	domains := []string{"example.com", "example.org", "example.net", "mail.example", "post.example.org"}
	return fmt.Sprintf("%s%s%d", pick(g, given), pick(g, family), g.people), pick(g, domains)
}

func pick[T any](g *generator, list []T) T { return list[g.rand.IntN(len(list))] }

var (
	given  = []string{"robin", "sam", "alex", "kim", "lee", "pat", "jo", "casey", "noor", "mika"}
	family = []string{"hill", "brook", "marsh", "stone", "reed", "field", "wood", "lake"}
)
