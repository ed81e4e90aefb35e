package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"html"
	"mime/multipart"
	"net/textproto"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"
)

// sends sends a file as a browser does (RFC 7578).
func (v *visitor) sends(path string, file []byte, comma string) answer {
	v.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	part, err := w.CreatePart(textproto.MIMEHeader{
		"Content-Disposition": {`form-data; name="file"; filename="entries.csv"`}, "Content-Type": {"text/csv"}})
	must(v.t, err)
	_, err = part.Write(file)
	must(v.t, err)
	must(v.t, w.WriteField("comma", comma))
	must(v.t, w.Close())
	return v.do("POST", path, w.FormDataContentType(), b.String())
}

// posted posts a giveaway's terms.
func (s *service) posted(id, terms string) {
	s.t.Helper()
	if a := s.press("/desk/file", "terms", terms); a.status != 303 {
		s.t.Fatalf("terms: status %d: %s", a.status, textOf(a.body))
	}
	s.posts(id)
}

// bootsTerms are those of testdata/boots.json.
func bootsTerms(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("testdata/boots.json")
	must(t, err)
	return string(b)
}

// bringFile chooses a file, takes the columns as they were guessed, and returns
// the address of the file's pages.
func (v *visitor) bringFile(file string) (url string) {
	v.t.Helper()
	a := v.sends("/desk/g/boots/import", []byte(file), "")
	if a.status != 303 {
		v.t.Fatalf("upload: status %d: %s", a.status, textOf(a.body))
	}
	return a.to
}

var (
	selects = regexp.MustCompile(`(?s)<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>`)
	chosen  = regexp.MustCompile(`<option value="([^"]*)" selected>`)
	inputs  = regexp.MustCompile(`<input [^>]*name="([^"]+)" value="([^"]*)"`)
)

// formShown are the values of a page's form as they stand there.
func formShown(page string) (pairs []string) {
	for _, m := range selects.FindAllStringSubmatch(page, -1) {
		if v := chosen.FindStringSubmatch(m[2]); v != nil {
			pairs = append(pairs, m[1], html.UnescapeString(v[1]))
		}
	}
	for _, m := range inputs.FindAllStringSubmatch(page, -1) {
		if strings.HasPrefix(m[1], "fill_") {
			continue // a box, ticked
		}
		pairs = append(pairs, m[1], html.UnescapeString(m[2]))
	}
	return append(pairs, "fill_rules", "yes", "do", "try")
}

// columns are what a page with columns would send as it stands.
func columns(pairs ...string) []string {
	return append([]string{"comma", ",", "zone_name", "America/New_York", "fill_rules", "yes", "do", "try"}, pairs...)
}

const sheetHead = "Timestamp,Email Address,Country,State,Size,Age,Name\n"

var sheetColumns = columns("col_time", "Timestamp", "col_email", "Email Address", "col_live", "Country", "col_state", "State",
	"col_size", "Size", "col_age", "Age", "col_name", "Name")

// sheet is a row as a form of somebody else's would export it.
func sheet(email string) string {
	return "8/21/2026 10:00:00," + email + ",US,Vermont,mens 10.5 D,30,Robin\n"
}

