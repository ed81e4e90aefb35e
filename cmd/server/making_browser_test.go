package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// put sets a field as a person's choice would, and says so to the page.
func put(b *browsertest.Browser, name, value string) {
	browsertest.Eval[bool](b, fmt.Sprintf(`(() => { const e = document.querySelector("[name=%s]"); e.value = %q;
		e.dispatchEvent(new Event("input", { bubbles: true })); return true })()`, name, value))
}

// until waits for the text of an element.
func until(t *testing.T, b *browsertest.Browser, selector, want string) {
	t.Helper()
	b.Says(selector, want)
}

// signIn opens the desk in a browser that was not there before.
func signIn(s *service, b *browsertest.Browser) {
	b.Open(s.base + "/desk")
	b.Type("#passphrase", passphrase)
	b.Submit(".button")
}

// asked is how many questions about times the page has.
func asked(b *browsertest.Browser) int {
	return browsertest.Eval[int](b, `document.querySelectorAll("[data-ask]").length`)
}

// A giveaway is made on a laptop, interrupted, gone on with on a phone, and
// finished there; the laptop then hears of it. On both databases.
func TestMakingInABrowser(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		look := func(t *testing.T, b *browsertest.Browser, name string) {
			t.Helper()
			if database == "" {
				look(t, b, name)
			}
		}
		laptop := browsertest.New(t)
		s.clock.set(during.Add(time.Minute))
		signIn(s, laptop)
		laptop.Zone("America/Boise") // the page's list of zones lacks it
		laptop.Open(s.base + "/desk/new")
		path := strings.TrimPrefix(laptop.Location(), s.base)
		if zone := laptop.Value("#f-zone"); zone != "America/Boise" || !strings.Contains(laptop.Text("#h-zone"), "Taken from this device.") {
			t.Errorf("the zone that the browser is in is not filled in: %q, %q", zone, laptop.Text("#h-zone"))
		}
		look(t, laptop, "making-empty")
		laptop.Type("#f-prize", "A pair of hiking boots in your size")
		laptop.Type("#f-sponsor", "Larkspur Trail Supply")
		laptop.Type("#f-channel", "Slow Miles")
		laptop.Click("#more > summary") // seldom touched, and folded
		laptop.Type("#f-title", "Win a pair of hiking boots, for Ångström’s café!")
		if got := laptop.Value("#f-draw"); got != "hiking-boots-angstroms" {
			t.Errorf("the short name is proposed as %q", got)
		}
		if got := laptop.Text(".way [data-names]"); strings.TrimSpace(got) != "Larkspur Trail Supply gives the prize, and pays Slow Miles" {
			t.Errorf("the sentences to choose from begin with %q", got)
		}
		put(laptop, "alternates", "5") // it is folded
		put(laptop, "disclosure_more", "a fee for this video.")
		until(t, laptop, "[data-said=disclosure]", "It says: “Larkspur Trail Supply gives the prize, and also gives Slow Miles a fee for this video.”")
		until(t, laptop, "[data-said=after]", "5 are next in line")
		if browsertest.Eval[bool](laptop, `document.querySelector("[name=disclosure_kind]:checked") !== null`) {
			t.Error("who gave the prize is answered, though nobody said it")
		}
		until(t, laptop, "#kept", "Kept ")
		put(laptop, "zone", "America/New_York")
		put(laptop, "event", "2026-11-01T01:30")
		until(t, laptop, "[data-ask] legend", "it comes twice. Which one is meant?")
		put(laptop, "event", "2026-11-02T01:30")
		if n := asked(laptop); n != 0 {
			t.Error("the question stays, though the time is another")
		}
		put(laptop, "event", "2027-03-14T02:30")
		until(t, laptop, "[data-ask] legend", "it never comes. Which one in its place?")
		put(laptop, "event", "2026-11-01T01:30")
		until(t, laptop, "[data-ask] legend", "it comes twice. Which one is meant?")
		put(laptop, "zone", "Europe/London")
		if n := asked(laptop); n != 0 {
			t.Error("the question stays, though the zone is another")
		}
		until(t, laptop, "[data-said=event]", "Sunday 1 November 2026, 1:30 am London time; that is 01:30 UTC.")
		put(laptop, "zone", "America/New_York")
		until(t, laptop, "[data-ask] legend", "it comes twice. Which one is meant?")
		put(laptop, "table", "Men's\tD\t2E\n10\tx\tx\n10.5\tx\t\n11\tx\tx\n")
		// The lid closes before the second is over.
		laptop.Open("about:blank")

		phone := laptop.Tab()
		phone.SetViewport(360, 800, true)
		signIn(s, phone)
		look(t, phone, "making-list")
		if got := phone.Text("main"); !strings.Contains(got, "Not finished") || !strings.Contains(got, "Win a pair of hiking boots, for Ångström’s café!") {
			t.Errorf("the phone's desk says %q", got)
		}
		phone.SetViewport(360, 800, true)
		phone.Follow(`a[href^="` + path + `"]`) // it leads into the first field that is still needed
		if got := phone.Value("#f-table"); !strings.Contains(got, "10.5\tx") {
			t.Errorf("what was typed last is gone: the table is %q", got)
		}
		if got := phone.Submit("button[value=table]"); got != 200 {
			t.Errorf("reading the table: status %d", got)
		}
		if got := phone.Text("[data-said=sizes]"); got != "Men’s 10 to 11 in half sizes, widths D; men’s 10 to 11 in whole sizes, widths 2E: 5 sizes in all." {
			t.Errorf("the sizes are said as %q", got)
		}
		if got := phone.Submit(".button"); got != 200 || !strings.HasSuffix(phone.Location(), "?look=faults") {
			t.Errorf("finishing with faults: status %d at %s", got, phone.Location())
		}
		look(t, phone, "making-faults")
		phone.SetViewport(360, 800, true)
		phone.Click(`input[name=event_which][value="2"]`)
		put(phone, "opens", "2026-08-21T12:00")
		put(phone, "closes", "2026-10-31T20:00")
		until(t, phone, "[data-said=event]", "that is 06:30 UTC.")
		phone.Click("#f-winners")
		until(t, phone, "[data-ask] summary", "Choose again which one is meant") // answered, and folded
		put(phone, "worth_sum", "189.50")
		look(t, phone, "making-full")
		if got := phone.Submit(".button"); got != 200 || !strings.Contains(phone.Text("h1"), "to look at before you post.") {
			t.Fatalf("finishing: status %d, %q", got, phone.Text("h1"))
		}
		day := strings.TrimSuffix(phone.Location(), "/cautions")
		phone.Open(s.base + path)
		if got := phone.Location(); !strings.HasSuffix(got, "/terms") {
			t.Errorf("Back to the finished form leads to %s", got)
		}
		phone.Open(day + "/preview")
		look(t, phone, "making-preview")
		phone.Type("#f-email", "robin@example.org")
		phone.Choose("#f-system", "mens")
		phone.Type("#f-size", "10.5")
		phone.Choose("#f-live", "US")
		phone.Choose("#f-state", "ME")
		phone.Click("#f-age-18-or-over")
		phone.Click("#f-rules")
		if got := phone.Submit("main form .button"); got != 200 || phone.Text("h1") != "You are in." {
			t.Errorf("a test entry: status %d, %q", got, phone.Text("h1"))
		}
		look(t, phone, "making-test-entry")
	})
}

