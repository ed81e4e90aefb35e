package main

import (
	"encoding/json"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// typedWords are what people typed and no page may show once it is deleted.
var typedWords = append([]string{"walker", "PLANTED-NUMBER"}, plantedForms...)

func nothingTyped(t testing.TB, where, text string) {
	t.Helper()
	for _, p := range typedWords {
		if strings.Contains(strings.ToLower(text), strings.ToLower(p)) {
			t.Errorf("%s holds %q: %s", where, p, text)
		}
	}
}

// delivered is a drawn giveaway whose prize has arrived. It returns everybody's
// private pages, the winner's link and the sponsor's.
func delivered(t *testing.T, database string) (s *service, private []string, claim, sponsor string) {
	t.Helper()
	s = start(t, during, database, "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"min_age"`, `"keep_days": 30, "barred": ["walker99@example.org"], "min_age"`)
	private = drawBoots(t, s)
	s.clock.set(event.Add(time.Hour))
	s.shows("/desk/g/boots/erase", "can’t be deleted yet", "A prize is not settled yet", "As things stand, it is deleted by itself on")
	if a := s.press("/desk/g/boots/erase", "sure", "yes"); a.status != 409 {
		t.Errorf("deleted while a prize is to be given: status %d", a.status)
	}
	claim = claimLinks.FindString(s.get("/desk/g/boots/place/1").body)
	s.confirmed(1)
	sponsor = s.sponsor()
	s.goes(sponsor, sponsor+"/1", "mark", "shipped", "carrier", "Post", "number", "PLANTED-NUMBER")
	return s, private, claim, sponsor
}

// The desk deletes what people entered: asked once more while the parcel is
// under way. From then on every page about it says so, kindly, and nothing that
// was published has changed.
func TestEraseAtTheDesk(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s, private, claim, sponsor := delivered(t, database)
		files := map[string]string{}
		for _, name := range []string{"opening.txt", "rules.txt", "roll.txt", "excluded.txt", "freeze.txt", "record.txt", "outcome.txt"} {
			files[name] = s.get("/g/boots/fair/" + name).body
		}
		proof := s.get(private[0] + "/receipt").body
		s.shows("/desk/g/boots/erase", "Winner: the prize is confirmed, but nobody has marked it as delivered.", "What goes", "What stays")
		if a := s.press("/desk/g/boots/erase"); a.status != 422 || !strings.Contains(textOf(a.body), "Tick that you know it") {
			t.Errorf("deleted without asking once more: status %d", a.status)
		}
		s.later()
		s.goes(sponsor, sponsor+"/1", "mark", "delivered")
		text := s.shows("/desk/g/boots", "Personal data is deleted by itself on", "Delete it now")
		if !strings.Contains(text, "Monday 21 September 2026, 7:00 pm New York time") { // delivered 22 August, 7:40 pm
			t.Errorf("the day of the deletion is missing: %s", text)
		}
		s.goes("/desk/g/boots/erase", "/desk/g/boots/erase")
		s.goes("/desk/g/boots/erase", "/desk/g/boots/erase")
		s.erasedPages(private, claim, sponsor)
		s.shows("/desk/g/boots", "Winner: gets the prize.", "Winner: the parcel was delivered.")
		for name, before := range files {
			if after := s.get("/g/boots/fair/" + name).body; after != before || before == "" && name != "excluded.txt" {
				t.Errorf("%s has changed", name)
			}
		}
		holds(t, s, 0, 1)
		if after := s.get(private[0] + "/receipt").body; after != proof || proof == "" {
			t.Errorf("the proof of entry has changed:\n%s\n%s", after, proof)
		}
		nothingTyped(t, "the log", s.logs.String())
		onlyPlainWords(t, s)
	})
}