// The whole way of a file: guessed columns, trial run, in, tickets; then the
// same file again, which brings nothing new; and an entry by the form stands.
func TestFileComesIn(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.posted("boots", bootsTerms(t))
		enterSome(t, s, 1) // walker0@example.org
		file := sheetHead + sheet("robin@example.com") + sheet("ROBIN@example.com") + sheet("walker0@example.org") +
			"8/21/2026 10:00:00,kim@example.com,France,,mens 10 D,30,Kim\n" + sheet("nonsense") +
			"8/19/2026 10:00:00,early@example.com,US,Vermont,mens 10 D,30,x\n" + sheet("sam@example.com")
		at := s.bringFile(file)
		page := s.shows(at, "7 rows were read.", "In the draw.", "robin@example.com", "men’s 10½ D", "Not in the draw")
		if strings.Contains(page, "They show when") {
			t.Error("the columns were not guessed")
		}
		body := s.get(at).body
		for _, guess := range []string{`<option value="Email Address" selected>`, `<option value="Timestamp" selected>`, `<option value="Country" selected>`,
			`<option value="State" selected>`, `<option value="Size" selected>`, `<option value="Age" selected>`, `<option value="Name" selected>`} {
			if n := strings.Count(body, guess); n != 1 {
				t.Errorf("%s stands %d times, want once", guess, n)
			}
		}
		s.goes(at+"/try", at, sheetColumns...)
		s.shows(at+"/try", "2 of 7 rows would come into the draw.", "Nothing of it is stored yet.", "Bring 2 rows into the draw, and note 3 that are not",
			"Row 3 Not in the draw The same address as in row 2.", "Row 4 In already by the form", "Row 6 Can’t be read The e-mail address: An address has one @", "All 7")
		if n := issued(t, s); n != 1 {
			t.Errorf("%d tickets before the button is pressed, want 1", n)
		}
		for range 2 { // pressed twice
			s.goes(at+"/done", at+"/go")
			s.shows(at+"/done", "Row 2 In the draw", "Row 3 Not in the draw", "2 rows of this file’s 7 are in the draw.", "3 rows have tickets that are not in the draw.", "One row has an address that is in already")
			if n := issued(t, s); n != 6 {
				t.Errorf("%d tickets, want 6", n)
			}
		}
		rows := csvOf(t, s.get(at+"/tickets.csv"))
		if len(rows) != 6 { // header, 2 in, 3 not
			t.Fatalf("%d lines of tickets, want 6: %v", len(rows), rows)
		}
		for _, r := range rows[1:] {
			_, path, _ := strings.Cut(r[3], "/g/boots/")
			private := "/g/boots/" + path
			if !groupedTicket.MatchString(r[1]) || !strings.HasPrefix(private, "/g/boots/r/") {
				t.Errorf("a line of tickets: %v", r)
			}
			s.shows(private, "brought in by Slow Miles from a file")
		}
		again := s.bringFile(file)
		s.goes(again+"/try", again, sheetColumns...)
		s.shows(again+"/try", "2 rows of this file’s 7 are in the draw.")
		if strings.Contains(s.get(again+"/try").body, "Bring 2 rows") {
			t.Error("the same file is offered again")
		}
		s.shows("/desk/g/boots/entries", "By the form 1", "Brought in from a file 5")
		s.shows("/g/boots/fair/", "5 tickets were brought in by the host from a file.", "They can’t show how an entry came.")
		onlyPlainWords(t, s)
		if log := s.logs.String(); strings.Contains(log, "example.com") || strings.Contains(log, "Robin") {
			t.Errorf("the log has what stood in the file: %s", log)
		}
	})
}

// One column that says men's or women's by a letter is found by its name, and a
// size that no shoe has is told as such. Source: invented; "M/W" is how a
// newcomer's own sheet had it.
func TestFileWithLetters(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.posted("boots", bootsTerms(t))
	row := func(email, mw, size string) string {
		return "8/21/2026 10:00:00," + email + ",US,Vermont," + mw + "," + size + ",D,30,Robin\n"
	}
	for _, head := range []string{"M/W", "m / w", "Men/Women", "Sex"} {
		at := s.bringFile("Timestamp,Email,Country,State," + head + ",Size,Width,Age,Name\n" + row("robin@example.com", "M", "10.5") + row("kim@example.com", "", "10") + row("sam@example.com", "M", "99"))
		if body := s.get(at).body; strings.Count(body, `<option value="`+head+`" selected>`) != 1 {
			t.Errorf("%s is not found", head)
		}
		s.goes(at+"/try", at, formShown(s.get(at).body)...)
		s.shows(at+"/try", "One of 3 rows would come into the draw.", "Row 2 In the draw", "Row 3 Not in the draw Men’s or women’s: It is missing, or can’t be read.",
			"Row 4 Not in the draw The size: There is no such US size; it may be a length in millimetres.", "Bring one row into the draw, and note 2 that are not")
	}
}

