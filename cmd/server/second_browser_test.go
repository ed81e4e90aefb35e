package main

import (
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// The desk's pages of the lock, of second holders and of calling off, at every
// width, dark and light. A button pressed again, as after Back, doubles nothing.
func TestLockAndCallOffInABrowser(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	change, maya, _ := withSeconds()
	s.bring("boots", change...)
	enterSome(t, s, 3)
	b := browsertest.New(t)
	b.Open(s.base + "/desk")
	b.Type("#passphrase", passphrase)
	if got := b.Submit(".button"); got != 200 {
		t.Fatalf("signing in has status %d", got)
	}
	at := func(path string) { t.Helper(); b.Open(s.base + path) }
	at("/desk/g/boots/lock")
	look(t, b, "lock-early")
	b.Script(false) // with it the page would go on by itself: the list is about to lock itself
	s.clock.set(event.Add(-5 * time.Minute))
	at("/desk/g/boots/lock")
	if got := b.Text(".red"); got == "" {
		t.Error("nothing is said of a lock five minutes before the draw")
	}
	look(t, b, "lock-late")
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "The list is locked." {
		t.Fatalf("the lock: status %d, %q", got, b.Text("h1"))
	}
	b.Script(true)
	look(t, b, "locked-seconds")
	before := s.get("/g/boots/fair/freeze.txt").body
	s.goes("/desk/g/boots", "/desk/g/boots/lock") // as after Back
	at("/desk/g/boots/lock")
	look(t, b, "locked-print")
	if after := s.get("/g/boots/fair/freeze.txt").body; after != before || before == "" {
		t.Errorf("the locked list's file has changed:\n%s\n%s", before, after)
	}
	s.press("/g/boots/second/maya", "secret", maya)
	s.clock.set(event.Add(time.Minute))
	at("/desk/g/boots/draw")
	look(t, b, "draw-seconds")

	at("/desk/g/boots/cancel")
	look(t, b, "cancel")
	if got := b.Submit(".button"); got != 422 {
		t.Errorf("no reason chosen: status %d, want 422", got)
	}
	look(t, b, "cancel-faults")
	b.Click("#r-other")
	b.Type("#f-other", "The shop closed")
	if got := b.Submit(".button"); got != 200 {
		t.Errorf("a reason given: status %d", got)
	}
	look(t, b, "cancel-sure")
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "This giveaway was called off." {
		t.Errorf("called off: status %d, %q", got, b.Text("h1"))
	}
	look(t, b, "off")
	note := s.get("/g/boots/fair/cancelled.txt").body
	s.goes("/desk/g/boots", "/desk/g/boots/cancel", "reason", "postponed", "seen", "late")
	at("/desk/g/boots/cancel/sure?reason=postponed")
	if got := b.Text("h1"); got != "This giveaway was called off." {
		t.Errorf("asked once more after it: %q", got)
	}
	if after := s.get("/g/boots/fair/cancelled.txt").body; after != note || note == "" {
		t.Error("what was signed has changed")
	}
}
