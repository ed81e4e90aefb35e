package main

import (
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/internal/browsertest"
	"evenhand/sample"
)

// none takes the public number out of the test's terms.
const none = `"beacon": "none", "rules": "Rules`

// A lock forgotten past the event: the desk offers to move the event, and the
// draw then comes to its end (draw protocol, opening.txt: "A roll not frozen
// in time: revise the opening to a later event first").
func TestForgottenLock(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"rules": "Rules`, none)
		enterSome(t, s, 5)
		s.clock.set(event.Add(time.Hour)) // as if no server had run meanwhile
		s.shows("/desk/g/boots", "The list was not locked before the draw.", "Move the draw")
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.shows("/desk/g/boots", "The list was not locked before the draw.")
		s.shows("/desk/g/boots/later", "so the draw has to move", "Show what changes")
		change := func(when string) answer {
			return s.changes("/desk/g/boots/later", "revision", "1", "closes", "2026-08-22T16:00", "event", when, "rules", "Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n")
		}
		for when, want := range map[string]string{
			"2026-08-22T17:00": "The draw can only move to a later time.",
			"2026-08-22T18:45": "Leave at least 10 minutes from now",
			"":                 "Choose a day and an hour.",
		} {
			if a := change(when); a.status != 422 || !strings.Contains(textOf(a.body), want) {
				t.Errorf("moving to %q: status %d, want 422 with %q: %s", when, a.status, want, textOf(a.body))
			}
		}
		if a := change("2026-08-22T20:00"); a.status != 303 {
			t.Fatalf("moving the event: status %d: %s", a.status, textOf(a.body))
		}
		s.shows("/desk/g/boots", "Entries are closed.", "Terms changed", "The draw moved from Saturday 22 August 2026, 5:40 pm New York time to Saturday 22 August 2026, 8:00 pm New York time.")
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.clock.set(time.Date(2026, 8, 23, 0, 0, 0, 0, time.UTC)) // 8 pm in New York
		s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
		s.shows("/desk/g/boots/result", "This draw holds, with one thing to know: no public number")
		if r := check(t, s, "boots"); r.Verdict != draw.Valid+", weak" || r.Tickets != 5 {
			t.Errorf("the check: %q, %d tickets, want valid, weak, 5: %v", r.Verdict, r.Tickets, r.Findings)
		}
		onlyPlainWords(t, s)
	})
}

// A list that nobody locks locks itself 30 minutes before the event (the
// issue's default); the tick does it.
func TestLocksItself(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		s.clock.set(event.Add(-30*time.Minute - time.Second))
		time.Sleep(1500 * time.Millisecond) // longer than a tick
		s.shows("/desk/g/boots", "Entries are closed.")
		s.clock.set(event.Add(-30 * time.Minute))
		deadline := time.Now().Add(browsertest.Patience)
		for !strings.Contains(s.get("/desk/g/boots").body, "The list is locked.") {
			if time.Now().After(deadline) {
				t.Fatal("it did not lock itself")
			}
			time.Sleep(50 * time.Millisecond)
		}
	})
}

// Without relays the public number is pasted; what is not the draw's own is
// refused in plain words. The true value is the published round's.
func TestPastedNumber(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", "2026-08-22T17:40", "2026-08-22T17:50") // a round that the stand-in lacks
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	s.clock.set(event.Add(11 * time.Minute))
	if a := s.press("/desk/g/boots/draw"); a.status != 503 || !strings.Contains(textOf(a.body), "The public number could not be fetched") {
		t.Errorf("no relay has it: status %d: %s", a.status, textOf(a.body))
	}
	past, err := sample.PastRound()
	must(t, err)
	for typed, want := range map[string]string{
		"nonsense":                      "This is not a public number of the network.",
		hexOf(past.Signature):           "This is not the public number that this draw waits for",
		`{"round":31543812,"x":"y"}`:    "This is not a public number of the network.",
		strings.Repeat("ab", 48):        "This is not the public number that this draw waits for",
		hexOf(past.Signature[:47]):      "This is not a public number of the network.",
		strings.Repeat("a", 20_000):     "This is not a public number of the network.",
		"{\"round\":1,\"signature\":1}": "This is not a public number of the network.",
	} {
		a := s.press("/desk/g/boots/draw", "value", typed)
		if a.status != 422 || !strings.Contains(textOf(a.body), want) || !strings.Contains(a.body, `aria-invalid="true"`) {
			t.Errorf("pasting %.40q: status %d, want 422 with %q", typed, a.status, want)
		}
	}
	onlyPlainWords(t, s)
}

