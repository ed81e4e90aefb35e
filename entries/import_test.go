package entries

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// formTerms ask for what most forms ask for.
func formTerms() giveaway.Terms {
	terms := boots()
	terms.Questions, terms.MinAge = nil, 0
	return terms
}

// importText imports with New York's zone.
func importText(t *testing.T, text string, change func(*giveaway.Terms, *ImportOptions)) (Imported, error) {
	t.Helper()
	zone, err := giveaway.LoadZone("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	terms, o := formTerms(), ImportOptions{Rand: rand.NewChaCha8([32]byte{5})}
	if change != nil {
		change(&terms, &o)
	}
	return Import(strings.NewReader(text), nil, zone, terms, o)
}

// outcomes writes an import down: "row:reason" or "row:unreadable", by row.
func outcomes(in Imported) string {
	byRow := map[int]string{}
	last := 0
	for _, r := range in.Rows {
		byRow[r.Row], last = r.Reason, max(last, r.Row)
		if r.Reason == "" {
			byRow[r.Row] = "in"
		}
	}
	for _, u := range in.Unreadable {
		byRow[u.Row], last = "unreadable", max(last, u.Row)
	}
	var out []string
	for row := range last + 1 {
		if word, ok := byRow[row]; ok {
			out = append(out, fmt.Sprintf("%d:%s", row, word))
		}
	}
	return strings.Join(out, " ")
}

const head = "email,time,size,live,name\n"

// One trouble a case. Row numbers are those that a spreadsheet shows; quoting
// is RFC 4180's.
func TestImportTroubles(t *testing.T) {
	row := func(email string) string { return email + ",2026-12-01 12:00:00,mens 10 D,US,Robin\n" }
	at := func(when string) string { return "robin@example.com," + when + ",mens 10 D,US,Robin\n" }
	for _, c := range []struct{ name, text, want string }{
		{"plain", head + row("robin@example.com"), "2:in"},
		{"byte-order mark", "\ufeff" + head + row("robin@example.com"), "2:in"},
		{"CRLF", strings.ReplaceAll(head+row("robin@example.com"), "\n", "\r\n"), "2:in"},
		{"no last line end", head + strings.TrimSpace(row("robin@example.com")), "2:in"},
		{"quoted comma", head + `robin@example.com,2026-12-01 12:00,mens 10 D,US,"L., Robin"` + "\n", "2:in"},
		{"quoted quote", head + `robin@example.com,2026-12-01 12:00,mens 10 D,US,"Robin ""Rob"" L"` + "\n", "2:in"},
		{"line break in a cell", head + "robin@example.com,2026-12-01 12:00,mens 10 D,US,\"Robin\nL\"\n" + row("kim@example.com"), "2:in 3:in"},
		{"empty line", head + row("a@example.com") + "\n" + row("b@example.com"), "2:in 4:in"},
		{"empty cells", head + row("a@example.com") + ",,,,\n" + row("b@example.com"), "2:in 3:unreadable 4:in"},
		{"stray spaces", "email , time,size,live,name\n  robin@example.com ,  2026-12-01 12:00:00 , mens 10 D , US ,\n", "2:in"},
		{"blank before a quote", head + "robin@example.com, \"2026-12-01 12:00:00\",mens 10 D,US,\n", "2:in"},
		{"mixed case", head + row("robin@example.com") + row("ROBIN@Example.COM"), "2:in 3:duplicate"},
		{"tag", head + row("robin@example.com") + row("robin+2@example.com"), "2:in 3:duplicate"},
		{"dots at the one provider", head + row("r.o.b@gmail.com") + row("rob@googlemail.com"), "2:in 3:duplicate"},
		{"dots elsewhere", head + row("r.o.b@example.com") + row("rob@example.com"), "2:in 3:in"},
		{"other script in a name", head + "robin@example.com,2026-12-01 12:00,mens 10 D,US,Ренée 川\n", "2:in"},
		{"other script in a domain", head + row("ann@bücher.example") + row("ann@xn--bcher-kva.example"), "2:in 3:duplicate"},
		{"other script before the @", head + row("аnn@example.com"), "2:unreadable"},
		{"no address", head + row(""), "2:unreadable"},
		{"two addresses", head + row(`"a@example.com,b@example.com"`), "2:unreadable"},
		{"invisible character", head + row("robin\u200b@example.com"), "2:unreadable"},
		{"not UTF-8", head + row("robin\xe9@example.com"), "2:unreadable"},
		{"short row", head + "robin@example.com,2026-12-01 12:00:00\n", "2:ineligible"},
		{"long row", head + strings.TrimSpace(row("robin@example.com")) + ",more\n", "2:unreadable"},
		{"long row of nothing", head + strings.TrimSpace(row("robin@example.com")) + ",,,\n", "2:in"},
		{"bare quote", head + `ro"bin@example.com,2026-12-01 12:00:00,mens 10 D,US,x` + "\n" + row("kim@example.com"), "2:unreadable 3:in"},
		{"text after a quote", head + `"robin"@example.com,2026-12-01 12:00:00,mens 10 D,US,x` + "\n" + row("kim@example.com"), "2:unreadable 3:in"},
		{"earlier row below", head + at("2026-12-01 12:00:01") + at("2026-12-01 12:00:00"), "2:duplicate 3:in"},
		{"same time", head + at("2026-12-01 12:00:00") + at("2026-12-01 12:00:00"), "2:in 3:duplicate"},
		{"fraction decides", head + at("2026-12-01 12:00:00.9") + at("2026-12-01 12:00:00.2"), "2:duplicate 3:in"},
		{"three", head + at("2026-12-01 12:02") + at("2026-12-01 12:00") + at("2026-12-01 12:01"), "2:duplicate 3:in 4:duplicate"},
		{"before opening", head + at("2026-11-27 17:59:59"), "2:ineligible"},
		{"at opening", head + at("2026-11-27 18:00:00"), "2:in"},
		{"last second", head + at("2026-12-11 17:59:59.999"), "2:in"},
		{"at closing", head + at("2026-12-11 18:00:00"), "2:ineligible"},
		{"too early, then again", head + at("2026-11-27 17:00:00") + at("2026-11-28 17:00:00"), "2:ineligible 3:in"},
		{"no time", head + at(""), "2:unreadable"},
		{"no such day", head + at("2026-11-31 12:00:00"), "2:unreadable"},
		{"lives elsewhere", head + "robin@example.com,2026-12-01 12:00,mens 10 D,France,x\n", "2:region"},
		{"unknown country", head + "robin@example.com,2026-12-01 12:00,mens 10 D,Nowhere,x\n", "2:region"},
		{"country in words", head + "robin@example.com,2026-12-01 12:00,mens 10 D,United States,x\n", "2:in"},
		{"size that is none", head + "robin@example.com,2026-12-01 12:00,mens 44 D,US,x\n", "2:ineligible"},
		{"no size", head + "robin@example.com,2026-12-01 12:00,,US,x\n", "2:ineligible"},
		{"size not in the run", head + "robin@example.com,2026-12-01 12:00,mens 10 B,US,x\n", "2:in"},
		{"near miss of a domain", head + row("robin@gmial.com"), "2:in"},
		{"barred", head + row("host@slow-miles.example"), "2:ineligible"},
		{"link for a name", head + "robin@example.com,2026-12-01 12:00,mens 10 D,US,https://x.example\n", "2:in"},
	} {
		in, err := importText(t, c.text, nil)
		if got := outcomes(in); err != nil || got != c.want {
			t.Errorf("%s: got %q, %v; want %q", c.name, got, err, c.want)
		}
		if in.Read != len(in.Rows)+len(in.Unreadable) {
			t.Errorf("%s: read %d, %d rows, %d unreadable", c.name, in.Read, len(in.Rows), len(in.Unreadable))
		}
	}
}

// What can't be trusted is an error that says what to do, and gives nothing.
func TestImportErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty file", "", "empty"},
		{"no e-mail column", "mail,time,size,live\n", "no column for email"},
		{"several missing", "time\n", "email; no column for live; no column for size"},
		{"column twice", "email,time,size,live,Email\n", `"email" 2 times`},
		{"UTF-16", "\xff\xfee\x00m\x00", "UTF-16"},
		{"semicolons", "email;time;size;live\n", "parted by something else"},
		{"quote never closed", head + "\"robin@example.com,2026-12-01 12:00,x,US,x\nkim@example.com,2026-12-01 12:00,x,US,x\n", "row 2"},
	} {
		in, err := importText(t, c.text, nil)
		if err == nil || !strings.Contains(err.Error(), c.want) || len(in.Rows) != 0 {
			t.Errorf("%s: got %d rows, %v; want an error with %q", c.name, len(in.Rows), err, c.want)
		}
	}
}