// Two windows on one form: the second hears at once that the first was there,
// and nothing is overwritten unseen.
func TestMakingInTwoWindows(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	a := browsertest.New(t)
	s.clock.set(during.Add(time.Minute))
	signIn(s, a)
	a.Open(s.base + "/desk/new")
	path := a.Location()
	a.Type("#f-prize", "Boots")
	until(t, a, "#kept", "Kept ")
	b := a.Tab()
	s.clock.set(during.Add(2 * time.Minute))
	signIn(s, b)
	b.Open(path)
	put(b, "prize", "Boots and socks")
	until(t, b, "#kept", "Kept ")
	deadline := time.Now().Add(browsertest.Patience)
	for versionAt(t, s.visitor, strings.TrimPrefix(path, s.base)) == "1" && time.Now().Before(deadline) {
		time.Sleep(50 * time.Millisecond)
	}
	a.Type("#f-channel", "Slow Miles")
	until(t, a, "#kept", "This was changed in another window")
	look(t, a, "making-elsewhere")
	a.Follow("#kept a")
	if got := a.Value("#f-prize"); got != "Boots and socks" {
		t.Errorf("the other window's text loads as %q", got)
	}
}

// The whole form by keyboard alone: every field and button can be reached in
// the page's order, and Enter in a field keeps the form and loses nothing.
func TestMakingByKeyboard(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	b := browsertest.New(t)
	s.clock.set(during.Add(time.Minute))
	signIn(s, b)
	b.Open(s.base + "/desk/new")
	if zone := b.Value("#f-zone"); zone != "" {
		t.Errorf("a browser that says UTC as its zone fills in %q", zone)
	}
	b.Zone("Asia/Calcutta") // an old name, as browsers give it
	typed := aForm(t, s.visitor)
	s.goes(typed, typed, "do", "keep", "zone", "Europe/Paris")
	b.Open(s.base + typed)
	if zone := b.Value("#f-zone"); zone != "Europe/Paris" {
		t.Errorf("the zone that was typed became %q", zone)
	}
	b.Open(s.base + "/desk/new")
	put(b, "event", "2026-12-11T20:30")
	until(t, b, "[data-said=event]", "Friday 11 December 2026, 8:30 pm Calcutta time; that is 15:00 UTC.")
	order := browsertest.Eval[string](b, `[...document.querySelectorAll("#making input:not([type=hidden]), #making select, #making textarea, #making button, #making summary")]
		.filter((e) => e.tabIndex >= 0 && e.checkVisibility()).map((e) => e.name || e.textContent).join(" ")`)
	for _, name := range []string{"prize", "worth_sum", "sponsor", "run_0_from", "Paste a table", "zone", "event", "live", "alaska_hawaii", "friend", "barred_staff", "Others who can’t win", "answer_days", "next in line", "More, all filled in or empty", "do"} {
		if !strings.Contains(order, name) {
			t.Errorf("%s can't be reached: %s", name, order)
		}
	}
	b.Script(false)
	b.Open(b.Location())
	b.Type("#f-prize", "Boots")
	b.Enter()
	until(t, b, "#kept", "Kept ")
	if got := b.Value("#f-prize"); got != "Boots" {
		t.Errorf("Enter keeps %q", got)
	}
}