// The value pasted is the one that the stand-in would have served.
func TestPastedTrueNumber(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	s.clock.set(event)
	past, err := sample.PastRound()
	must(t, err)
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw", "value", " "+strings.ToUpper(hexOf(past.Signature))+"\n")
	s.shows("/desk/g/boots/result", "Nobody was in, so nobody won.")
}

// good are the fields of the short page.
func good(change ...string) []string {
	form := map[string]string{
		"draw": "boots", "title": "Win boots.", "prize": "Hiking boots", "channel": "Slow Miles", "sponsor": "Larkspur Trail Supply",
		"zone": "America/New_York", "opens": "2026-08-21T12:00", "closes": "2026-08-22T16:00", "event": "2026-08-22T17:40",
		"winners": "1", "alternates": "2", "lock_minutes": "30", "answer_days": "7", "min_age": "18",
		"run_0_system": "mens", "run_0_from": "7", "run_0_to": "14", "run_0_step": "half", "run_0_widths": "D, 2E", "run_0_except": "13.5",
		"run_1_system": "womens", "run_1_step": "half", "scale": "3", "disclosure": "Larkspur Trail Supply gives the boots, and pays nothing else.",
		"live": "US, canada", "ship": "US", "friend": "yes", "alaska_hawaii": "yes", "number": "yes", "rules": "One entry a person.\r\n",
	}
	for i := 0; i < len(change); i += 2 {
		form[change[i]] = change[i+1]
	}
	var pairs []string
	for name, value := range form {
		pairs = append(pairs, name, value)
	}
	return pairs
}

// What is wrong stands beside its field, and what was typed
// is kept. The wall times are cases of testdata/facts/time.md (IANA 2026f):
// TZ-03 never comes, TZ-09 comes twice.
func TestTermsPage(t *testing.T) {
	s := start(t, time.Date(2026, 2, 1, 12, 0, 0, 0, time.UTC), "", "-data", t.TempDir())
	s.claim()
	for _, c := range []struct{ field, typed, want string }{
		{"draw", "Trail Boots", "Write a short name"},
		{"draw", "", "This name is proposed."},
		{"title", strings.Repeat("a", 201), "Shorten this to 200 characters."},
		{"zone", "EST", "Choose a zone by its area and a place"},
		{"event", "2026-03-08T02:30", "Choose 2026-03-08 01:59 or 2026-03-08 03:00."},
		{"event", "2026-11-01T01:30", "This time comes twice there"},
		{"closes", "tomorrow", "Choose a day and an hour, or write"},
		{"closes", "", "Choose a day and an hour."},
		{"event", "2026-08-22T16:05", "Leave at least 10 minutes between closing and the draw"},
		{"winners", "0", "Write a number from 1 to"},
		{"winners", "many", "Write a number from 1 to"},
		{"lock_minutes", "9", "Write a number from 10 to"},
		{"run_0_from", "big", "Write a size such as"},
		{"run_0_from", "0.5", "Write a size such as"},
		{"run_0_to", "6", "The largest size is below the smallest: swap them."},
		{"run_0_except", "20", "Write sizes that lie in the range, each once."},
		{"run_0_widths", "Q", "There is no width"},
		{"not_live", "Florida", "“Florida” is not known here. Write a code such as US-FL."},
		{"not_live", "us-fl, US-FL", "“US-FL” stands in the list already."},
		{"live", "US, Narnia", "There is no country “Narnia”"},
		{"worth_sum", "a lot", "Write a sum such as 189 or 189.50."},
	} {
		a := s.refused("/desk/new", good(c.field, c.typed)...)
		if text := textOf(a.body); a.status != 200 || !strings.Contains(text, c.want) {
			t.Errorf("%s %q: status %d, want %q: %.400s", c.field, c.typed, a.status, c.want, text)
		} else if n := strings.Count(text, c.want); n != 2 || !strings.Contains(text, "One field needs another look.") {
			t.Errorf("%s %q: %q stands %d times, want it in the summary and at its field, and nothing else: %.400s", c.field, c.typed, c.want, n, text)
		}
		if !strings.Contains(a.body, `href="#f-`+c.field+`"`) || !strings.Contains(a.body, `id="f-`+c.field+`"`) {
			t.Errorf("%s %q: the summary does not lead to the field", c.field, c.typed)
		}
		if !strings.Contains(a.body, "Larkspur Trail Supply") {
			t.Errorf("%s %q: what was typed is gone", c.field, c.typed)
		}
	}
	s.shows("/desk", "begun, and not finished.")
}

