package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// askedTerms are terms with two questions of the creator's own.
const askedTerms = `"questions": [{"key":"trail","label":"Which trail?","kind":"text"},{"key":"season","label":"Which season?","kind":"choice","choices":["Early spring","Autumn"],"required":true}], "min_age"`

// answer enters somebody, and returns the private page.
func (s *service) answer(address, trail, season string) string {
	s.t.Helper()
	a := s.press("/g/boots", "email", address, "system", "womens", "size", "8", "width", "B", "live", "US", "state", "VT",
		"age", "18-or-over", "rules", "yes", "answers.trail", trail, "answers.season", season)
	if a.status != 303 {
		s.t.Fatalf("enter: status %d: %s", a.status, textOf(a.body))
	}
	return a.to
}

// What was answered to the creator's own questions stands on the page of the
// entries: choices counted (by hand here), texts as they are, the newest first,
// and nothing of whose they are. What was withdrawn is not among them, and
// neither the log nor the sponsor's page has any. The winner's page at the desk
// has the winner's own. The facts on deletion: README, "Privacy".
func TestAnswersAtTheDesk(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"min_age"`, askedTerms)
		const path = "/desk/g/boots/entries"
		s.shows(path, "Which trail? Nobody answered yet.", "Which season? Nobody answered yet.")
		later := func() { s.clock.set(s.clock.now().Add(time.Second)) }
		s.answer("ada@example.org", "plantedway <b>bold</b>", "Autumn")
		later()
		s.answer("ben@example.org", "", "Autumn")
		later()
		s.answer("cy@example.org", "plantedway second", "Early spring")
		later()
		gone := s.answer("dee@example.org", "plantedway third", "Early spring")
		page := s.shows(path, "3 people answered; one left it empty. plantedway third plantedway second plantedway &lt;b&gt;bold&lt;/b&gt;",
			"4 people answered: “Early spring” 2, “Autumn” 2.", "Early spring 2 Autumn 2")
		if body := s.get(path).body; strings.Contains(body, "<b>bold") || strings.Contains(page, "example.org") {
			t.Errorf("an answer as it was typed, or an address: %s", page)
		}
		s.goes(gone, gone+"/withdraw")
		if page := s.shows(path, "2 people answered; one left it empty.", "3 people answered: “Autumn” 2, “Early spring” 1."); strings.Contains(page, "third") {
			t.Errorf("what was withdrawn is shown: %s", page)
		}

		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.clock.set(event.Add(10 * time.Second))
		s.press("/desk/g/boots/draw")
		s.shows("/desk/g/boots/place/1", "Which season? answered with the entry")
		s.confirmed(1)
		sponsor := s.sponsor()
		for _, public := range []string{sponsor, sponsor + "/1", "/g/boots", "/g/boots/fair/"} {
			if page := s.get(public).body; strings.Contains(page, "plantedway") || strings.Contains(page, "Early spring") || strings.Contains(page, "Which season") {
				t.Errorf("%s shows answers", public)
			}
		}
		s.goes(sponsor, sponsor+"/1", "mark", "shipped", "carrier", "Post", "number", "1")
		s.later()
		s.goes(sponsor, sponsor+"/1", "mark", "delivered")
		s.goes("/desk/g/boots/erase", "/desk/g/boots/erase")
		for _, p := range []string{path, "/desk/g/boots/place/1"} {
			if page := textOf(s.get(p).body); strings.Contains(page, "plantedway") || strings.Contains(page, "Early spring") || strings.Contains(page, "Autumn") {
				t.Errorf("after the deletion %s shows: %s", p, page)
			}
		}
		if strings.Contains(s.logs.String(), "plantedway") {
			t.Error("the log holds an answer")
		}
		onlyPlainWords(t, s)
	})
}

// Where there are many answers the newest fifty stand there, and all of them
// one press away.
func TestManyAnswers(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"min_age"`, askedTerms)
	for i := range 53 {
		s.clock.set(during.Add(time.Duration(i) * time.Second))
		s.answer(fmt.Sprintf("walker%d@example.org", i), fmt.Sprintf("trail number %d.", i), "Autumn")
	}
	page := s.shows("/desk/g/boots/entries", "53 people answered. trail number 52. trail number 51.", "trail number 3. The newest 50 stand here. All 53 answers")
	if strings.Contains(page, "trail number 2.") {
		t.Errorf("more than fifty stand there: %s", page)
	}
	all := s.shows("/desk/g/boots/entries?answers=all&from=0", "trail number 52.", "trail number 0.")
	if strings.Contains(all, "stand here") {
		t.Errorf("all stand there, and it says: %s", all)
	}
	s.shows("/desk/g/boots/entries?answers=all&from=7", "trail number 52.") // no such page: the first
}