// With script a row more comes whenever somebody writes into the last one, and
// all of them are kept.
func TestMakingRowsGrow(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	b := browsertest.New(t)
	s.clock.set(during.Add(time.Minute))
	signIn(s, b)
	b.Open(s.base + "/desk/new")
	for i := range 5 {
		b.Type(fmt.Sprintf("#f-run_%d_from", i), fmt.Sprint(7+i))
		if i == 1 {
			b.Type("#f-run_1_widths", "B, D")
		}
	}
	if first, third := b.Value("#f-run_1_widths"), b.Value("#f-run_2_widths"); first != "B, D" || third != first {
		t.Errorf("the third row has the widths %q, want those above: %q", third, first)
	}
	put(b, "run_3_system", "mens")
	if got := b.Value("#f-run_3_widths"); got != "" {
		t.Errorf("a row for men has the widths of women: %q", got)
	}
	until(t, b, "#kept", "Kept ")
	deadline := time.Now().Add(browsertest.Patience)
	path := strings.TrimPrefix(b.Location(), s.base)
	for !strings.Contains(s.get(path).body, `id="f-run_4_from" name="run_4_from" value="11"`) {
		if time.Now().After(deadline) {
			t.Fatal("the fifth row was not kept")
		}
		time.Sleep(100 * time.Millisecond)
	}
	if got := browsertest.Eval[int](b, `new Set([...document.querySelectorAll("[id]")].map((e) => e.id)).size - document.querySelectorAll("[id]").length`); got != 0 {
		t.Errorf("%d ids stand twice", -got)
	}
}