// groupedTicket is a ticket as it is shown (draw protocol, "ticket").
var groupedTicket = regexp.MustCompile(`^([0-9A-HJKMNP-TV-Z]{4}-){3}[0-9A-HJKMNP-TV-Z]{4}$`)

// issued is how many tickets there are.
func issued(t *testing.T, s *service) int64 {
	t.Helper()
	text := s.shows("/desk/g/boots/entries")
	for n := range int64(10) {
		for _, words := range []string{fmt.Sprint(n) + " tickets were handed out", map[int64]string{1: "One ticket was handed out", 0: "No tickets were handed out"}[n]} {
			if words != "" && strings.Contains(text, words) {
				return n
			}
		}
	}
	t.Fatalf("no number of tickets: %s", text)
	return 0
}

func csvOf(t *testing.T, a answer) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(a.body, "\ufeff"))).ReadAll()
	if err != nil || a.status != 200 || !strings.HasPrefix(a.header.Get("Content-Disposition"), "attachment") {
		t.Fatalf("status %d, %v", a.status, err)
	}
	return rows
}

// Files that can't be read: each is refused with a sentence, and nothing is
// kept. Kinds of wrong files are common practice, no source; the marks of
// UTF-16 are Unicode's (The Unicode Standard, section 23.8).
func TestWrongFiles(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.posted("boots", bootsTerms(t))
	wide := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(sheetHead + sheet("robin@example.com"))) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	for _, c := range []struct {
		name, file, comma, want string
		status                  int
	}{
		{"none", "", "", "Choose a file first.", 422},
		{"a spreadsheet", "PK\x03\x04 and more", "", "This is a spreadsheet’s own file.", 422},
		{"an old spreadsheet", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "", "This is a spreadsheet’s own file.", 422},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "", "This is not a file of text.", 422},
		{"UTF-16", string(wide), "", "UTF-16", 422},
		{"Windows letters", sheetHead + strings.Replace(sheet("robin@example.com"), "Robin", "Ren\xe9e", 1), "", "it is not UTF-8", 422},
		{"no header", sheet("robin@example.com") + sheet("sam@example.com"), "", "The first row looks like an entry.", 422},
		{"one column", "email\nrobin@example.com\n", "", "one column only", 422},
		{"no rows", sheetHead, "", "no entries below it", 422},
		{"another comma", sheetHead + sheet("robin@example.com"), ";", "one column only", 422},
		{"a quote that stays open", sheetHead + "\"8/21/2026," + sheet("robin@example.com") + sheet("sam@example.com"), "", "opens a quote", 422},
		{"too many rows", sheetHead + strings.Repeat("a,b\n", 200_001), "", "200,001 rows", 422},
		{"too large", sheetHead + strings.Repeat("x", 32<<20), "", "The file is too large", 413},
	} {
		a := s.sends("/desk/g/boots/import", []byte(c.file), c.comma)
		if a.status != c.status || !strings.Contains(textOf(a.body), c.want) {
			t.Errorf("%s: status %d, want %d with %q: %.600s", c.name, a.status, c.status, c.want, textOf(a.body))
		}
	}
	if a := s.press("/desk/g/boots/import", "file", sheetHead); a.status != 415 {
		t.Errorf("another kind of form: status %d, want 415", a.status)
	}
	for name, file := range map[string]string{
		"a byte-order mark": "\ufeff" + sheetHead + sheet("robin@example.com"),
		"semicolons":        strings.ReplaceAll(sheetHead+sheet("robin@example.com"), ",", ";"),
		"tabs":              strings.ReplaceAll(sheetHead+sheet("robin@example.com"), ",", "\t"),
		"a name in quotes":  strings.Replace(sheetHead, "Email Address", `"Email Address"`, 1) + sheet("robin@example.com"),
	} {
		s.shows(s.bringFile(file), "One row was read.", "In the draw.")
		_ = name
	}
	onlyPlainWords(t, s)
}
