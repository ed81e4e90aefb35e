package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
	"evenhand/sample"
)

// A look goes through pages at every width the issue names, dark and light:
// axe-core finds nothing and nothing is wider than the window. With
// EVENHAND_PICTURES=folder each is kept as a picture.
func look(t *testing.T, b *browsertest.Browser, name string) {
	t.Helper()
	pictures := os.Getenv("EVENHAND_PICTURES")
	for _, width := range []int{360, 768, 1280} {
		for _, dark := range []bool{false, true} {
			b.SetViewport(width, 900, width < 700)
			b.Dark(dark)
			where := fmt.Sprintf("desk-%s-%d-dark=%v", name, width, dark)
			found, err := b.Axe()
			must(t, err)
			for _, f := range found {
				t.Errorf("%s: %s", where, f)
			}
			if wide := browsertest.Eval[int](b, "document.documentElement.scrollWidth"); wide > width {
				t.Errorf("%s: the page is %d wide", where, wide)
			}
			if n := browsertest.Eval[int](b, `document.querySelectorAll(".button").length`); n > 1 {
				t.Errorf("%s: %d filled buttons", where, n)
			}
			if pictures != "" {
				b.Screenshot(filepath.Join(pictures, where+".png"))
			}
		}
	}
	b.Dark(false)
	b.SetViewport(1280, 900, false)
}

// A creator and a viewer do all of it in a browser, on both databases: first
// start, terms, an entry, lock, draw, and the verdict on the check page.
func TestInABrowser(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		b := browsertest.New(t)
		at := func(path string) { t.Helper(); b.Open(s.base + path) }
		look := func(t *testing.T, b *browsertest.Browser, name string) {
			t.Helper()
			if database == "" { // the pages are the same on both
				look(t, b, name)
			}
		}
		submit := func(want string) {
			t.Helper()
			if got := b.Submit(".button"); got != 200 || !strings.Contains(b.Text("h1"), want) {
				t.Fatalf("status %d, heading %q, want 200, %q", got, b.Text("h1"), want)
			}
		}
		at("/desk")
		look(t, b, "first")
		b.Type("#f-code", "AAAA-AAAA-AAAA")
		b.Type("#f-passphrase", "short")
		b.Type("#f-again", "short")
		if got := b.Submit(".button"); got != 422 {
			t.Errorf("the faulty first start has status %d", got)
		}
		look(t, b, "first-faults")
		s.clock.set(during.Add(time.Minute))
		b.Clear("#f-code")
		b.Type("#f-code", s.code)
		b.Type("#f-passphrase", passphrase)
		b.Type("#f-again", passphrase)
		submit("No giveaway here yet.")
		look(t, b, "empty")

		at("/desk/new")
		look(t, b, "new")
		if got := b.Submit(".button"); got != 200 || !strings.HasSuffix(b.Location(), "?look=faults") {
			t.Errorf("the empty terms lead with status %d to %s", got, b.Location())
		}
		focus := ""
		for range 40 { // the browser moves the focus as it first draws the page
			if focus = browsertest.Eval[string](b, "document.activeElement.id"); focus == "faults" {
				break
			}
			time.Sleep(50 * time.Millisecond)
		}
		if focus != "faults" {
			t.Errorf("the summary does not have the focus: %q has", focus)
		}
		look(t, b, "new-faults")
		at("/desk/file")
		look(t, b, "file")
		terms, err := os.ReadFile("testdata/boots.json")
		must(t, err)
		b.Type("#terms", strings.Join(strings.Fields(string(terms)), " "))
		submit("This giveaway is not posted yet.")
		look(t, b, "draft")
		b.Follow(".button")
		readInABrowser(t, b)
		submit("The terms are posted. Now tell people.")
		at("/desk/g/boots")
		look(t, b, "taking")

		at("/g/boots")
		b.Type("#f-email", "robin@example.org")
		b.Choose("#f-system", "mens")
		b.Type("#f-size", "10.5")
		b.Choose("#f-live", "US")
		b.Choose("#f-state", "ME")
		b.Click("#f-age-18-or-over")
		b.Click("#f-rules")
		submit("You are in.")

		s.clock.set(closes.Add(time.Minute))
		at("/desk/g/boots")
		look(t, b, "closed")
		b.Follow(".button")
		look(t, b, "lock")
		submit("The list is locked.")
		look(t, b, "locked")
		b.Follow(".button")
		look(t, b, "locked-print")
		at("/desk/g/boots/draw")
		look(t, b, "draw-waits")
		s.clock.set(event)
		at("/desk/g/boots/draw")
		look(t, b, "draw")
		submit("One ticket won.")
		at("/desk/g/boots")
		look(t, b, "drawn")
		b.Follow(".button")
		if got := b.Text("h1"); got != "The letter to the winner is ready." {
			t.Errorf("the next step after the draw is %q", got)
		}
		at("/desk/g/boots/result")
		if got := b.Text("h1"); got != "One ticket won." {
			t.Errorf("the result is %q", got)
		}
		look(t, b, "result")
		b.Follow(".button")
		if got := b.Text("h1"); got != "The draw checks out." {
			t.Errorf("the verdict is %q", got)
		}
		for _, asked := range b.Requests() {
			if !strings.HasPrefix(asked, s.base+"/") && !strings.HasPrefix(asked, "data:") { // data: the browser draws its own fields
				t.Errorf("a page asked for %s", asked)
			}
		}
	})
}

// The sample's pages: many entries, charts, a draw with something to know, and
// the states that the whole way does not meet.
func TestSampleInABrowser(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir(), "-sample")
	s.claim()
	b := browsertest.New(t)
	at := func(path string) { t.Helper(); b.Open(s.base + path) }
	at("/desk")
	look(t, b, "sign-in")
	b.Type("#passphrase", "not this one")
	b.Submit(".button")
	look(t, b, "sign-in-fault")
	s.clock.set(during.Add(20 * time.Second))
	b.Type("#passphrase", passphrase)
	b.Submit(".button")
	look(t, b, "list")
	for _, page := range []string{"/entries", "", "/later"} {
		at("/desk/g/" + sample.Open + page)
		look(t, b, "sample"+strings.ReplaceAll(page, "/", "-"))
	}
	at("/desk/g/" + sample.Next + "/lock")
	look(t, b, "sample-lock")
	b.Submit(".button")
	at("/desk/g/" + sample.Next + "/draw")
	look(t, b, "sample-draw-waits")
	s.clock.set(during.Add(3 * time.Minute))
	at("/desk/g/" + sample.Next + "/draw")
	b.Submit(".button")
	at("/desk/g/" + sample.Next + "/result")
	look(t, b, "sample-weak")
}
