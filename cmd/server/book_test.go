package main

import (
	"crypto/sha256"
	"fmt"
	"strings"
	"testing"
	"time"
)

// The day-book has a row for each change of the posted terms, with what
// changed, newest first.
func TestDayBookChanges(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	change := func(revision, closes, event, rules string) {
		t.Helper()
		s.clock.set(s.clock.now().Add(time.Minute))
		s.changed("boots", "revision", revision, "closes", closes, "event", event, "rules", rules)
	}
	change("1", "2026-08-22T17:00", "2026-08-22T17:40", boots)
	change("2", "2026-08-22T17:00", "2026-08-22T19:40", boots)
	change("3", "2026-08-22T17:00", "2026-08-22T19:40", boots+"Boots only.\n")
	page := s.shows("/desk/g/boots")
	at := len(page)
	for _, want := range []string{
		"The terms were posted.",
		"Friday 21 August 2026, 4:01 pm New York time Entry closing moved from Saturday 22 August 2026, 4:00 pm New York time to Saturday 22 August 2026, 5:00 pm New York time. The old terms",
		"Friday 21 August 2026, 4:02 pm New York time The draw moved from Saturday 22 August 2026, 5:40 pm New York time to Saturday 22 August 2026, 7:40 pm New York time. The old terms",
		"Friday 21 August 2026, 4:03 pm New York time The rules changed. The old terms",
	} {
		i := strings.Index(page, want)
		if i < 0 || i > at {
			t.Errorf("%q is not there, or below an older row: %s", want, page)
		}
		at = i
	}
	if n := strings.Count(page, "Terms changed"); n != 3 {
		t.Errorf("%d rows of changes, want 3", n)
	}
	// Every posted terms' fingerprint stays, counted here from the published file
	// (draw protocol, "opening.txt": SHA-256 of the text before the signature).
	for _, name := range []string{"opening.1.txt", "opening.2.txt", "opening.3.txt", "opening.txt"} {
		text, _, _ := strings.Cut(s.get("/g/boots/fair/"+name).body, "\n\n")
		if sum := fmt.Sprintf("%x", sha256.Sum256([]byte(text+"\n"))); strings.Count(page, sum) != 1 {
			t.Errorf("the fingerprint %s of %s stands %d times in the day-book, want once", sum, name, strings.Count(page, sum))
		}
	}
	if body := s.get("/desk/g/boots").body; strings.LastIndex(body, `<ul class="steps">`) > strings.Index(body, `<p class="steps off"><a href="/desk/g/boots/cancel">`) {
		t.Error("calling it off does not stand last and apart")
	}
}

// Before entries start the times can be moved, and a draft past its closing
// says so.
func TestDayBookBefore(t *testing.T) {
	s := start(t, during.Add(-72*time.Hour), "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	s.shows("/desk/g/boots", "Entries start", "Change something")
	s.shows("/desk/g/boots/later", "Times New York time")
	s.finishes("late", "/desk/new", good("draw", "late")...)
	s.clock.set(closes)
	s.shows("/desk/g/late", "its entries would have closed already", "Saturday 22 August 2026, 4:00 pm New York time", "Change the terms")
}

// The day-book notes what changed in a draft, by the names that the page before
// posting has for it, and not what stood there: addresses can. It counts the
// things that were looked at as their page does (counted there).
func TestDayBookOfADraft(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.draft(`"min_age"`, `"barred": ["walker9@example.org"], "min_age"`)
	s.clock.set(during.Add(time.Minute))
	name, was := asShown(t, s.visitor, "/desk/g/boots/terms")
	change := good(name, was, "prize", "A pair of old hiking boots", "live", "US, Canada", "barred", "walker7@example.org")
	s.finishes("boots", "/desk/g/boots/terms", change...)
	text := s.shows("/desk/g/boots", "Terms changed Friday 21 August 2026, 4:01 pm New York time You changed the draft: ", "Prize;", "Addresses that can’t win")
	if strings.Contains(text, "walker") || strings.Contains(text, "old hiking boots") {
		t.Errorf("the row says what stood there: %s", text)
	}
	name, was = asShown(t, s.visitor, "/desk/g/boots/terms")
	again := append([]string{}, change...)
	for i := 0; i < len(again); i += 2 {
		if again[i] == name {
			again[i+1] = was
		}
	}
	s.finishes("boots", "/desk/g/boots/terms", again...)
	if n := strings.Count(s.shows("/desk/g/boots"), "You changed the draft"); n != 1 {
		t.Errorf("%d rows of changes after one that changed nothing, want 1", n)
	}
	const path = "/desk/g/boots/cautions"
	all := markInput.FindAllStringSubmatch(s.get(path).body, -1)
	s.shows("/desk/g/boots", fmt.Sprintf("%d things to look at first, then it can be posted.", len(all)))
	s.readsOn(path, "mark", all[len(all)-1][1])
	s.shows("/desk/g/boots", fmt.Sprintf("%d things are left to look at, of %d", len(all)-1, len(all)), "Looked at", "One thing that came up from your terms.")
	s.reads("boots")
	s.shows("/desk/g/boots", fmt.Sprintf("%d things that came up from your terms.", len(all)), "You went on: “A lawyer looked at it.”")
}
