package main

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// The copy that the desk gives out, put into a new data folder beside the key,
// finishes a locked draw with the same list; a check of what it then serves
// finds the draw in order. That a copy is taken after the lock, and that the
// folder's other file is needed, is what deploy/backup.md says.
func TestCopyFinishesTheDraw(t *testing.T) {
	old := t.TempDir()
	s := start(t, during, "", "-data", old)
	s.claim()
	s.bring("boots", `"winners": 1`, `"winners": 1, "lock_minutes": 10`)
	for _, email := range []string{"robin@example.com", "kim@example.com", "sam@example.com"} {
		s.post1(email)
	}
	const page = "/desk/g/boots/copy"
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	locked := frozenHash(t, s)
	if a := s.press(page, "passphrase", "not this one"); a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), wrongPhrase) {
		t.Errorf("a wrong passphrase: status %d: %s", a.status, textOf(a.body))
	}
	if a := visit(t, s.base).press(page, "passphrase", passphrase); a.status != http.StatusSeeOther || strings.Contains(a.body, "SQLite") {
		t.Errorf("a stranger who is not signed in: status %d, want 303 to the sign-in", a.status)
	}
	s.clock.set(closes.Add(2 * time.Minute)) // a wrong try slows down the next
	a := s.press(page, "passphrase", passphrase)
	if a.status != http.StatusOK || a.header.Get("Content-Disposition") != `attachment; filename="evenhand-2026-08-22.db"` || a.header.Get("Cache-Control") != "no-store" {
		t.Fatalf("the copy: status %d, %v", a.status, a.header)
	}
	s.shows("/desk/g/boots/show", "A copy of the data Ready.")
	if left, err := filepath.Glob(filepath.Join(old, "copy-*")); err != nil || len(left) > 0 {
		t.Errorf("left in the data folder: %v, %v", left, err)
	}
	must(t, s.stop())

	anew := t.TempDir()
	key, err := os.ReadFile(filepath.Join(old, "master.key"))
	must(t, err)
	must(t, os.WriteFile(filepath.Join(anew, "master.key"), key, 0o600))
	must(t, os.WriteFile(filepath.Join(anew, "evenhand.db"), []byte(a.body), 0o600))
	other := start(t, event.Add(time.Minute), "", "-data", anew)
	other.goes("/desk", "/desk/in", "passphrase", passphrase)
	if got := frozenHash(t, other); got != locked {
		t.Errorf("the copy's list has the fingerprint %s, want %s", got, locked)
	}
	other.press("/desk/g/boots/draw")
	if r := check(t, other, "boots"); r.Verdict != draw.Valid || r.Tickets != 3 {
		t.Errorf("the draw from the copy: %s with %d tickets", r.Verdict, r.Tickets)
	}
}

const wrongPhrase = "This is not the desk’s passphrase."

// With PostgreSQL the page says who makes copies, and there is no button.
func TestCopyOfPostgres(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		want, words := http.StatusNotFound, "The data lie in a PostgreSQL database"
		if database == "" {
			want, words = http.StatusOK, "Save the copy"
		}
		s.shows("/desk/g/boots/copy", words)
		if a := s.press("/desk/g/boots/copy", "passphrase", passphrase); a.status != want {
			t.Errorf("status %d, want %d", a.status, want)
		}
		onlyPlainWords(t, s)
	})
}