// A time that comes twice is asked about, and the answer counts: TZ-09, the
// second is 06:30 UTC.
func TestTermsPageTwice(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	a := s.refused("/desk/new", good("event", "2026-11-01T01:30")...)
	if !strings.Contains(a.body, `name="event_which" value="2"`) {
		t.Fatalf("nobody asks which of the two: %s", textOf(a.body))
	}
	s.finishes("boots", "/desk/new", good("event", "2026-11-01T01:30", "event_which", "2")...)
	if page := s.get("/desk/g/boots/terms").body; !regexp.MustCompile(`name="event_which" value="2" checked`).MatchString(page) {
		t.Error("the page for changes forgets which of the two")
	}
	s.posts("boots")
	if note := s.get("/g/boots/fair/" + draw.OpeningFile).body; !strings.Contains(note, "\nevent 2026-11-01T06:30:00Z\n") {
		t.Errorf("the posted terms: %s", note)
	}
}

// A draft can be changed until it is posted, a short name is used once, and
// terms already over are not posted.
func TestDrafts(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good()...)
	if a := s.get("/g/boots"); a.status != 404 {
		t.Errorf("others see a draft: status %d, want 404", a.status)
	}
	s.finishes("boots", "/desk/new", good()...) // pressed twice
	if a := s.refused("/desk/new", good("title", "Other boots")...); a.status != 200 || !strings.Contains(textOf(a.body), "There is a giveaway of this short name already.") {
		t.Errorf("the same name again: status %d", a.status)
	}
	s.finishes("boots", "/desk/g/boots/terms", good("title", "Win <b>other</b> boots.")...)
	if a := s.get("/desk/g/boots"); !strings.Contains(a.body, "Win &lt;b&gt;other&lt;/b&gt; boots.") {
		t.Error("the change is not there, or is not escaped")
	}
	s.clock.set(closes.Add(time.Minute))
	s.reads("boots")
	if a := s.press(s.postAddress("boots")); a.status != 422 || !strings.Contains(textOf(a.body), "Choose a closing time that is still to come.") {
		t.Errorf("posting terms that are over: status %d", a.status)
	}
	s.clock.set(during)
	s.posts("boots")
	s.goes("/desk/g/boots", "/desk/g/boots/terms", good("title", "Too late")...)
	if a := s.get("/g/boots"); !strings.Contains(a.body, "other") || strings.Contains(a.body, "Too late") {
		t.Error("posted terms were changed")
	}
}

