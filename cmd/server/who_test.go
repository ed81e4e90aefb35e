package main

import (
	"html"
	"strings"
	"testing"
	"time"
)

// The host learns from the desk whom to write to: of the winner at once, of
// those next in line when asked. Nobody else sees it.
func TestWhoWon(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		for _, name := range []string{"robin", "kim", "sam", "jo"} {
			s.enter("email", name+"@example.com", "system", "womens", "size", "8", "width", "B",
				"live", "US", "state", "VT", "age", "18-or-over", "rules", "yes", "name", "Trail <"+name+">")
		}
		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.clock.set(event.Add(10 * time.Second))
		s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
		page := html.UnescapeString(s.shows("/desk/g/boots/result", "Write to", "@example.com · women’s 8 B · name to be said: Trail"))
		if n := strings.Count(page, "@example.com"); n != 1 {
			t.Errorf("%d addresses on the result page, want the winner's alone: %s", n, page)
		}
		all := html.UnescapeString(s.shows("/desk/g/boots/result?next=1", "Write to"))
		for _, name := range []string{"robin", "kim", "sam", "jo"} {
			if strings.Count(all, name+"@example.com · women’s 8 B · name to be said: Trail <"+name+">") != 1 {
				t.Errorf("asked for who is next in line, %s is not there once: %s", name, all)
			}
		}
		for _, path := range []string{"/g/boots", "/g/boots/fair/"} {
			if strings.Contains(s.get(path).body, "@example.com") {
				t.Errorf("GET %s shows an address", path)
			}
		}
	})
}

// enter sends an entry in.
func (s *service) enter(pairs ...string) {
	s.t.Helper()
	if a := s.press("/g/boots", pairs...); a.status != 303 {
		s.t.Fatalf("an entry: status %d: %s", a.status, textOf(a.body))
	}
}
