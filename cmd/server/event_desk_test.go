package main

import (
	"slices"
	"testing"
	"time"

	"evenhand/draw"
)

// While the stage shows the draw, a press at the desk makes it too, but tells
// nobody: the result is public when the stage shows the first place, and the
// delay later (the issue: "whatever anyone presses").
func TestDeskDrawsWhileTheStageShows(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	enterSome(t, s, 4)
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	e := pair(s.visitor, "20")
	s.clock.set(event.Add(10 * time.Second))
	forward := func() {
		t.Helper()
		s.goes(e.remote, e.remote+"/forward", "version", versionOn.FindStringSubmatch(s.get(e.remote).body)[1])
	}
	record := func(when string, want int) {
		t.Helper()
		if got := s.get("/g/boots/fair/" + draw.RecordFile).status; got != want {
			t.Errorf("%s: %s has status %d, want %d", when, draw.RecordFile, got, want)
		}
	}
	s.shows("/desk/g/boots", "it is time to draw")
	s.shows("/desk/g/boots/draw", "For an audience, don’t press here: go to the show")
	for range 3 { // tickets, locked, number
		forward()
	}
	s.shows("/desk/g/boots", "The show is under way.", "Go to the show")
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	s.shows("/desk/g/boots/result", "One ticket won.", "Nobody else sees this yet.")
	record("drawn at the desk", 404)
	for range 3 { // opened, line, first
		forward()
	}
	record("the stage shows it", 404)
	s.clock.set(event.Add(29 * time.Second))
	record("a second before the delay is over", 404)
	s.clock.set(event.Add(30 * time.Second))
	record("after the delay", 200)
}

// On the evening the day-book's one filled button leads to the show, from six
// hours before the draw, so that nobody draws off the stage by mistake; the draw
// without a stage stays one of the links. Our own rule, no outside source.
func TestDayBookLeadsToTheShow(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", "2026-08-22T17:40", "2026-08-23T17:40")
	enterSome(t, s, 2)
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	next := func(when, want string) {
		t.Helper()
		if got := filled(s.get("/desk/g/boots").body); !slices.Equal(got, []string{want}) {
			t.Errorf("%s the filled buttons are %q, want %q", when, got, want)
		}
	}
	late := event.AddDate(0, 0, 1)
	s.clock.set(late.Add(-6*time.Hour - time.Second))
	next("more than six hours before", "Show the list’s fingerprint")
	leads := func(want string, times map[string]time.Time) {
		t.Helper()
		for when, at := range times {
			s.clock.set(at)
			next(when, want)
			s.shows("/desk/g/boots", "Go to the draw", "Show the list’s fingerprint", "Go to the show")
		}
	}
	six := map[string]time.Time{"six hours before": late.Add(-6 * time.Hour), "eleven minutes before": late.Add(-11 * time.Minute)}
	leads("Show the list’s fingerprint", six)
	// Ten minutes before it is too late for it: freeze.txt in the draw protocol.
	leads("Go to the show", map[string]time.Time{"ten minutes before": late.Add(-10 * time.Minute), "a minute before": late.Add(-time.Minute), "when its time has come": late.Add(time.Minute)})
	s.clock.set(late.Add(-5 * time.Hour))
	if got := filled(s.get("/desk/g/boots/lock").body); !slices.Equal(got, []string{"It is posted under the video"}) {
		t.Errorf("the fingerprint's page has the filled buttons %q", got)
	}
	s.goes("/desk/g/boots", "/desk/g/boots/show/tick", "tick", "posted", "then", "day")
	if got := filled(s.get("/desk/g/boots/lock").body); !slices.Equal(got, []string{"Go to the day-book"}) {
		t.Errorf("once it is posted, the fingerprint's page has the filled buttons %q", got)
	}
	leads("Go to the show", six)
}