// A terms file with faults: each is named, what was pasted is kept.
func TestTermsFile(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	for typed, want := range map[string]string{
		"":                                 "Choose a file or paste its text.",
		" \n":                              "Choose a file or paste its text.",
		"{":                                "This is not JSON (line 1).",
		"{\n\"draw\": boots\n}":            "This is not JSON (line 2).",
		`{"draw":"boots","winners":"one"}`: "“winners” can't be a string",
		`{"draw":"boots","no":1}`:          "unknown field",
		`{"draw":"boots <i>kept"}`:         "title: Fill this in.",
	} {
		a := s.press("/desk/file", "terms", typed)
		if a.status != 422 || !strings.Contains(textOf(a.body), want) {
			t.Errorf("%q: status %d, want 422 with %q: %s", typed, a.status, want, textOf(a.body))
		}
	}
	body := "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"t.json\"\r\nContent-Type: application/json\r\n\r\n{\"draw\":\"boots\"}\r\n--x--\r\n"
	if a := s.do("POST", "/desk/file", "multipart/form-data; boundary=x", body); a.status != 422 || !strings.Contains(textOf(a.body), "title: Fill this in.") {
		t.Errorf("an uploaded file: status %d: %s", a.status, textOf(a.body))
	}
	if a := s.do("POST", "/desk/file", "application/x-www-form-urlencoded", url.Values{"terms": {strings.Repeat("x", 5<<20)}}.Encode()); a.status != 413 {
		t.Errorf("5 MB: status %d, want 413", a.status)
	}
}

// The sample from the desk, pressed by two at once, is loaded once; it is
// refused where a giveaway of one's own is.
func TestSampleFromTheDesk(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	spread(2, func(int) { s.goes("/desk", "/desk/sample") })
	s.shows("/desk", "3 giveaways are here.", "invented sample")
	s.shows("/desk/g/"+sample.Next, "no public number", "Lock the list")
	s.shows("/desk/g/"+sample.Finished+"/result", "One ticket won.", "The draw holds. Everybody can check it.")
	s.shows("/desk/g/"+sample.Finished, "Start the next one from this one")
	s.shows(s.get("/desk/new?from="+sample.Finished).to, "Make a giveaway.")
	s.shows("/desk/g/"+sample.Open+"/entries", "people are in.", "Not in the draw")
	for _, id := range []string{sample.Next, sample.Open, sample.Finished} {
		s.shows("/desk/g/"+id, "This giveaway is an invented sample.")
	}
	s.shows("/desk/g/"+sample.Next+"/later", "A change is posted beside the old terms.")
	s.shows("/desk/g/"+sample.Next+"/lock", "Locking closes the list for good.")
	onlyPlainWords(t, s)

	own := start(t, during, "", "-data", t.TempDir())
	own.claim()
	own.bring("boots")
	if a := own.press("/desk/sample"); a.status != 409 || !strings.Contains(textOf(a.body), "The sample was not loaded") {
		t.Errorf("beside a real giveaway: status %d: %s", a.status, textOf(a.body))
	}
}

// Started with -sample beside a giveaway of one's own, the program serves that
// and loads nothing.
func TestSampleStaysOutOfOwnGiveaways(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	own := start(t, during, "", "-data", data)
	own.claim()
	own.bring("boots")
	must(t, own.stop())
	again := start(t, during, "", "-data", data, "-sample")
	if a := again.get("/g/boots"); a.status != http.StatusOK {
		t.Errorf("the own giveaway has status %d", a.status)
	}
	if a := again.get("/g/" + sample.Finished); a.status != http.StatusNotFound || strings.Contains(again.logs.String(), "sample loaded") {
		t.Errorf("a sample was loaded beside it: status %d", a.status)
	}
}

// -sample twice on one data folder starts both times.
func TestSampleTwice(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data") // made by the program, for its owner alone
	for range 2 {
		s := start(t, during, "", "-data", data, "-sample")
		if a := s.get("/now"); a.status != 303 && a.status != 302 && a.status != 200 {
			t.Errorf("/now has status %d", a.status)
		}
		must(t, s.stop())
		if logs := s.logs.String(); strings.Contains(logs, "level=WARN") {
			t.Errorf("the log warns: %s", logs)
		}
		first := strings.Contains(s.logs.String(), "sample loaded")
		if said := strings.Count(s.logs.String(), "no network: winter-boots is drawn without a public number"); first && said != 1 || !first && said > 1 {
			t.Errorf("the log says %d times that there is no network", said)
		}
	}
}
