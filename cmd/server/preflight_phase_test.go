package main

import (
	"maps"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// listen opens a stream and keeps it until the test is over.
func (s *service) listen(path string) {
	s.t.Helper()
	ask, err := http.NewRequestWithContext(s.t.Context(), "GET", s.base+path, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(ask)
	if err != nil || answer.StatusCode != http.StatusOK {
		s.t.Fatalf("GET %s: %v, %v", path, answer, err)
	}
	s.t.Cleanup(func() { answer.Body.Close() })
}

var readyRow = regexp.MustCompile(`(?s)<span class="name">([^<]*)</span></div><div class="val">\s*<p class="(ready|later|red)"><b>([^<]*)</b>`)

// readyOn reads how each thing stands on the page before the show.
func (s *service) readyOn(path string) map[string]string {
	s.t.Helper()
	words := map[string]string{"ready": "Ready.", "later": "Not yet.", "red": "Not ready."}
	all := map[string]string{}
	for _, m := range readyRow.FindAllStringSubmatch(s.get(path).body, -1) {
		if m[3] != words[m[2]] {
			s.t.Errorf("%s is %s, and says %q", m[1], m[2], m[3])
		}
		all[m[1]] = m[2]
	}
	return all
}

// Every line of the page before the show in every phase: red is only what is
// wrong now and can be put right now; what can't be there yet, or need not be,
// says so without red. Which is which is our own choice, no outside source; the
// public number is the published round at the event (testdata/vectors/
// drand-quicknet.json), so before it no relay here has an answer.
func TestReadyLinesInEachPhase(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	change, maya, shop := withSeconds()
	s.bring("boots", append(change, `"winners": 1`, `"winners": 1, "lock_minutes": 10`)...)
	const page = "/desk/g/boots/show"
	want := map[string]string{
		"The list": "later", "Under the video": "later", "The number of Maya of Quiet Ridge": "later", "The number of Larkspur Trail Supply": "later",
		"The public number": "red", "This clock": "later", "The database": "ready", "The stage": "later", "The remote": "later",
		"The recovery sheet": "red", "Viewers’ pages": "later", "Names to be said": "later", "Room on the disk": "ready", "A copy of the data": "later",
	}
	phase := func(name string, changed ...string) {
		t.Helper()
		for i := 0; i < len(changed); i += 2 {
			if _, ok := want[changed[i]]; !ok {
				t.Fatalf("%s: there is no line %q", name, changed[i])
			}
			want[changed[i]] = changed[i+1]
		}
		if got := s.readyOn(page); !maps.Equal(got, want) {
			t.Errorf("%s:\n got %v\nwant %v", name, got, want)
		}
	}
	phase("right after posting")
	s.shows(page, "2 things need a look now.")
	s.post1("robin@example.com", "name", "Robin L.")
	phase("with a name")
	s.goes("/desk/g/boots", "/desk/g/boots/kept")
	phase("with the sheet kept", "The recovery sheet", "ready")
	s.shows(page, "One name was not seen yet, of 1.", "More may come until entries close.")
	s.goes(page+"/pair", page+"/pair")
	phase("with addresses")
	s.clock.set(closes.Add(time.Minute)) // less than two hours before the draw
	phase("after the close", "The list", "red", "Names to be said", "red", "The stage", "red", "The remote", "red")
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	phase("locked", "The list", "ready", "Under the video", "red", "A copy of the data", "red", "Viewers’ pages", "red",
		"The number of Maya of Quiet Ridge", "red", "The number of Larkspur Trail Supply", "red")
	s.shows(page, "Save one now, so that a broken disk can’t end the draw.", "It is made in another way", "Save a copy")
	s.goes(page, page+"/tick", "tick", "posted")
	s.goes(page, page+"/tick", "tick", "copied")
	s.goes(page, page+"/tick", "tick", "at-once")
	phase("ticked", "Under the video", "ready", "A copy of the data", "ready", "Viewers’ pages", "ready")
	s.goes(page+"/pair", page+"/delay", "delay", "20")
	s.shows(page, "Viewers’ pages Ready. They follow the stage by 20 seconds.")
	s.shows(page, "The program can’t look there.", "this line goes by your word alone")
	for role, secret := range map[string]string{"maya": maya, "shop": shop} {
		s.goes("/g/boots/second/"+role, "/g/boots/second/"+role, "secret", secret)
	}
	robin := namesOn(s.get(page + "/names").body)["Robin L."].ticket
	s.goes(page+"/names", page+"/names", "ticket", robin, "name-"+robin, "Robin L.", "say-"+robin, "name")
	phase("handed in, and seen", "The number of Maya of Quiet Ridge", "ready", "The number of Larkspur Trail Supply", "ready", "Names to be said", "ready")
	s.clock.set(event.Add(6 * time.Second))
	phase("after the draw's time", "The public number", "ready", "This clock", "ready")
	stage, remote := s.paired("boots")
	for _, live := range []string{strings.Replace(stage, "/stage?", "/stage/live?", 1), remote + "/live"} {
		s.listen(live)
	}
	for late := time.Now().Add(browsertest.Patience); s.readyOn(page)["The remote"] != "ready" && time.Now().Before(late); {
		time.Sleep(100 * time.Millisecond)
	}
	phase("with both screens", "The stage", "ready", "The remote", "ready")
	s.shows(page, "Everything is ready for the show.")
}
