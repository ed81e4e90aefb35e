package main

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// A pressing is a browser in which a person presses each button, loads the page
// again, goes back, and presses once more.
type pressing struct {
	t *testing.T
	s *service
	b *browsertest.Browser

	again []string // the headings of the pages that a second press led to
}

// twice presses a button, reloads, goes back and presses it again where it
// still stands. Neither may end in a fault.
func (p *pressing) twice(button, want string) {
	p.t.Helper()
	p.once(button, want)
	p.b.Reload()
	p.says("after loading it again", want)
	to := p.b.Location()
	p.b.Back()
	if !browsertest.Eval[bool](p.b, `document.querySelector("`+button+`") !== null`) {
		p.b.Open(to)
		return
	}
	p.s.clock.set(p.s.clock.now().Add(time.Second))
	if got := p.b.Submit(button); got >= 500 {
		p.t.Fatalf("pressing %s again after Back: status %d: %s", button, got, p.b.Text("main"))
	}
	p.again = append(p.again, p.b.Text("h1"))
	p.b.Open(to)
	p.says("after Back and pressing again", want)
}

// once presses a button.
func (p *pressing) once(button, want string) {
	p.t.Helper()
	if got := p.b.Submit(button); got != 200 {
		p.t.Fatalf("pressing %s: status %d: %s", button, got, p.b.Text("main"))
	}
	p.says("after "+button, want)
}

func (p *pressing) says(when, want string) {
	p.t.Helper()
	if got := p.b.Text("h1"); !strings.Contains(got, want) {
		p.t.Fatalf("%s: the page says %q, want %q", when, got, want)
	}
}

var posted = regexp.MustCompile(`(?m)^revision (\d+)$`)

// A creator goes alone from the first start to a locked list, in a browser and
// on both databases, with every button pressed twice as after Back, the page
// loaded again, and the laptop closed in the middle. Nothing is doubled: one
// giveaway, one revision of its terms, one entry, one locked list.
func TestFromFirstStartToTheLock(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		b := browsertest.New(t)
		p := &pressing{t: t, s: s, b: b}
		b.Open(s.base + "/desk")
		b.Type("#f-code", s.code)
		b.Type("#f-passphrase", passphrase)
		b.Type("#f-again", passphrase)
		p.twice("button.button", "No giveaway here yet.")

		b.Open(s.base + "/desk/new")
		form := b.Location()
		b.Type("#f-prize", "A pair of hiking boots in your size")
		b.Type("#f-sponsor", "Larkspur Trail Supply")
		b.Type("#f-channel", "Slow Miles")
		b.Click("#more > summary") // the heading is folded
		b.Type("#f-title", "Boots for a slow mile")
		until(t, b, "#kept", "Kept ")
		b.Open("about:blank") // the lid closes
		b.Open(form)
		put(b, "zone", "America/New_York")
		put(b, "host", "hello@slowmiles.example")
		put(b, "opens", "2026-08-21T12:00")
		put(b, "closes", "2026-08-22T16:00")
		put(b, "event", "2026-08-22T17:40")
		put(b, "run_0_from", "7")
		put(b, "run_0_to", "14")
		put(b, "run_0_widths", "D, 2E")
		put(b, "worth_sum", "189.50")
		b.Click("input[name=disclosure_kind]")
		p.twice("button.button", "to look at before you post.")
		day := strings.TrimSuffix(b.Location(), "/cautions")
		if !strings.HasSuffix(day, "/desk/g/boots-slow-mile") {
			t.Fatalf("the draft is at %s", day)
		}
		readInABrowser(t, b)
		p.twice("button.button", "The terms are posted. Now tell people.")
		b.Open(day + "/sheet")
		if h := b.Text("h1"); h != "Recovery sheet" {
			t.Fatalf("right after posting the sheet asks: %q", h)
		}
		p.once("form[action$=kept] button", "Nobody is in yet.")

		b.Open(s.base + "/g/boots-slow-mile")
		viewer := b.Tab()
		viewer.Open(b.Location())
		viewer.Type("#f-email", "robin@example.org")
		viewer.Choose("#f-system", "mens")
		viewer.Type("#f-size", "10.5")
		viewer.Choose("#f-live", "US")
		viewer.Choose("#f-state", "ME")
		viewer.Click("#f-age-18-or-over")
		viewer.Click("#f-rules")
		(&pressing{t: t, s: s, b: viewer}).twice("main form button.button", "You are in.")

		s.clock.set(closes.Add(time.Minute))
		b.Open(day)
		b.Follow(".button")
		p.twice("button.button", "The list is locked.")
		if len(p.again) < 3 {
			t.Errorf("only %q were pressed again", p.again)
		}
		r := check(t, s, "boots-slow-mile")
		if r.Verdict != draw.ValidSoFar || r.Freeze == nil || r.Freeze.Roll != 1 {
			t.Errorf("the check: %q, the list %v, want one ticket: %v", r.Verdict, r.Freeze, r.Findings)
		}
		note := s.get("/g/boots-slow-mile/fair/" + draw.OpeningFile).body
		if m := posted.FindStringSubmatch(note); m != nil && m[1] != "1" {
			t.Errorf("the terms are posted %s times", m[1])
		}
		b.Open(s.base + "/desk")
		if n := strings.Count(b.Text("main"), "Boots for a slow mile"); n != 1 {
			t.Errorf("the desk lists it %d times: %s", n, b.Text("main"))
		}
	})
}
