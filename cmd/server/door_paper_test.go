package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// card is a card as it is typed in.
func card(email, came string, more ...string) []string {
	return append([]string{"email", email, "came", came, "system", "mens", "size", "10.5", "width", "D", "live", "US", "state", "VT",
		"age", "18-or-over", "rules", "yes", "once", "AAAAAAAAAAAAAAAAAAAAAA"}, more...)
}

// A card is typed in, on both databases: the same rules as for the form, the day
// decides, and it is told from the others.
func TestPaper(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.posted("boots", bootsTerms(t))
		enterSome(t, s, 1) // walker0@example.org
		const path = "/desk/g/boots/paper"
		s.shows(path, "A card or letter came.", "In time: Thursday 20 August 2026 to Saturday 22 August 2026.")
		for _, c := range []struct {
			name, want string
			status     int
			typed      []string
		}{
			{"in by the form already", "This address is in already.", 409, card("Walker0@example.org", "2026-08-21")},
			{"no day", "Write a day such as", 422, card("kim@example.com", "")},
			{"no such day", "Write a day such as", 422, card("kim@example.com", "2026-02-30")},
			{"the day before", "This card came too early", 422, card("kim@example.com", "2026-08-19")},
			{"a day to come", "That day is still to come.", 422, card("kim@example.com", "2026-08-22")},
			{"lives elsewhere", "people who live in the United States and Canada", 422, card("kim@example.com", "2026-08-21", "live", "FR")},
			{"no size", "needs another look", 422, card("kim@example.com", "2026-08-21", "size", "")},
		} {
			form := map[string]string{}
			for i := 0; i < len(c.typed); i += 2 {
				form[c.typed[i]] = c.typed[i+1]
			}
			var pairs []string
			for k, v := range form {
				pairs = append(pairs, k, v)
			}
			if a := s.press(path, pairs...); a.status != c.status || !strings.Contains(textOf(a.body), c.want) {
				t.Errorf("%s: status %d, want %d with %q: %s", c.name, a.status, c.status, c.want, textOf(a.body))
			} else if !strings.Contains(a.body, `value="kim@example.com"`) && !strings.Contains(a.body, `value="Walker0@example.org"`) {
				t.Errorf("%s: what was typed is gone", c.name)
			}
		}
		first := s.press(path, card("kim@example.com", "2026-08-20")...)
		again := s.press(path, card("kim@example.com", "2026-08-20")...) // pressed twice
		if first.status != 303 || first.to != again.to {
			t.Fatalf("status %d to %s, then %d to %s: %s", first.status, first.to, again.status, again.to, textOf(first.body))
		}
		if n := strings.Count(s.shows("/desk/g/boots"), "A card or letter was typed in: ticket "); n != 1 {
			t.Errorf("pressed twice, the day-book notes %d cards, want 1", n)
		}
		slip := s.shows(first.to, "A ticket for this entry.", "Private page", "Fingerprint of the entry", "from a card or letter")
		private := privatePath.FindString(slip)
		s.shows(private, "This entry was typed in by Slow Miles from a card or letter.", "kim@example.com")
		if a := s.press(path, card("kim@example.com", "2026-08-21", "once", "AAAAAAAAAAAAAAAAAAAAAQ")...); a.status != 409 {
			t.Errorf("a second card of one address: status %d, want 409: %s", a.status, textOf(a.body))
		}
		s.clock.set(closes.Add(time.Minute)) // late, but it came on the last day
		if a := s.press(path, append(card("sam@example.com", "2026-08-22"), "name", "=HYPERLINK(1)")...); a.status != 303 {
			t.Errorf("after closing: status %d: %s", a.status, textOf(a.body))
		}
		s.shows("/desk/g/boots/entries", "By the form 1", "Typed in from cards or letters 2")
		s.shows("/g/boots/fair/", "2 tickets were typed in by the host from cards or letters.")
		for _, p := range []string{"/desk/g/boots/paper/0000000000000000", "/desk/g/boots/paper/nonsense", "/desk/g/boots/import/nonsense",
			"/desk/g/boots/import/AAAAAAAAAAAAAAAAAAAAAA/try", "/desk/g/other/import"} {
			if a := s.get(p); a.status != 404 {
				t.Errorf("%s: status %d, want 404", p, a.status)
			}
		}
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		for _, p := range []string{path, "/desk/g/boots/import"} {
			if a := s.get(p); a.status != 410 {
				t.Errorf("%s after the lock: status %d, want 410", p, a.status)
			}
		}
		if a := s.press(path, card("late@example.com", "2026-08-22")...); a.status != 410 {
			t.Errorf("a card after the lock: status %d, want 410", a.status)
		}
		onlyPlainWords(t, s)
	})
}

var privatePath = regexp.MustCompile(`/g/boots/r/[A-Za-z0-9_-]{24}`)

// A file in the middle: the server ends between the upload and the button, and
// another one on the same database goes on; before the button nothing of the
// file can be read in what is on the disk, nor in the log; after a day, and
// after it was deleted, it is gone.
func TestFileGoesOn(t *testing.T) {
	folder := t.TempDir()
	s := start(t, during, "", "-data", folder)
	s.claim()
	s.posted("boots", bootsTerms(t))
	at := s.bringFile(sheetHead + sheet("plantedperson@example.com") + sheet("sam@example.com"))
	must(t, s.stop())
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	must(t, err)
	looked := 0
	for _, f := range files {
		b, err := os.ReadFile(f)
		must(t, err)
		looked += len(b)
		if bytes.Contains(b, []byte("plantedperson")) || bytes.Contains(b, []byte("Email Address")) {
			t.Errorf("%s has what stands in the file", filepath.Base(f))
		}
	}
	if looked < 10_000 || strings.Contains(s.logs.String(), "plantedperson") {
		t.Errorf("%d bytes looked at, or the log has an address", looked)
	}
	s = start(t, during.Add(time.Hour), "", "-data", folder)
	s.goes("/desk", "/desk/in", "passphrase", passphrase)
	s.goes(at+"/try", at, formShown(s.get(at).body)...)
	s.goes(at+"/done", at+"/go")
	s.shows(at+"/done", "2 rows of this file’s 2 are in the draw.")
	s.clock.set(during.Add(24*time.Hour + time.Minute))
	if a := s.get(at + "/done"); a.status != 404 || !strings.Contains(textOf(a.body), "This file is not here, or no longer.") {
		t.Errorf("after a day: status %d: %s", a.status, textOf(a.body))
	}
	s.clock.set(during.Add(2 * time.Hour))
	s.shows(at+"/done", "2 rows of this file’s 2 are in the draw.")
	s.goes("/desk/g/boots/entries", at+"/drop")
	if a := s.get(at + "/tickets.csv"); a.status != 404 {
		t.Errorf("after it was deleted: status %d", a.status)
	}
}
