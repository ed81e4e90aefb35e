package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// An evening is a show of the giveaway boots with its screens in a browser.
type evening struct {
	*visitor
	stage, remote string // addresses
	pictures      string // a folder; "": none are kept
}

var (
	stageLink  = regexp.MustCompile(`/g/boots/stage\?key=[0-9a-f]{32}`)
	remoteLink = regexp.MustCompile(`/remote/[0-9a-f]{32}`)
	groups     = regexp.MustCompile(`^[0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}$`)
)

// pair makes stage and remote.
func pair(v *visitor, delay string) *evening {
	v.t.Helper()
	v.goes("/desk/g/boots/show/pair", "/desk/g/boots/show/pair")
	v.goes("/desk/g/boots/show/pair", "/desk/g/boots/show/delay", "delay", delay)
	page := v.get("/desk/g/boots/show/pair").body
	e := &evening{visitor: v, stage: stageLink.FindString(page), remote: remoteLink.FindString(page), pictures: os.Getenv("EVENHAND_PICTURES")}
	if e.stage == "" || e.remote == "" {
		v.t.Fatalf("no addresses: %s", page)
	}
	return e
}

// becomes waits for a condition in a page.
func becomes(t *testing.T, b *browsertest.Browser, what, condition string) {
	t.Helper()
	for deadline := time.Now().Add(browsertest.Patience); time.Now().Before(deadline); time.Sleep(30 * time.Millisecond) {
		if browsertest.Eval[bool](b, `Boolean(`+condition+`)`) {
			return
		}
	}
	t.Fatalf("%s: not in 15 seconds; the page says %q", what, b.Text("body"))
}

// at waits until the stage or an overlay shows a step.
func at(t *testing.T, b *browsertest.Browser, step string) {
	t.Helper()
	becomes(t, b, "the step "+step, fmt.Sprintf(`document.querySelector("main").dataset.step === %q`, step))
}

// ready waits until the remote takes the next press.
func ready(t *testing.T, remote *browsertest.Browser) {
	t.Helper()
	becomes(t, remote, "ready", `!("busy" in document.getElementById("remote").dataset)`)
}

// dom is all that a page holds.
func dom(b *browsertest.Browser) string {
	return browsertest.Eval[string](b, `document.documentElement.outerHTML`)
}

// picture keeps a picture of a screen.
func (e *evening) picture(b *browsertest.Browser, name string) {
	if e.pictures != "" {
		time.Sleep(300 * time.Millisecond)
		b.Screenshot(filepath.Join(e.pictures, "event-"+name+".png"))
	}
}

// enterNamed sends entries in with a name each; it returns the private pages.
func enterNamed(v *visitor, n int) (private []string) {
	v.t.Helper()
	for i := range n {
		a := v.press("/g/boots", "email", fmt.Sprintf("walker%d@example.org", i), "name", fmt.Sprint("Quill Wanderer ", i), "system", "womens", "size", "8", "width", "B",
			"live", "US", "state", "VT", "age", "18-or-over", "rules", "yes")
		if a.status != 303 {
			v.t.Fatalf("entry %d: status %d: %s", i, a.status, textOf(a.body))
		}
		private = append(private, strings.SplitN(a.to, "?", 2)[0])
	}
	return private
}

// personal is what no stage and no remote may hold: the names were not decided
// on, and addresses are never said.
var personal = regexp.MustCompile(`(?i)quill|wanderer|walker|example\.org|womens|127\.0\.0\.1`)

// small names what is set in letters under 28 px of a picture 1080 lines high
// (1080 wide, where it is upright), and what goes over the edge; "" is good.
const small = `(() => {
	const scale = Math.min(innerWidth, innerHeight) / 1080, main = document.querySelector("main"), bad = [];
	for (const e of main.querySelectorAll("*")) {
		const box = e.getBoundingClientRect();
		if (box.width === 0 || !e.checkVisibility()) continue;
		if (e.children.length === 0 && e.textContent.trim() && parseFloat(getComputedStyle(e).fontSize) < 27.99 * scale) bad.push("small: " + e.textContent);
		if (box.left < 80 * scale || box.right > innerWidth - 80 * scale || box.top < 0 || box.bottom > innerHeight - 40 * scale) bad.push("at the edge: " + e.tagName + " " + e.textContent);
	}
	return bad.join("; ");
})()`

