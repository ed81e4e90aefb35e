package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// The day-book notices by itself that entries have closed, says until then how
// long it still is, and without script when to load it again. The moments are
// the terms'; the words for a time are the server's, read from its page.
func TestDayBookTurns(t *testing.T) {
	s := start(t, closes.Add(-125*time.Minute), "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	const path = "/desk/g/boots"
	s.shows(path, "4:00 pm New York time , in 2 hours.", "This page says something else from Saturday 22 August 2026, 4:00 pm New York time on: load it again then.")
	b := browsertest.New(t)
	signIn(s, b)
	b.Open(s.base + path)
	words := browsertest.Eval[string](b, `document.querySelector("script[src*=turn]").src`)
	for left, want := range map[time.Duration]string{
		50 * time.Hour: "2 days", 48 * time.Hour: "2 days", 47 * time.Hour: "47 hours", 2 * time.Hour: "2 hours", 119 * time.Minute: "119 minutes",
		61 * time.Second: "1 minute", 60 * time.Second: "1 minute", 59 * time.Second: "less than a minute",
	} {
		s.clock.set(closes.Add(-left))
		s.shows(path, "4:00 pm New York time , in "+want+".")
		js := fmt.Sprintf(`import(%q).then((m) => m.leftWords(%d))`, words, int(left.Seconds()))
		if got := browsertest.Eval[string](b, js); got != want {
			t.Errorf("%v left: the script says %q, want %q", left, got, want)
		}
	}
	s.clock.set(closes.Add(-2 * time.Second))
	b.Open(s.base + path)
	if h := b.Text("h1"); h != "Nobody is in yet." {
		t.Fatalf("before the close: %q", h)
	}
	s.clock.set(closes.Add(time.Second))
	until(t, b, "h1", "Entries are closed.")
}

// Who enters while the day-book stands open is counted in its heading.
func TestDayBookCounts(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	b := browsertest.New(t)
	signIn(s, b)
	b.Open(s.base + "/desk/g/boots")
	if h := b.Text("h1"); h != "Nobody is in yet." {
		t.Fatalf("at first: %q", h)
	}
	enterSome(t, s, 3)
	browsertest.Eval[bool](b, `document.dispatchEvent(new Event("visibilitychange"))`) // as who comes back to the page
	until(t, b, "h1", "3 people are in.")
}

// A copy button says beside itself that it is done, and the page stays where
// it was (the kind: every button with data-copy is this one script's).
func TestCopyStaysInPlace(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	enterSome(t, s, 3)
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	b := browsertest.New(t)
	signIn(s, b)
	b.SetViewport(360, 640, true)
	for _, page := range []string{"/desk/g/boots/spread", "/desk/g/boots/lock"} {
		b.Open(s.base + page)
		buttons := strings.Fields(browsertest.Eval[string](b, `[...document.querySelectorAll("[data-copy]")].map((b) => b.dataset.copy).join(" ")`))
		if len(buttons) == 0 {
			t.Fatalf("%s has no copy button", page)
		}
		for _, name := range buttons {
			button := fmt.Sprintf(`[data-copy="%s"]`, name)
			before := browsertest.Eval[float64](b, fmt.Sprintf(`(document.querySelector('%s').scrollIntoView({block: "center", behavior: "instant"}), scrollY)`, button))
			b.Click(button)
			until(t, b, button+` + [role=status]`, "Copied.")
			if after := browsertest.Eval[float64](b, "scrollY"); after != before {
				t.Errorf("%s: %s moves the page from %v to %v", page, name, before, after)
			}
			if !browsertest.Eval[bool](b, fmt.Sprintf(`(() => { const r = document.querySelector('%s + [role=status]').getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight && r.right <= innerWidth })()`, button)) {
				t.Errorf("%s: what %s says is out of view", page, name)
			}
		}
	}
}
