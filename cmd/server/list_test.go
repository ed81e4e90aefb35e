package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
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
	button("/desk/new", "Write a new giveaway")
	if a := s.get("/desk/new?from=boots"); a.status != 303 || !strings.HasSuffix(a.to, "?from=boots") {
		t.Errorf("start from an earlier one: %d to %q", a.status, a.to)
	}
}
