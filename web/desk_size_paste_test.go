package web

import (
	"slices"
	"strings"
	"testing"

	"evenhand/sizing"
)

// Tables as they come from spreadsheets, mails and handbooks. Source of all:
// invented here; the sizes that each holds were written down by hand beside it.
func TestReadSizeTable(t *testing.T) {
	for _, c := range []struct {
		name, table string
		want        string // all sizes, as runs are listed
		words       string
		numbers     bool
	}{
		{"a line for each size", "mens 10.5 D\nMen's 11 D, 2E\nwomen’s 8 B\n",
			"men’s 10½ D, men’s 11 D, men’s 11 2E, women’s 8 B", "", false},
		{"a handbook's grid with tabs", "Men's\tB\tD\t2E\n8\t\tx\t\n8.5\tx\tx\tx\n9\tx\tx\tx\n",
			"men’s 8 D, men’s 8½ B, men’s 8½ D, men’s 8½ 2E, men’s 9 B, men’s 9 D, men’s 9 2E",
			"Men’s 8½ to 9 in half sizes, widths B, 2E; men’s 8 to 9 in half sizes, widths D: 7 sizes in all.", false},
		{"numbers of pairs", "Women's;B;D\n6;12;0\n6½;3;1\n7;0;-\n",
			"women’s 6 B, women’s 6½ B, women’s 6½ D", "", true},
		{"widths down, sizes across", "mens|7|7.5|8\n---|---|---|---\nD|x|x|x\n2E|-|x|no\n",
			"men’s 7 D, men’s 7½ D, men’s 7½ 2E, men’s 8 D", "", false},
		{"columns with names", "Gender,Size,Width,Qty\nMen's,10,D,4\nMen's,10.5,EE,0\nWomen's,7,wide,2\n",
			"men’s 10 D, women’s 7 D", "", true},
		{"stretches", "Mens 7-8 D\nwomen 9 to 10 B 2A",
			"men’s 7 D, men’s 7½ D, men’s 8 D, women’s 9 2A, women’s 9 B, women’s 9½ 2A, women’s 9½ B, women’s 10 2A, women’s 10 B", "", false},
		{"headings", "MEN'S SIZES:\n\n9 D\n9 2E\n\nWOMEN'S\n7 B\n",
			"men’s 9 D, men’s 9 2E, women’s 7 B", "", false},
		{"half sizes to 12, whole 13 to 15", "mens 11-12 D\nmens 13 D\nmens 14 D\nmens 15 D",
			"men’s 11 D, men’s 11½ D, men’s 12 D, men’s 13 D, men’s 14 D, men’s 15 D",
			"Men’s 11 to 12 in half sizes, widths D; men’s 13 to 15 in whole sizes, widths D: 6 sizes in all.", false},
		{"a gap", "mens 12 D\nmens 12.5 D\nmens 13 D\nmens 14 D\nmens 14.5 D",
			"men’s 12 D, men’s 12½ D, men’s 13 D, men’s 14 D, men’s 14½ D",
			"Men’s 12 to 14½ in half sizes, without 13½, widths D: 5 sizes in all.", false},
		{"blanks part the cells", "mens D 2E\n10 x -\n10.5 x x\n", "men’s 10 D, men’s 10½ D, men’s 10½ 2E", "", false},
		{"a number at the end", "mens 10 D 14\nmens 11 D 2\n", "men’s 10 D, men’s 11 D", "", true},
		{"line ends of another system", "mens 10 D\r\nmens 11 D\r", "men’s 10 D, men’s 11 D", "", false},
	} {
		got, faults := readSizeTable(c.table)
		var all []string
		for _, s := range got.Run.All() {
			all = append(all, s.String())
		}
		if text := strings.Join(all, ", "); text != c.want || len(faults) > 0 || got.Numbers != c.numbers {
			t.Errorf("%s:\n got %s, numbers %v, faults %q\nwant %s, numbers %v", c.name, text, got.Numbers, faults, c.want, c.numbers)
		}
		f := newForm()
		f.Ranges = got.onto(nil)
		if words := f.sizeWords(); c.words != "" && words != c.words {
			t.Errorf("%s: in words: %s\nwant %s", c.name, words, c.words)
		}
	}
}

