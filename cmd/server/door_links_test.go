package main

import (
	"strings"
	"testing"
	"time"
)

// The day-book leads to a file's and a card's entries while there are none yet,
// while entries are open, and after they have closed; not before they open, nor
// once the list is locked.
func TestDayBookLeadsToTheDoors(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	leads := func(when string, want bool) {
		t.Helper()
		page := s.get("/desk/g/boots").body
		for _, to := range []string{`href="/desk/g/boots/import"`, `href="/desk/g/boots/paper"`} {
			if strings.Contains(page, to) != want {
				t.Errorf("%s: %s is there: %v, want %v", when, to, !want, want)
			}
		}
	}
	leads("open, with no entries", true)
	s.clock.set(closes.Add(time.Minute))
	leads("closed", true)
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	leads("locked", false)
}
