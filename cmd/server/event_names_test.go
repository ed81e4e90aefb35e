package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// decideNames sees all names on the desk's page, in a browser: by turns each is
// allowed as typed, allowed in other words, or kept from the stage. It returns
// what the stage may say, by ticket.
func decideNames(t *testing.T, s *service, b *browsertest.Browser) map[string]string {
	t.Helper()
	const page = "/desk/g/boots/show/names"
	may := map[string]string{}
	rows := namesOn(s.get(page).body)
	b.Open(s.base + page)
	for i := range len(rows) {
		name := fmt.Sprint("Quill Wanderer ", i)
		ticket := rows[name].ticket
		switch i % 3 {
		case 0:
			b.Click("#n-" + ticket)
			may[ticket] = name
		case 1:
			may[ticket] = fmt.Sprint("Kim of the coast ", i)
			b.Click("#l-" + ticket)
			b.Type("#f-like-"+ticket, may[ticket])
		default:
			b.Click("#t-" + ticket)
			may[ticket] = ""
		}
	}
	if got := b.Submit(".button"); got != 200 || !strings.Contains(b.Text("h1"), "All names were seen.") {
		t.Fatalf("the names: status %d, %q", got, b.Text("h1"))
	}
	return may
}

// A name that the creator allowed on the desk is on stage, overlay and remote at
// its own place, with the last four characters of its ticket, and nowhere
// before; in the words that were chosen; and one that was refused never, nor one
// that is taken back while it is shown. The remote's next press works all the
// same. The rules are the issue's, "Names"; no outside source.
func TestEventNames(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"winners": 1`, `"winners": 5`)
	enterNamed(s.visitor, 6) // two are decided each way, so five places have one of each
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	desk := browsertest.New(t)
	signIn(s, desk)
	may := decideNames(t, s, desk)
	s.clock.set(event.Add(time.Minute))
	e := pair(s.visitor, "0")
	stage, overlay, remote := showing(t, desk.Tab(), s.base+e.stage), showing(t, desk.Tab(), s.base+e.stage+"&overlay=1"), showing(t, desk.Tab(), s.base+e.remote)
	stage.SetViewport(1920, 1080, false)
	overlay.SetViewport(1920, 1080, false)
	remote.SetViewport(360, 640, true)
	screens := map[string]*browsertest.Browser{"stage": stage, "overlay": overlay, "remote": remote}
	// only says that of all names the screens hold this one, or "".
	only := func(when, name string) {
		t.Helper()
		for screen, b := range screens {
			html := dom(b)
			for _, one := range []string{"Quill Wanderer", "Kim of the coast"} {
				if n := strings.Count(html, one); n > 0 != strings.HasPrefix(name, one) {
					t.Errorf("%s at %s has %q %d times; it may say %q", screen, when, one, n, name)
				}
			}
			if name != "" && strings.Count(html, name) != strings.Count(html, name[:len(name)-2]) {
				t.Errorf("%s at %s has another name beside %q: %s", screen, when, name, b.Text("h1"))
			}
			if found := personal.FindString(strings.ReplaceAll(strings.ReplaceAll(html, s.base, ""), name, "")); found != "" && name != "" {
				t.Errorf("%s at %s holds %q", screen, when, found)
			}
			if screen != "remote" {
				if bad := browsertest.Eval[string](b, small); bad != "" {
					t.Errorf("%s at %s: %s", screen, when, bad)
				}
			}
			e.picture(b, "named-"+when+"-"+screen)
		}
	}
	said := func(words string) {
		t.Helper()
		for screen, b := range screens {
			becomes(t, b, screen+" says "+words, fmt.Sprintf(`document.querySelector("h1").textContent === %q`, words))
		}
	}
	forward := func(step string) {
		t.Helper()
		ready(t, remote)
		remote.Click("[data-part=forward]")
		for _, b := range []*browsertest.Browser{stage, overlay} {
			at(t, b, step)
		}
	}
	only("soon", "")
	for _, step := range []string{"tickets", "locked", "number", "opened", "line"} {
		forward(step)
		said(stage.Text("h1"))
		only(step, "")
	}
	for i, label := range []string{"First", "Second", "Third", "Fourth", "Fifth"} {
		ready(t, remote)
		remote.Click("[data-part=forward]")
		becomes(t, stage, label, fmt.Sprintf(`document.querySelector("main").dataset.place === "%d"`, i+1))
		ticket := stage.Text("[data-part=ticket]")
		name := may[strings.ReplaceAll(ticket, "-", "")]
		plain := label + " is the ticket that ends in " + ticket[15:] + ": it wins."
		words := plain
		if name != "" {
			words = label + " is " + name + ", with the ticket that ends in " + ticket[15:] + ": it wins."
		}
		said(words)
		only(fmt.Sprint("place-", i+1), name)
		if name == "" {
			continue
		}
		clean := strings.ReplaceAll(ticket, "-", "") // taken back on the desk while it is shown
		s.goes("/desk/g/boots/show/names", "/desk/g/boots/show/names", "ticket", clean, "name-"+clean, typedName(s, clean), "say-"+clean, "ticket")
		said(plain)
		only(fmt.Sprintf("place-%d-taken-back", i+1), "")
	}
	forward("next")
	said(stage.Text("h1"))
	only("next", "")
	ready(t, remote)
	remote.Click("[data-part=alternates]")
	at(t, overlay, "alternates")
	at(t, stage, "alternates")
	only("alternates", "")
	for _, part := range []string{"hold", "dark"} {
		ready(t, remote)
		remote.Click("[data-part=" + part + "]")
	}
	becomes(t, remote, "hold and dark", `document.querySelector("[data-part=where]").textContent.includes("(dark) (on hold)")`)
	e.picture(remote, "named-held-remote")
	e.picture(stage, "named-dark-stage")
}

// typedName is the name that came with a ticket, as the desk shows it.
func typedName(s *service, ticket string) string {
	for name, row := range namesOn(s.get("/desk/g/boots/show/names?all").body) {
		if row.ticket == ticket {
			return name
		}
	}
	return ""
}
