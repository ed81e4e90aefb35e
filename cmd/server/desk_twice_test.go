package main

import (
	"strings"
	"testing"
	"time"
)

// Every button of the day-book sent once more, a minute later, as Back or a
// reload sends it: the day-book and the giveaway's page read as before (the
// desk's issue: "Back and reload double nothing").
func TestDeskButtonsTwice(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	change, maya, _ := withSeconds()
	s.bring("boots", change...)
	enterSome(t, s, 2)
	at := during
	twice := func(path string, pairs ...string) {
		t.Helper()
		at = at.Add(time.Minute)
		s.clock.set(at)
		first := s.press(path, pairs...)
		if first.status != 303 {
			t.Fatalf("%s: status %d: %s", path, first.status, textOf(first.body))
		}
		read := func() string { return textOf(s.get("/desk/g/boots").body) + textOf(s.get("/g/boots").body) }
		was := read()
		at = at.Add(time.Minute)
		s.clock.set(at)
		if again := s.press(path, pairs...); again.status != 303 && again.status != 409 && again.status != 422 {
			t.Errorf("%s once more: status %d: %s", path, again.status, textOf(again.body))
		}
		if is := read(); is != was {
			t.Errorf("%s once more changes\n%s\nto\n%s", path, was, is)
		}
	}
	twice("/desk/g/boots/kept")
	twice("/desk/g/boots/paper", card("kim@example.com", "2026-08-21")...)
	change = []string{"revision", "1", "closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", theRules}
	asked := sureInput.FindStringSubmatch(s.press("/desk/g/boots/later", change...).body)
	if asked == nil {
		t.Fatal("a change is not asked about")
	}
	twice("/desk/g/boots/later", append(change, "sure", asked[1], "why", "Our lawyer looked at the change.")...)
	at = closes
	twice("/desk/g/boots/lock")
	twice("/g/boots/second/maya", "secret", maya)
	twice("/desk/g/boots/cancel", "reason", "other", "other", "the shop closed", "seen", "locked")
	if page := s.shows("/desk/g/boots"); strings.Count(page, "You called it off.") != 1 || strings.Count(page, "A card or letter") != 1 {
		t.Error("the day-book has a row twice, or not at all: " + page)
	}
}

// theRules are those of testdata/boots.json.
const theRules = "Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n"