func TestImportColumns(t *testing.T) {
	text := "Timestamp,Your e-mail,Notes,System,Number,Width,Country,Notes\n" +
		"12/1/2026 9:30:00 PM,robin@example.com,x,Men's,10 1/2,EE,usa,y\n"
	cols := Columns{"time": "timestamp", "email": " your  E-MAIL", "size": "Number", "live": "country"}
	zone, _ := giveaway.LoadZone("America/New_York")
	o := ImportOptions{Rand: rand.NewChaCha8([32]byte{5})}
	in, err := Import(strings.NewReader(text), cols, zone, formTerms(), o)
	if err != nil || outcomes(in) != "2:in" {
		t.Fatalf("got %q, %v", outcomes(in), err)
	}
	want := sizing.Size{System: sizing.Mens, Size: 21, Width: "2E"}
	if r := in.Rows[0]; r.Entry.Size != want || !r.Entered.Equal(time.Date(2026, 12, 2, 2, 30, 0, 0, time.UTC)) {
		t.Errorf("got %v, entered %v", r.Entry.Size, r.Entered)
	}
	for _, c := range []struct {
		cols Columns
		want string
	}{
		{Columns{"email": "Mail"}, `no column "Mail"`},
		{Columns{"phone": "Notes"}, `no field "phone"`},
		{Columns{"name": "Notes"}, `"Notes" 2 times`},
	} {
		if _, err := Import(strings.NewReader(text), c.cols, zone, formTerms(), o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// A form that asked less: the rest is filled in.
func TestImportFill(t *testing.T) {
	in, err := importText(t, "email\nrobin@example.com\n", func(terms *giveaway.Terms, o *ImportOptions) {
		terms.Sizes = nil
		o.Fill.Live, o.At = "US", during
	})
	if err != nil || outcomes(in) != "2:in" || !in.Rows[0].Entered.Equal(during) {
		t.Fatalf("got %q, %v", outcomes(in), err)
	}
	in, err = importText(t, "email\tage\trules\nrobin@example.com\t17\tyes\nkim@example.com\t44\tno\nlee@example.com\t18+\tyes\n",
		func(terms *giveaway.Terms, o *ImportOptions) {
			terms.Sizes, terms.MinAge = nil, 18
			o.Fill.Live, o.At, o.Comma = "US", during, '\t'
		})
	if err != nil || outcomes(in) != "2:ineligible 3:ineligible 4:in" {
		t.Errorf("got %q, %v", outcomes(in), err)
	}
}

// Tickets, salts and commitments are made as the service makes them, also for
// those that are not in the draw.
func TestImportedTickets(t *testing.T) {
	text := head + "robin@example.com,2026-12-01 12:00,mens 10 D,US,x\nkim@example.com,2026-12-01 12:00,none,Nowhere,x\n"
	in, err := importText(t, text, nil)
	if err != nil || len(in.Rows) != 2 || in.Rows[0].Ticket == in.Rows[1].Ticket {
		t.Fatalf("got %+v, %v", in, err)
	}
	for _, r := range in.Rows {
		entry, err := draw.ParseEntry("entry.txt", r.Text("trail-boots").Text())
		if err != nil || entry.Commitment() != r.Commitment || entry.Ticket != r.Ticket || entry.Email != r.Entry.Key || r.Link != "" {
			t.Errorf("row %d: got %+v, %v", r.Row, entry, err)
		}
	}
}

// The reasons say what to do and never repeat what stands in the row.
func TestImportIsSilent(t *testing.T) {
	text := head +
		"secret,2026-12-01 12:00,mens 10 D,US,x\n" +
		"robin@example.com,secret,mens 10 D,US,x\n" +
		"kim@example.com,2026-12-01 12:00,secret,US,x\n" +
		"lee@example.com,2026-12-01 12:00,mens 10 D,secret,x\n"
	in, err := importText(t, text, nil)
	if err != nil || outcomes(in) != "2:unreadable 3:unreadable 4:ineligible 5:region" {
		t.Fatalf("got %q, %v", outcomes(in), err)
	}
	for _, u := range in.Unreadable {
		if u.Why == "" || strings.Contains(u.Why, "secret") {
			t.Errorf("row %d: %q", u.Row, u.Why)
		}
	}
	for _, r := range in.Rows {
		if r.Why == "" || strings.Contains(r.Why, "secret") {
			t.Errorf("row %d: %q", r.Row, r.Why)
		}
	}
}

// Duplicates name the row that stands.
func TestDuplicateNamesItsRow(t *testing.T) {
	text := head + "robin@example.com,2026-12-01 12:01,mens 10 D,US,x\nrobin@example.com,2026-12-01 12:00,mens 10 D,US,x\n"
	in, err := importText(t, text, nil)
	if err != nil || in.Rows[0].Why != "the same address as in row 3" {
		t.Errorf("got %+v, %v", in.Rows, err)
	}
}

// The wall times are cases TZ-03, TZ-09 and TZ-13 of testdata/facts/time.md;
// the others are the same instant as TZ-13 in other forms (RFC 3339, and common
// practice of exported forms).
func TestRowTimes(t *testing.T) {
	zone, err := giveaway.LoadZone("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		text, want string // want "": refused
		note       bool
	}{
		{"2026-11-24 20:00", "2026-11-25T01:00:00Z", false},
		{"2026-11-24 20:00:00", "2026-11-25T01:00:00Z", false},
		{"2026-11-24T20:00:00", "2026-11-25T01:00:00Z", false},
		{"2026-11-25T01:00:00Z", "2026-11-25T01:00:00Z", false},
		{"2026-11-25T02:00:00+01:00", "2026-11-25T01:00:00Z", false},
		{"2026-11-25 02:00:00 +0100", "2026-11-25T01:00:00Z", false},
		{"2026-11-25 01:00:00 UTC", "2026-11-25T01:00:00Z", false},
		{"2026/11/24 8:00:00 PM GMT-5", "2026-11-25T01:00:00Z", false},
		{"11/24/2026 20:00:00", "2026-11-25T01:00:00Z", false},
		{"11/24/2026 20:00", "2026-11-25T01:00:00Z", false},
		{"11/24/2026 8:00:00 pm", "2026-11-25T01:00:00Z", false},
		{"11/24/2026 8:00 PM", "2026-11-25T01:00:00Z", false},
		{"11/24/2026  8:00 PM", "2026-11-25T01:00:00Z", false},
		{"11/24/2026 12:00 AM", "2026-11-24T05:00:00Z", false},
		{"11/24/2026 12:00 PM", "2026-11-24T17:00:00Z", false},
		{"2026-11-01 01:30", "2026-11-01T05:30:00Z", true}, // TZ-09: twice, the first
		{"2026-03-08 02:30", "", false},                    // TZ-03: never
		{"24/11/2026 20:00", "", false},                    // day first is not read as month first
		{"2026-11-24", "", false},
		{"2026-11-24 20", "", false},
		{"2026-11-24 25:00", "", false},
		{"11/24/26 20:00", "", false},
		{"2026-11-24 20:00 EST", "", false}, // an abbreviation names no place
		{"1999-11-24 20:00", "", false},     // before the protocol's first year
		{"2026-11-24 20:00 +15:00", "", false},
		{"now", "", false},
		{"", "", false},
	} {
		at, note, err := readTime(c.text, zone)
		if c.want == "" {
			if err == nil {
				t.Errorf("%q: got %v, want an error", c.text, at)
			}
			continue
		}
		if err != nil || at.UTC().Format(time.RFC3339) != c.want || (note != "") != c.note {
			t.Errorf("%q: got %v, %q, %v; want %s", c.text, at.UTC(), note, err, c.want)
		}
	}
	if _, _, err := readTime("2026-11-24 20:00", nil); !errors.Is(err, errNoZone) {
		t.Errorf("without a zone: got %v", err)
	}
	if at, _, err := readTime("2026-11-25T01:00:00Z", nil); err != nil || at.Hour() != 1 {
		t.Errorf("with its own zone: got %v, %v", at, err)
	}
}

func TestRowZone(t *testing.T) {
	text := "email,time,zone,size,live\n" +
		"a@example.com,2026-12-01 20:00,America/Los_Angeles,mens 10 D,US\n" +
		"b@example.com,2026-12-01 20:00,,mens 10 D,US\n" +
		"c@example.com,2026-12-01 20:00,+01:00,mens 10 D,US\n" +
		"d@example.com,2026-12-01 20:00,EST,mens 10 D,US\n" +
		"e@example.com,2026-12-01T20:00:00Z,America/Los_Angeles,mens 10 D,US\n"
	in, err := importText(t, text, nil)
	if err != nil || outcomes(in) != "2:in 3:in 4:in 5:unreadable 6:in" {
		t.Fatalf("got %q, %v", outcomes(in), err)
	}
	// 20:00 is 04:00 UTC the next day in Los Angeles and 01:00 in New York in
	// winter (time.md, section 3).
	for i, want := range []string{"2026-12-02T04:00:00Z", "2026-12-02T01:00:00Z", "2026-12-01T19:00:00Z", "2026-12-01T20:00:00Z"} {
		if got := in.Rows[i].Entered.Format(time.RFC3339); got != want {
			t.Errorf("row %d: got %s, want %s", in.Rows[i].Row, got, want)
		}
	}
}

// No file makes it panic, and every row is accounted for.
func FuzzImport(f *testing.F) {
	f.Add(head + "robin@example.com,2026-12-01 12:00,mens 10 D,US,x\n")
	f.Add("\ufeffemail,time,size,live\r\n\"a\nb\",,,\n\n,,,,,\n")
	f.Add(head + "\"x")
	f.Fuzz(func(t *testing.T, text string) {
		in, err := importText(t, text, nil)
		if err != nil {
			return
		}
		if in.Read != len(in.Rows)+len(in.Unreadable) {
			t.Fatalf("read %d, %d rows, %d unreadable", in.Read, len(in.Rows), len(in.Unreadable))
		}
		standing := map[string]bool{}
		for _, r := range in.Rows {
			if r.Reason == "" && standing[r.Entry.Key] {
				t.Fatal("two rows of one key stand")
			}
			standing[r.Entry.Key] = standing[r.Entry.Key] || r.Reason == ""
			if _, err := draw.ParseEntry("entry.txt", r.Text("trail-boots").Text()); err != nil {
				t.Fatal(err)
			}
		}
	})
}