// erasedPages looks at every page that showed what people typed.
func (s *service) erasedPages(private []string, claim, sponsor string) {
	s.t.Helper()
	for path, words := range map[string]string{
		"/desk/g/boots": "was deleted", "/desk/g/boots/erase": "It was deleted on", "/desk/g/boots/erase/one": "deleted already, of everybody",
		"/desk/g/boots/entries": "What people entered was deleted", "/desk/g/boots/result": "Personal data was deleted",
		"/desk/g/boots/result?next=1": "Personal data was deleted", "/desk/g/boots/place/1": "The personal data here was deleted",
		"/desk/g/boots/place/2": "The personal data here was deleted", "/desk/g/boots/place/1/answer": "The personal data here was deleted",
		"/desk/g/boots/sponsor": "The personal data here was deleted", "/g/boots/rules": "giveaway is invented", "/g/boots": "",
		private[0]: "Your personal data was deleted", private[5]: "Your personal data was deleted",
	} {
		nothingTyped(s.t, path, s.shows(path, words))
	}
	for path, status := range map[string]int{claim: 410, sponsor: 410, private[0] + "/entry": 410, private[0] + "/withdraw": 410, private[0] + "/fix": 410} {
		a := s.get(path)
		if a.status != status || !strings.Contains(textOf(a.body), "deleted") && !strings.Contains(textOf(a.body), "locked") {
			s.t.Errorf("GET %s: status %d, want %d: %s", path, a.status, status, textOf(a.body))
		}
		nothingTyped(s.t, path, a.body)
	}
	for path, form := range map[string][]string{
		claim: claimFields, sponsor + "/1": {"mark", "in-stock"}, "/desk/g/boots/sponsor": nil,
		private[0] + "/size": {"system", "mens", "size", "9", "width", "D"}, private[0] + "/withdraw": nil,
		"/desk/g/boots/place/1/answer": append([]string{"by", "chat"}, claimFields...), "/desk/g/boots/place/1/skip": {"reason", "declined", "given_back", "yes", "sent", "yes"},
		"/desk/g/boots/place/1/link": nil,
	} {
		a := s.press(path, form...)
		if a.status != 410 && a.status != 200 || a.status == 200 && !strings.Contains(textOf(a.body), "was deleted") {
			s.t.Errorf("POST %s: status %d: %s", path, a.status, textOf(a.body))
		}
		nothingTyped(s.t, "the answer of "+path, a.body)
	}
	var p struct{ Code string }
	if a := s.do(http.MethodGet, private[0]+"/entry", "", "", "Accept", "application/json"); json.Unmarshal([]byte(a.body), &p) != nil || p.Code != "deleted" {
		s.t.Errorf("a program reads %q", a.body)
	}
}

// The tick of two servers deletes it by itself, in time, and not before.
func TestErasedByItself(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s, private, claim, sponsor := delivered(t, database)
		s.later()
		s.goes(sponsor, sponsor+"/1", "mark", "delivered")
		due := s.clock.now().Add(30 * 24 * time.Hour).Truncate(time.Hour)
		s.clock.set(due.Add(-time.Second))
		time.Sleep(2500 * time.Millisecond) // two ticks
		s.shows(private[0], "walker0@example.org")
		s.clock.set(due)
		for start := time.Now(); !strings.Contains(s.get(private[0]).body, "Your personal data was deleted"); time.Sleep(100 * time.Millisecond) {
			if time.Since(start) > browsertest.Patience {
				t.Fatalf("not deleted: %s", s.logs.String())
			}
		}
		s.press("/desk/in", "passphrase", passphrase) // after 30 days
		s.erasedPages(private, claim, sponsor)
		holds(t, s, 0, 1)
	})
}

