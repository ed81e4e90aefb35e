package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// readInABrowser goes from what there is to look at to the post page.
func readInABrowser(t *testing.T, b *browsertest.Browser) {
	t.Helper()
	if !strings.Contains(b.Text("h1"), "to look at before you post") {
		t.Fatalf("after the draft comes %q", b.Text("h1"))
	}
	if got := b.Submit("form:has(.rows) button"); got != 200 {
		t.Fatalf("all read at once: status %d", got)
	}
	for browsertest.Eval[int](b, `document.querySelectorAll("input[name=why]").length`) > 0 {
		b.Type("input[name=why]", "Our lawyer looked at it.")
		if got := b.Submit("form:has(input[name=why]) button"); got != 200 {
			t.Fatalf("going on: status %d", got)
		}
	}
	if b.Text("h1") != "Once posted, these terms bind you." {
		t.Fatalf("then comes %q", b.Text("h1"))
	}
}

// From the draft to the sheet, and a change, with script and without: every
// page and each error state at all widths, dark and light.
func TestOpeningInABrowser(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.draft(`"Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n"`,
			`"# Official rules\n\n1. Entering is free.\n2. One entry for each person, whoever they are, `+strings.Repeat("and wherever they walk ", 12)+`.\n\n> A quoted line with a very long word: `+strings.Repeat("Sohlenwiederherstellung", 4)+`.\n\nSee https://example.com/`+strings.Repeat("long/", 20)+`.\n"`)
		b := browsertest.New(t)
		signIn(s, b)
		at := func(page string) { t.Helper(); b.Open(s.base + "/desk/g/boots" + page) }
		seen := func(name string) {
			t.Helper()
			if database == "" { // the pages are the same on both
				look(t, b, "opening-"+name)
			}
		}
		b.Script(database == "")
		at("/rules")
		seen("rules-draft")
		at("/post")
		seen("post-unread")
		at("/cautions")
		seen("cautions")
		b.Submit("form:has(input[name=why]) button")
		seen("cautions-fault")
		at("")
		seen("draft")
		b.Follow(".button")
		readInABrowser(t, b)
		seen("post")
		at("/cautions")
		seen("cautions-read")
		b.Follow(".button")
		if got := b.Submit(".button"); got != 200 || b.Text("h1") != "The terms are posted. Now tell people." {
			t.Fatalf("after posting: status %d, %q", got, b.Text("h1"))
		}
		seen("spread")
		if wide := browsertest.Eval[int](b, `document.querySelector("img.qr").naturalWidth`); wide == 0 {
			t.Error("the QR code is not shown")
		}
		if shown := browsertest.Eval[bool](b, `document.querySelector("[data-copy]").checkVisibility()`); shown != (database == "") {
			t.Errorf("the copy button is shown %v, script %v", shown, database == "")
		}
		s.clock.set(during.Add(16 * time.Minute)) // a while after signing in
		b.Follow(".button")
		seen("sheet-ask")
		b.Type("#f-passphrase", "not this one, surely")
		b.Submit(".button")
		seen("sheet-fault")
		s.clock.set(during.Add(17 * time.Minute))
		b.Type("#f-passphrase", passphrase)
		if got := b.Submit(".button"); got != 200 || b.Text("h1") != "Recovery sheet" {
			t.Fatalf("the sheet: status %d, %q", got, b.Text("h1"))
		}
		seen("sheet")
		printed(t, b, database, "sheet")
		sheetOnPaper(t, b)
		if got := b.Submit("form[action$=kept] button"); got != 200 {
			t.Errorf("kept: status %d", got)
		}
		at("")
		seen("day")
		changeInABrowser(t, s, b, seen)
		b.Open(s.base + "/g/boots/rules")
		seen("rules")
		printed(t, b, database, "rules")
		b.Open(s.base + "/g/boots")
		seen("changed-public")
		for _, asked := range b.Requests() {
			if !strings.HasPrefix(asked, s.base+"/") && !strings.HasPrefix(asked, "data:") {
				t.Errorf("a page asked for %s", asked)
			}
		}
	})
}

// changeInABrowser moves the draw by the keyboard's Enter alone.
func changeInABrowser(t *testing.T, s *service, b *browsertest.Browser, seen func(string)) {
	t.Helper()
	b.Open(s.base + "/desk/g/boots/later")
	seen("later")
	const set = `(() => { document.querySelector("[name=event]").value = "%s"; return true })()`
	browsertest.Eval[bool](b, fmt.Sprintf(set, "2026-08-22T17:00"))
	if got := b.Submit(".button"); got != 422 {
		t.Errorf("an earlier draw: status %d, want 422", got)
	}
	seen("later-fault")
	browsertest.Eval[bool](b, fmt.Sprintf(set, "2026-08-22T18:40"))
	b.Submit(".button")
	if b.Text("h1") != "This will change, for everybody to see." {
		t.Errorf("no question: %q", b.Text("h1"))
	}
	seen("later-sure")
	if got := b.Submit(".button"); got != 200 || b.Text("h1") == "This will change, for everybody to see." {
		t.Errorf("posting the change: status %d, %q", got, b.Text("h1"))
	}
	seen("day-changed")
}

// sheetOnPaper looks at the recovery sheet as it prints: without the desk's
// head, whole though it is folded on the screen, and number and key never on two
// pages. US Letter is 11 inches high, of
// which the browser's own margins take less than one; CSS has 96 px an inch
// (CSS Values and Units 3, section 6.2).
func sheetOnPaper(t *testing.T, b *browsertest.Browser) {
	t.Helper()
	const all = `[...document.querySelectorAll(".sheet-all p, .sheet-all pre")].filter(e => e.checkVisibility()).length / document.querySelectorAll(".sheet-all p, .sheet-all pre").length`
	if got := browsertest.Eval[float64](b, all); got != 0 {
		t.Errorf("on the screen the folded sheet shows a share of %v", got)
	}
	b.Paper(true)
	if got := browsertest.Eval[float64](b, all); got != 1 {
		t.Errorf("on paper the folded sheet shows a share of %v, want all of it", got)
	}
	defer b.Paper(false)
	if browsertest.Eval[bool](b, `document.querySelector("header").checkVisibility()`) {
		t.Error("the sheet prints with the desk’s head")
	}
	const kept = `(() => { const s = document.querySelector(".secrets");
		return getComputedStyle(s).breakInside === "avoid" && s.querySelectorAll("[data-file]").length === 2 && s.getBoundingClientRect().height < 10 * 96 })()`
	if !browsertest.Eval[bool](b, kept) {
		t.Error("number and key may be printed on two pages")
	}
}

// printed keeps a page as it is printed, to be looked at.
func printed(t *testing.T, b *browsertest.Browser, database, name string) {
	t.Helper()
	if dir := os.Getenv("EVENHAND_PICTURES"); dir != "" && database == "" {
		b.PDF(filepath.Join(dir, "opening-"+name+".pdf"))
	}
}
