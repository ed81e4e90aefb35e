package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/internal/csvgen"
)

// listOf says in which list of the generator a row's words put it.
var listOf = map[string]string{"In the draw": csvgen.Roll, "Not in the draw": csvgen.Excluded, "Can’t be read": csvgen.Unreadable}

// reasonOf is the file's word of what the tickets' file says.
var reasonOf = map[string]string{
	"yes": "", "no: the same person had entered already": "duplicate",
	"no: the prize can’t go where it would have to go": "region", "no: the rules don’t allow this entry": "ineligible",
}

// A file of 5,000 rows with all their troubles comes in at the desk, on both
// databases: every row ends where its maker says it must, and as the command
// line's import has it.
func TestFileOf5000Rows(t *testing.T) {
	file, want := csvgen.Generate(20260727, 5000)
	if len(want) != 5000 {
		t.Fatalf("%d rows, want 5000", len(want))
	}
	line := commandLine(t, file)
	each(t, func(t *testing.T, database string) {
		s := start(t, time.Date(2026, 2, 27, 12, 0, 0, 0, time.UTC), database, "-data", t.TempDir())
		s.claim()
		s.posted("trail-boots", csvgen.Terms)
		s.clock.set(time.Date(2026, 7, 27, 0, 30, 0, 0, time.UTC)) // closed half an hour ago
		a := s.sends("/desk/g/trail-boots/import", file, "")
		if a.status != 303 {
			t.Fatalf("upload: status %d: %s", a.status, textOf(a.body))
		}
		at := a.to
		shown := formShown(s.get(at).body)
		asMapped(t, shown)
		s.goes(at+"/try", at, shown...)
		tried := rowsOf(t, csvOf(t, s.get(at+"/rows.csv")))
		for _, w := range want {
			got := tried[w.Number]
			if got == nil || listOf[got[1]] != w.List {
				t.Errorf("row %d (%s): %v, want %s", w.Number, w.Trouble, got, w.List)
				continue
			}
			if why := line[w.Number]; !sameWhy(got, why) {
				t.Errorf("row %d (%s): %q at the desk, %q on the command line", w.Number, w.Trouble, got[2], why)
			}
		}
		if a := s.get(at + "/try?page=25"); !strings.Contains(textOf(a.body), "4,801 to 5,000 of 5,000.") {
			t.Errorf("the last page of rows: %.300s", textOf(a.body))
		}
		s.goes(at+"/done", at+"/go")
		tickets := rowsOf(t, csvOf(t, s.get(at+"/tickets.csv")))
		counts := map[string]int64{}
		for _, w := range want {
			counts[w.List]++
			got := tickets[w.Number]
			if w.List == csvgen.Unreadable {
				if got != nil {
					t.Errorf("row %d has ticket %s", w.Number, got[1])
				}
				continue
			}
			if got == nil {
				t.Fatalf("row %d (%s) has no ticket", w.Number, w.Trouble)
			}
			if reason, known := reasonOf[got[2]]; !known || reason != w.Reason {
				t.Errorf("row %d (%s): %q, want reason %q", w.Number, w.Trouble, got[2], w.Reason)
			}
		}
		s.goes("/desk/g/trail-boots", "/desk/g/trail-boots/lock")
		r := check(t, s, "trail-boots")
		if r.Tickets != counts[csvgen.Roll] || r.Excluded != counts[csvgen.Excluded] {
			t.Errorf("the lists have %d and %d tickets, want %d and %d", r.Tickets, r.Excluded, counts[csvgen.Roll], counts[csvgen.Excluded])
		}
	})
}

// asMapped wants the guessed columns to be those that a reader of the file has
// to be told.
func asMapped(t *testing.T, shown []string) {
	t.Helper()
	got := map[string]string{}
	for i := 0; i < len(shown); i += 2 {
		if field, ok := strings.CutPrefix(shown[i], "col_"); ok && shown[i+1] != "" {
			got[field] = shown[i+1]
		}
	}
	want := mapped()
	if fmt.Sprint(got) != fmt.Sprint(map[string]string(want)) {
		t.Errorf("the columns were guessed as %v, want %v", got, want)
	}
}

// mapped is the generator's mapping; one column's name has a comma.
func mapped() entries.Columns {
	cols, last := entries.Columns{}, ""
	for _, part := range strings.Split(csvgen.Mapping, ",") {
		field, column, ok := strings.Cut(part, "=")
		if !ok {
			cols[last] += "," + part
			continue
		}
		cols[field], last = column, field
	}
	return cols
}

// commandLine is what the command line's import says of each row.
func commandLine(t *testing.T, file []byte) map[int]string {
	t.Helper()
	terms, err := giveaway.ReadTerms(strings.NewReader(csvgen.Terms))
	must(t, err)
	zone, err := giveaway.LoadZone(csvgen.Zone)
	must(t, err)
	got, err := entries.Import(bytes.NewReader(file), mapped(), zone, terms, entries.ImportOptions{Rand: rand.NewChaCha8([32]byte{})})
	must(t, err)
	why := map[int]string{}
	for _, r := range got.Rows {
		why[r.Row] = r.Why
	}
	for _, u := range got.Unreadable {
		why[u.Row] = u.Why
	}
	return why
}

// sameWhy compares the finer reason with that of the command line, but for how
// a page writes it: a large letter, an apostrophe, a stop, the field's name.
func sameWhy(row []string, why string) bool {
	plain := func(s string) string {
		return strings.ToLower(strings.TrimSuffix(strings.ReplaceAll(s, "’", "'"), "."))
	}
	_, rest, _ := strings.Cut(why, ": ")
	return plain(row[2]) == plain(why) || rest != "" && strings.HasSuffix(plain(row[2]), plain(rest))
}

func rowsOf(t *testing.T, lines [][]string) map[int][]string {
	t.Helper()
	rows := map[int][]string{}
	for _, cells := range lines[1:] {
		n, err := strconv.Atoi(cells[0])
		if err != nil || rows[n] != nil {
			t.Fatalf("row %q: %v, or twice", cells[0], err)
		}
		rows[n] = cells
	}
	return rows
}