// One person asks: not for a ticket that may get the prize, and why is said.
func TestEraseOneAtTheDesk(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	const page = "/desk/g/boots/erase/one"
	s.shows(page, "The list is not locked yet")
	if a := s.press(page, "which", "walker1@example.org", "sure", "yes"); a.status != 409 {
		t.Errorf("before the lock: status %d", a.status)
	}
	private := drawBoots(t, s)
	for _, c := range []struct{ which, says string }{
		{"", "Write a ticket"}, {"walker1", "Write a ticket"}, {"walker@", "Write the whole e-mail address"},
		{"nobody@example.org", "Nothing is kept here under this"}, {"0000-0000-0000-0000", "Nothing is kept here under this"},
	} {
		if a := s.press(page, "which", c.which, "sure", "yes"); a.status != 422 || !strings.Contains(textOf(a.body), c.says) {
			t.Errorf("%q: status %d, want 422 with %q: %s", c.which, a.status, c.says, textOf(a.body))
		}
	}
	gone, kept := 0, 0
	for n, path := range private {
		address := "Walker" + string(rune('0'+n)) + "@Example.org"
		a := s.press(page, "which", address)
		if a.status != 200 {
			t.Fatalf("%s: status %d", address, a.status)
		}
		if strings.Contains(a.body, "It can’t be deleted now") {
			kept++
			s.press(page, "which", address, "sure", "yes")
			s.shows(path, "alker")
			continue
		}
		gone++
		s.goes(page+"?done=1", page, "which", address, "sure", "yes")
		nothingTyped(t, path, s.shows(path, "Your personal data was deleted"))
	}
	if gone == 0 || kept == 0 || gone+kept != 6 {
		t.Errorf("%d deleted, %d kept", gone, kept)
	}
	s.shows(page+"?done=1", "It is deleted.")
	s.shows("/desk/g/boots", "The personal data of one ticket was deleted, as its holder asked.")
	// A place that was skipped can be deleted, and its page says so.
	s.clock.set(event.Add(time.Hour))
	a := s.press("/desk/g/boots/place/1/skip", "reason", "withdrawn")
	if a.status != 303 {
		t.Fatalf("skip: status %d: %s", a.status, textOf(a.body))
	}
	ticket := ticketOn(t, s.get("/desk/g/boots/place/1").body)
	s.goes(page+"?done=1", page, "which", ticket, "sure", "yes")
	nothingTyped(t, "the place", s.shows("/desk/g/boots/place/1", "The personal data here was deleted"))
	nothingTyped(t, "the answer", s.press("/desk/g/boots/place/1/answer", claimFields...).body)
	if a := s.press(page, "which", ticket, "sure", "yes"); a.status != 422 || !strings.Contains(textOf(a.body), "was deleted already, on") {
		t.Errorf("twice: status %d", a.status)
	}
	holds(t, s, 1, 0)
	onlyPlainWords(t, s)
}

var ticketText = regexp.MustCompile(`[0-9A-Z]{4}( - [0-9A-Z]{4}){3}`)

// ticketOn is the first ticket that a page names, from its text.
func ticketOn(t testing.TB, html string) string {
	t.Helper()
	if found := ticketText.FindString(textOf(html)); found != "" {
		return found
	}
	t.Fatalf("no ticket on: %s", textOf(html))
	return ""
}

// The pages of the deletion at every width, dark and light.
func TestEraseInABrowser(t *testing.T) {
	s, private, claim, sponsor := delivered(t, "")
	b := browsertest.New(t)
	b.Open(s.base + "/desk")
	b.Type("#passphrase", passphrase)
	if got := b.Submit(".button"); got != 200 {
		t.Fatalf("signing in has status %d", got)
	}
	at := func(path, name string) { t.Helper(); b.Open(s.base + path); look(t, b, name) }
	at("/desk/g/boots/erase", "erase-sure")
	if got := b.Submit(".button"); got != 422 {
		t.Errorf("without the tick: status %d", got)
	}
	look(t, b, "erase-again")
	at("/desk/g/boots/erase/one", "erase-one")
	b.Type("#f-which", "no address")
	if got := b.Submit(".button"); got != 422 {
		t.Errorf("no address: status %d", got)
	}
	look(t, b, "erase-one-faults")
	for n, name := range []string{"erase-one-found", "erase-one-kept"} {
		for i := range private {
			b.Open(s.base + "/desk/g/boots/erase/one")
			b.Type("#f-which", "walker"+string(rune('0'+i))+"@example.org")
			if got := b.Submit(".button"); got != 200 {
				t.Fatalf("walker %d: status %d", i, got)
			}
			if (b.Text("main") != "" && strings.Contains(b.Text("main"), "can’t be deleted now")) == (n == 1) {
				break
			}
		}
		look(t, b, name)
	}
	b.Open(s.base + "/desk/g/boots/erase")
	b.Click("#f-sure")
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "The personal data of this giveaway was deleted." {
		t.Fatalf("deleted: status %d, %q", got, b.Text("h1"))
	}
	look(t, b, "erased")
	at("/desk/g/boots", "erased-day")
	at("/desk/g/boots/place/1", "erased-place")
	at("/desk/g/boots/result", "erased-result")
	at("/desk/g/boots/entries", "erased-entries")
	at(private[0], "erased-private")
	at(claim, "erased-claim")
	at(sponsor, "erased-sponsor")
}
