package main

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// showing has a browser's page show an address.
func showing(t *testing.T, b *browsertest.Browser, address string) *browsertest.Browser {
	t.Helper()
	if got := b.Open(address); got != 200 {
		t.Fatalf("%s: status %d", address, got)
	}
	return b
}

// By Page Down alone: the remote lies idle for 70 minutes, and the draw is
// made 25 minutes late. The first press comes from a phone without script.
func TestEventByPageDown(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	enterSome(t, s, 4)
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	s.clock.set(event.Add(-45 * time.Minute))
	e := pair(s.visitor, "0")
	remote := showing(t, browsertest.New(t), s.base+e.remote)
	stage := showing(t, remote.Tab(), s.base+e.stage)
	s.clock.set(event.Add(25 * time.Minute))
	phone := remote.Tab()
	phone.Script(false)
	showing(t, phone, s.base+e.remote)
	if got := phone.Submit("[data-part=forward]"); got != 200 || phone.Text("h1") != "4 tickets are in the draw." {
		t.Errorf("without script: status %d, %q", got, phone.Text("h1"))
	}
	for _, step := range []string{"tickets", "locked", "number", "opened", "line", "first", "next"} {
		if step != "tickets" {
			ready(t, remote)
			remote.Keys(kb.PageDown)
		}
		at(t, stage, step)
		becomes(t, remote, "the same on the remote", fmt.Sprintf(`document.querySelector("h1").textContent === %q`, stage.Text("h1")))
	}
	r := check(t, s, "boots")
	if r.Verdict != draw.Valid || r.Record == nil || !r.Record.Drawn.Equal(event.Add(25*time.Minute)) {
		t.Errorf("the check: %q, %+v", r.Verdict, r.Record)
	}
}

// Two people press at the same instant, at each picture: the stage goes on by
// one, and the draw is made once. One second number does not arrive: the show
// goes on and says so. It comes a second after the draw, and changes nothing.
func TestEventPressedByTwo(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		change, maya, shop := withSeconds()
		s.bring("boots", change...)
		enterSome(t, s, 4)
		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.goes("/g/boots/second/shop", "/g/boots/second/shop", "secret", shop)
		drawn := event.Add(10 * time.Second)
		s.clock.set(drawn)
		e := pair(s.visitor, "0")
		one := showing(t, browsertest.New(t), s.base+e.remote)
		two := showing(t, one.Tab(), s.base+e.remote)
		stage := showing(t, one.Tab(), s.base+e.stage)
		for _, step := range []string{"tickets", "locked", "number", "opened", "line", "first", "next"} {
			ready(t, one)
			ready(t, two)
			var both sync.WaitGroup
			for _, b := range []*browsertest.Browser{one, two} {
				both.Go(func() { browsertest.Eval[bool](b, `(document.querySelector("[data-part=forward]").click(), true)`) })
			}
			both.Wait()
			at(t, stage, step)
			same := fmt.Sprintf(`document.querySelector("h1").textContent === %q`, stage.Text("h1"))
			becomes(t, one, "the one's answer", same)
			becomes(t, two, "the other's answer", same)
			if step == "opened" {
				if !strings.Contains(stage.Text("h1"), "The number of Maya of Quiet Ridge did not arrive; the draw holds without it.") {
					t.Errorf("the stage says %q", stage.Text("h1"))
				}
				s.clock.set(drawn.Add(time.Second))
				if a := s.press("/g/boots/second/maya", "secret", maya); a.status == 303 {
					t.Errorf("a second late: status %d to %s", a.status, a.to)
				}
			}
		}
		r := check(t, s, "boots")
		if r.Verdict != draw.Valid+", weak" || r.Record == nil || !r.Record.Drawn.Equal(drawn) {
			t.Fatalf("the check: %q: %v", r.Verdict, r.Findings)
		}
		for _, secret := range r.Record.Secrets {
			if secret.Withheld != (secret.Role == "maya") {
				t.Errorf("%s withheld: %t", secret.Role, secret.Withheld)
			}
		}
	})
}

// The evening is postponed a week after stage and remote were opened: both go
// on with the new time, and the draw is made with the new time's number. The
// remote is looked at at every width, dark and light.
func TestEventPostponed(t *testing.T) {
	s := start(t, during.AddDate(0, 0, -7), "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", "2026-08-22T", "2026-08-15T", "2026-08-20T", "2026-08-13T", `"winners": 1`, `"winners": 1, "lock_minutes": 10`)
	enterSome(t, s, 3)
	s.clock.set(closes.AddDate(0, 0, -7).Add(time.Minute))
	e := pair(s.visitor, "0")
	remote := showing(t, browsertest.New(t), s.base+e.remote)
	stage := showing(t, remote.Tab(), s.base+e.stage)
	forward := func() { ready(t, remote); remote.Keys(kb.PageDown) }
	forward()
	becomes(t, remote, "that the list is open", `document.querySelector("[data-part=problem]").textContent.includes("not locked yet")`)
	s.changed("boots", "revision", "1", "closes", "2026-08-15T16:00", "event", "2026-08-22T17:40", "rules", "Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n")
	s.clock.set(event.Add(-time.Hour))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	for _, step := range []string{"tickets", "locked", "number"} {
		forward()
		at(t, stage, step)
		becomes(t, remote, "the same on the remote", fmt.Sprintf(`document.querySelector("h1").textContent === %q`, stage.Text("h1")))
	}
	if got := browsertest.Eval[string](stage, `document.querySelector("[data-part=wait]").dataset.at`); got != event.Format(time.RFC3339) {
		t.Errorf("the stage waits for %s", got)
	}
	look(t, remote, "remote")
	s.clock.set(event.Add(time.Second))
	for _, step := range []string{"opened", "line", "first", "next"} {
		forward()
		at(t, stage, step)
		becomes(t, remote, "the same on the remote", fmt.Sprintf(`document.querySelector("h1").textContent === %q`, stage.Text("h1")))
	}
	if r := check(t, s, "boots"); r.Verdict != draw.Valid || r.Record == nil || r.Record.Beacon == nil || r.Record.Beacon.Round != 31543812 {
		t.Errorf("the check: %q: %v", r.Verdict, r.Findings)
	}
}
