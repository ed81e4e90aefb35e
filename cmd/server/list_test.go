package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
)

var filledLink = regexp.MustCompile(`<a class="button" href="([^"]*)">([^<]*)</a>`)

// The desk's one filled button goes on with what is begun while nothing is
// posted, and each giveaway can be the start of a new one (the desk's issue:
// "Start from an earlier one", "one next step").
func TestDeskGoesOn(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	button := func(to, text string) {
		t.Helper()
		m := filledLink.FindAllStringSubmatch(s.get("/desk").body, -1)
		if len(m) != 1 || m[0][1] != to || m[0][2] != text {
			t.Errorf("the filled buttons are %q, want %q to %s", m, text, to)
		}
	}
	if a := s.get("/"); a.status != 404 || !strings.Contains(a.body, `<a href="/desk">Go to your desk</a>`) {
		t.Errorf("where nothing is yet: status %d: %s", a.status, textOf(a.body))
	}
	s.shows("/desk", "No giveaway here yet.")
	button("/desk/new", "Write a giveaway")

	first := aForm(t, s.visitor)
	s.press(first+"/keep", "prize", "Hiking boots", "title", "Win boots first.", "version", "0")
	s.shows("/desk", "One giveaway is begun, and not finished.")
	button(first+"#f-sponsor", "Go on with “Win boots first.”") // to the first field that is still empty

	boots, err := os.ReadFile("testdata/boots.json")
	must(t, err)
	s.goes("/desk/g/boots", "/desk/file", "terms", string(boots))
	s.shows("/desk", "One giveaway is here, not posted yet.", "Start a new one from it")
	button(first+"#f-sponsor", "Go on with “Win boots first.”") // to the first field that is still empty

	other := start(t, during, "", "-data", t.TempDir())
	other.claim()
	other.goes("/desk/g/boots", "/desk/file", "terms", string(boots))
	m := filledLink.FindStringSubmatch(other.get("/desk").body)
	if m == nil || m[1] != "/desk/g/boots" {
		t.Errorf("with a draft alone the filled button is %q", m)
	}
	other.goes("/desk/g/again", "/desk/file", "terms", strings.Replace(string(boots), `"boots"`, `"again"`, 1))
	other.shows("/desk", "2 giveaways are here, none posted yet.")

	s.posts("boots")
	s.shows("/desk", "One giveaway is here.")
	button("/desk/g/boots/sheet", "Keep the recovery sheet")
	s.press("/desk/g/boots/kept")
	s.shows("/desk", "One giveaway is here.")
	button("/desk/new", "Write a new giveaway")
	if a := s.get("/desk/new?from=boots"); a.status != 303 || !strings.HasSuffix(a.to, "?from=boots") {
		t.Errorf("start from an earlier one: %d to %q", a.status, a.to)
	}
}

// What is due leads the desk, with its link and the latest time, and stands
// above every draft ("one next step" in the desk's issue; the hours are those
// of the test's terms: closed at 4:00 pm, drawn at 5:40 pm).
func TestDeskSaysWhatIsDue(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	s.press("/desk/g/boots/kept")
	boots, err := os.ReadFile("testdata/boots.json")
	must(t, err)
	later := strings.NewReplacer(`"boots"`, `"again"`, "Win a pair", "Again a pair").Replace(string(boots))
	s.goes("/desk/g/again", "/desk/file", "terms", later)
	enterSome(t, s, 3)
	due := func(to, text string, want ...string) {
		t.Helper()
		body := s.get("/desk").body
		m := filledLink.FindAllStringSubmatch(body, -1)
		if len(m) != 1 || m[0][1] != to || m[0][2] != text {
			t.Errorf("the filled buttons are %q, want %q to %s", m, text, to)
		}
		if posted, draft := strings.Index(body, `id="t-boots"`), strings.Index(body, `id="t-again"`); posted < 0 || draft < posted {
			t.Errorf("the draft stands at %d, what is posted at %d", draft, posted)
		}
		s.shows("/desk", want...)
	}
	due("/desk/new", "Write a new giveaway", "3 people are in.")
	s.clock.set(closes.Add(time.Minute))
	due("/desk/g/boots/lock", "Lock the list", "Entries are closed: lock the list. At the latest on Saturday 22 August 2026, 5:")
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	due("/desk/g/boots/lock", "Show the list’s fingerprint", "The list is locked.")
	s.goes("/desk/g/boots", "/desk/g/boots/show/tick", "tick", "posted", "then", "day")
	due("/desk/g/boots/show", "Go to the show", "The list is locked. The draw can be made from Saturday 22 August 2026, 5:40 pm New York time")
	s.clock.set(event.Add(10 * time.Second))
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	due("/desk/g/boots/place/1", "Write to the winner", "Winner: the letter is ready.")
}