// What can't be read is said with its line, and then nothing is taken.
// Source: invented.
func TestReadSizeTableFaults(t *testing.T) {
	for table, want := range map[string]string{
		"":                                   "No size was found.",
		"10 D":                               "Line 1: Say whether it is men’s or women’s",
		"mens 10":                            "Line 1: The width is missing.",
		"mens 10 D\nmens 10.25 D":            "Line 2: There is no size here that can be read.",
		"mens 10 Q":                          "Line 1: “Q” is not a width.",
		"mens 42 D":                          "Line 1: There is no size here that can be read.",
		"Men's\tD\t2E\n10\tx\tperhaps":       "Line 2: “perhaps” is neither a mark nor a number.",
		"Men's\tD\t2E\n10\tx\tx\tx":          "Line 2: There are more cells than the first line has.",
		"kids 3 D":                           "Line 1: “kids” is neither men’s nor women’s.",
		"our boots come in all good sizes":   "Line 1: This could not be read.",
		"mens 12-10 D":                       "Line 1: The largest size is below the smallest",
		strings.Repeat("mens 10 D\n", 1002):  "Shorten the table to 1000 lines.",
		strings.Repeat("x", 70_000):          "Shorten the table to 1000 lines.",
		"\xff\xfe":                           "Line 1: This could not be read.",
		strings.Repeat("mens 10 Q\n", 9):     "And 4 lines more could not be read.",
		"Size,Width,Qty\n10,D,many":          "is not a number.",
		"Gender,Size,Width\nchildren's,10,D": "is neither men’s nor women’s.",
	} {
		got, faults := readSizeTable(table)
		if !strings.Contains(strings.Join(faults, " "), want) || len(got.Run) > 0 {
			t.Errorf("%.60q: %q, want %q", table, faults, want)
		}
	}
}

// Whatever sizes there are, the ranges hold exactly them.
func FuzzRunOf(f *testing.F) {
	f.Add([]byte{14, 15, 16, 18, 20, 22, 24, 25, 26, 28})
	f.Add([]byte{2, 65, 3, 64})
	f.Fuzz(func(t *testing.T, picks []byte) {
		sizes := map[sizing.System]map[string][]sizing.Half{sizing.Mens: {}, sizing.Womens: {}}
		var want []sizing.Size
		for i, b := range picks {
			s := sizing.Size{System: sizing.Systems()[int(b)>>7], Size: sizing.Half(2 + int(b&63)), Width: []string{"B", "D", "2E"}[i%3]}
			if list := sizes[s.System][s.Width]; !slices.Contains(list, s.Size) {
				sizes[s.System][s.Width] = append(list, s.Size)
				want = append(want, s)
			}
		}
		got := runOf(sizes)
		all := got.All()
		if len(all) != len(want) || slices.ContainsFunc(want, func(s sizing.Size) bool { return !got.Has(s) }) {
			t.Errorf("%v: the ranges hold %v", want, all)
		}
		for i, g := range got {
			if err := (sizing.Run{g}).Validate(); err != nil {
				t.Errorf("range %d of %v: %v", i, got, err)
			}
		}
	})
}

// No table makes the reader fail.
func FuzzReadSizeTable(f *testing.F) {
	f.Add("mens 10.5 D")
	f.Add("Men's\tD\t2E\n10\tx\t3")
	f.Add("Size,Width\n10,D")
	f.Add("|a|\n|")
	f.Fuzz(func(t *testing.T, text string) {
		got, faults := readSizeTable(text)
		if len(faults) == 0 && got.Run.Validate() != nil {
			t.Errorf("%q: a run that is not valid", text)
		}
	})
}