// A whole event in real browsers: stage, overlay and remote, ten check pages,
// everybody's private page. The server is killed in the middle, when the draw
// is made, and started again. With a delay of 20 seconds nobody outside knows
// the winner before the stage's time and 20 seconds.
func TestEvent(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		p := newProcess(t, database)
		p.addr = strings.TrimPrefix(p.base, "http://") // the browsers find it there again
		p.claim()
		p.bring("boots")
		private := enterNamed(p.visitor, 3)
		p.setClock(closes.Add(time.Minute))
		p.goes("/desk/g/boots", "/desk/g/boots/lock")
		p.setClock(event.Add(-9 * time.Minute))
		e := pair(p.visitor, "20")
		if database != "" {
			e.pictures = "" // the screens are the same on both
		}
		stage := browsertest.New(t)
		open := func(address string) *browsertest.Browser {
			t.Helper()
			b := stage.Tab()
			if got := b.Open(p.base + address); got != 200 {
				t.Fatalf("%s: status %d", address, got)
			}
			return b
		}
		stage.SetViewport(1920, 1080, false)
		stage.Open(p.base + e.stage)
		overlay, tall, remote := open(e.stage+"&overlay=1"), open("/stage?tall=1&"+strings.SplitN(e.stage, "?", 2)[1]), open(e.remote)
		overlay.SetViewport(1280, 720, false)
		tall.SetViewport(1080, 1920, false)
		remote.SetViewport(390, 844, true)
		screens := map[string]*browsertest.Browser{"stage": stage, "overlay": overlay, "tall": tall, "remote": remote}
		var viewers []*browsertest.Browser
		checks := 10
		if database != "" {
			checks = 2 // the pages are the same on both
		}
		for range checks {
			viewers = append(viewers, open("/g/boots/check"))
		}
		for _, page := range private {
			viewers = append(viewers, open(page))
		}
		ticket := ""
		look := func(step string) {
			t.Helper()
			for name, b := range screens {
				if name != "remote" {
					at(t, b, step)
				}
				html := dom(b)
				if found := personal.FindString(strings.ReplaceAll(html, p.base, "")); found != "" {
					t.Errorf("%s at %s holds %q", name, step, found)
				}
				if knows := ticket != "" && strings.Contains(html, ticket[15:]); knows != (step == "first") && ticket != "" {
					t.Errorf("%s at %s holds the winner's ticket: %t", name, step, knows)
				}
				if name != "remote" {
					if bad := browsertest.Eval[string](b, small); bad != "" {
						t.Errorf("%s at %s: %s", name, step, bad)
					}
				}
				e.picture(b, step+"-"+name)
			}
		}
		forward := func(step string) {
			t.Helper()
			ready(t, remote)
			remote.Click("[data-part=forward]")
			at(t, stage, step)
			becomes(t, remote, "the remote's answer", fmt.Sprintf(`document.querySelector("h1").textContent === %q`, stage.Text("h1")))
		}
		look("soon")
		forward("tickets")
		look("tickets")
		forward("locked")
		look("locked")
		forward("number")
		becomes(t, stage, "the wait", `/It appears in [0-9]:[0-9]{2}\./.test(document.querySelector("[data-part=wait]").textContent)`)
		look("number")
		ready(t, remote)
		remote.Click("[data-part=forward]")
		becomes(t, remote, "what is too early", `document.querySelector("[data-part=problem]").textContent.includes("not time yet")`)
		p.setClock(event.Add(2 * time.Second))
		becomes(t, stage, "the number", `document.querySelector("[data-part=number]").textContent.length === 19`)
		e.picture(stage, "number-there")
		forward("opened")
		look("opened")

		p.kill()
		ready(t, remote)
		remote.Click("[data-part=forward]")
		becomes(t, remote, "that nothing answers", `document.querySelector("[data-part=problem]").textContent.includes("No answer")`)
		look("opened") // the screens keep what they show
		e.picture(remote, "gone-remote")
		p.run()
		forward("line")
		look("line")
		shown := p.clock.now().Add(10 * time.Second)
		p.setClock(shown)
		forward("first")
		ticket = stage.Text("[data-part=ticket]")
		if !groups.MatchString(ticket) {
			t.Fatalf("the ticket on the stage is %q", ticket)
		}
		look("first")
		words := remote.Text("[data-part=words] b")
		if strings.Contains(dom(stage), words) {
			t.Error("the stage has the words for the chat")
		}
		forward("next")
		look("next")

		p.setClock(shown.Add(19 * time.Second))
		time.Sleep(500 * time.Millisecond) // the hub looks at the clock five times a second
		public := []string{"/g/boots", "/g/boots/check", "/g/boots/fair/", "/g/boots/t/" + strings.ReplaceAll(ticket, "-", ""), private[0], private[1], private[2]}
		for _, path := range public {
			if text := p.get(path).body; strings.Contains(text, "You won") || strings.Contains(text, "it wins") || !strings.Contains(path, "/t/") && !strings.Contains(path, "/r/") && strings.Contains(text, ticket) {
				t.Errorf("%s knows the winner after 19 seconds", path)
			}
		}
		for _, path := range []string{"/g/boots/fair/record.txt", "/g/boots/line.bin", "/g/boots/line", "/g/boots/sheet"} {
			if got := p.get(path).status; got != 404 {
				t.Errorf("%s after 19 seconds: status %d", path, got)
			}
		}
		for i, b := range viewers {
			if html := dom(b); strings.Contains(html, words) || i < checks && strings.Contains(html, ticket) || strings.Contains(b.Text("body"), "The draw is made.") {
				t.Errorf("viewer %d knows after 19 seconds", i)
			}
		}
		p.setClock(shown.Add(20 * time.Second))
		for i, b := range viewers {
			if i < checks {
				becomes(t, b, "the news on the check page", `document.querySelector("[data-live]")?.textContent.includes("The draw is made.")`)
				continue
			}
			becomes(t, b, "the private page's news", `/did not win|Your ticket came/.test(document.body?.innerText)`)
		}
		viewers[0].Follow("[data-live] a")
		becomes(t, viewers[0], "the check's own result", fmt.Sprintf(`document.body?.innerText.includes("1st: %s")`, ticket)) // no relay is reached from here
		winners := 0
		for _, b := range viewers[checks:] {
			if strings.Contains(b.Text("body"), "You won") {
				winners++
				if text := b.Text("body"); !strings.Contains(text, words) || !strings.Contains(text, ticket) {
					t.Errorf("the winner's page, which wants %q: %s", words, text)
				}
				e.picture(b, "winner")
			}
		}
		if got := p.get("/g/boots/fair/record.txt").status; got != 200 || winners != 1 {
			t.Errorf("record.txt has status %d, %d pages won", got, winners)
		}
	})
}
