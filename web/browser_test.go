package web_test

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
)

// widths are those of a phone, a tablet and a desk screen (the issue's).
var widths = []int{360, 768, 1280}

// A view is one page in one state, reached by its steps.
type view struct {
	name string
	open func(b *browsertest.Browser)
}

// views makes the pages of one giveaway in every state, with the longest real
// texts that fields allow.
func views(t *testing.T, r *rig) []view {
	long := strings.Repeat("a", 64) + "@" + strings.Repeat("b", 40) + ".example.com"
	get := func(name, path string) view {
		return view{name, func(b *browsertest.Browser) { b.Open(r.server.URL + path) }}
	}
	r.open("boots")
	faulty := view{"form-faults", func(b *browsertest.Browser) {
		b.Open(r.server.URL + "/g/boots")
		b.Type("#f-email", "robin@exmaple.com")
		b.Choose("#f-system", "mens")
		b.Type("#f-size", "16")
		b.Choose("#f-width", "wide")
		if got := b.Submit(".button"); got != 422 {
			t.Errorf("the faulty form has status %d", got)
		}
	}}
	refused := view{"form-refused", func(b *browsertest.Browser) {
		b.Open(r.server.URL + "/g/boots")
		b.Type("#f-email", "kim@example.com")
		b.Choose("#f-system", "womens")
		b.Type("#f-size", "8")
		b.Choose("#f-live", "FR")
		b.Submit(".button")
	}}
	repeat := view{"already-in", func(b *browsertest.Browser) {
		b.Open(r.server.URL + "/g/boots")
		fill(b, "robin@example.com")
		if got := b.Submit(".button"); got != 409 {
			t.Errorf("a repeat has status %d", got)
		}
	}}
	r.open("long", longTerms)
	all := []view{get("first-page", "/"), get("form", "/g/boots"), get("form-long", "/g/long"), faulty, refused, repeat, get("rules", "/g/boots/rules"), get("no-page", "/nothing")}
	r.enter("boots", "robin@example.com")
	private := r.post("/g/boots", with(goodForm(long), "name", strings.Repeat("Maximiliane ", 3)[:35]+"Ypsi", "width", "B", "size_seen", "mens 10.5 b")).Header.Get("Location")
	return append(all, get("private", private), get("fix", private+"/fix"), get("withdraw", private+"/withdraw"), get("fair-open", "/g/boots/fair/"))
}

// longTerms has texts of the length that a German translation may have.
func longTerms(x *giveaway.Terms) {
	x.Channel = "Wanderfreunde Oberlausitz-Niederschlesien"
	x.Title = "Gewinnen Sie ein Paar Bergwanderstiefel mit Zwiegenähtverarbeitung in Ihrer Schuhgröße und Weite."
	x.Prize = "Ein Paar Bergwanderstiefel mit wasserabweisender Lederausstattung und Sohlenwiederherstellungsgarantie"
	x.Sponsor = "Larkspur Wanderausrüstungsfachhandelsgesellschaft"
	x.Steps = "Schreiben Sie unter das Video, welchen Fernwanderweg Sie zuerst gehen würden, und warum es gerade dieser sein soll."
	x.Questions[0].Label = "Donaudampfschifffahrtsgesellschaftswanderwegsbeschreibung?"
}

func fill(b *browsertest.Browser, email string) {
	b.Type("#f-email", email)
	b.Choose("#f-system", "mens")
	b.Type("#f-size", "10.5")
	b.Choose("#f-live", "US")
	b.Choose("#f-state", "ME")
	b.Choose("#f-answers-season", "autumn")
	b.Click("#f-age-18-or-over")
	b.Click("#f-rules")
}

// later makes the pages from closing on: one giveaway for each stage.
func later(t *testing.T, r *rig) []view {
	get := func(name, path string) view {
		return view{name, func(b *browsertest.Browser) { b.Open(r.server.URL + path) }}
	}
	weak := func(x *giveaway.Terms) { x.Beacon = giveaway.BeaconNone }
	r.setTime(during)
	r.open("closed")
	r.open("locked")
	r.open("drawn")
	r.open("weak", weak)
	private := map[string]string{}
	for _, id := range []string{"locked", "drawn", "weak"} {
		for i := range 9 {
			link, ticket := r.enter(id, fmt.Sprintf("person%d@example.com", i))
			private[ticket] = link
		}
	}
	for _, id := range []string{"locked", "drawn", "weak"} {
		r.lock(id)
	}
	r.draw("drawn")
	r.draw("weak")
	r.setTime(closes.Add(2 * 60e9))
	won := draw.Check(t.Context(), r.db.Publication("drawn"), draw.Options{}).Places
	return []view{
		get("closed", "/g/closed"), get("locked", "/g/locked"), get("drawn", "/g/drawn"), get("weak", "/g/weak"),
		get("fair-drawn", "/g/drawn/fair/"), get("fair-weak", "/g/weak/fair/"),
		get("ticket-wins", "/g/drawn/t/"+won[0].Ticket.String()), get("ticket-next", "/g/drawn/t/"+won[1].Ticket.String()),
		get("private-wins", private[won[0].Ticket.String()]), get("no-ticket", "/g/drawn/t/K7QF2M9X4RTBW8ZC"),
	}
}

// Every page and error state, at every width, dark and light, with and without
// script: axe-core finds nothing, nothing is wider than the window, no other
// host is asked. With EVENHAND_PICTURES=folder each is kept as a picture.
func TestPagesInABrowser(t *testing.T) {
	r := newRig(t)
	b := browsertest.New(t)
	look(t, r, b, views(t, r))
	look(t, r, b, later(t, r))
}

func look(t *testing.T, r *rig, b *browsertest.Browser, all []view) {
	pictures := os.Getenv("EVENHAND_PICTURES")
	for _, v := range all {
		for i, width := range widths {
			for _, dark := range []bool{false, true} {
				script := (i+map[bool]int{true: 1}[dark])%2 == 0 // each width and colour meets both over all pages
				b.Script(script)
				b.SetViewport(width, 900, width < 700)
				b.Dark(dark)
				v.open(b)
				where := fmt.Sprintf("%s-%d-dark=%v-script=%v", v.name, width, dark, script)
				found, err := b.Axe()
				must(t, err)
				for _, f := range found {
					t.Errorf("%s: %s", where, f)
				}
				b.Script(true)
				if wide := browsertest.Eval[int](b, "document.documentElement.scrollWidth"); wide > width {
					t.Errorf("%s: the page is %d wide", where, wide)
				}
				if pictures != "" {
					b.Screenshot(filepath.Join(pictures, where+".png"))
				}
			}
		}
	}
	for _, asked := range b.Requests() {
		if !strings.HasPrefix(asked, r.server.URL+"/") {
			t.Errorf("a page asked for %s", asked)
		}
	}
}

// A person enters, is asked about a near miss, takes the offer, and sees the
// ticket; with and without script.
func TestEnterInABrowser(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	b := browsertest.New(t)
	for _, script := range []bool{true, false} {
		b.Script(script)
		b.Open(r.server.URL + "/g/boots")
		fill(b, fmt.Sprintf("robin%v@exmaple.com", script))
		if got := b.Submit("#f-email"); got != 422 {
			t.Fatalf("script %v: the near miss has status %d", script, got)
		}
		if focus := browsertest.Eval[string](b, "document.activeElement.id"); script && focus != "faults" {
			t.Errorf("the summary does not have the focus: %q has", focus)
		}
		if got := b.Value("#f-size"); got != "10.5" {
			t.Errorf("the size typed is gone: %q", got)
		}
		if got := b.Submit(`button[name=take]`); got != 200 {
			t.Fatalf("script %v: the offer has status %d", script, got)
		}
		if got := b.Text(".address"); got != fmt.Sprintf("robin%v@example.com", script) {
			t.Errorf("the address is %q", got)
		}
		if got := b.Follow(`a[href$="/fix"]`); got != 200 {
			t.Fatalf("fix it: status %d", got)
		}
		b.Clear("#f-email")
		b.Type("#f-email", fmt.Sprintf("robyn%v@example.com", script))
		if got := b.Submit("#f-email"); got != 200 || b.Text("h1") != "You are in." {
			t.Errorf("after the fix: status %d, %q", got, b.Text("h1"))
		}
		if at, err := url.Parse(b.Location()); err != nil || !strings.HasPrefix(at.Path, "/g/boots/r/") {
			t.Errorf("the address is %s", b.Location())
		}
	}
}

// With script, lines that don't matter are out of the way until they do.
func TestScriptHidesWhatIsNotNeeded(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots")
	for _, c := range []struct {
		live          string
		state, friend bool
	}{{"", false, false}, {"US", true, false}, {"DE", false, true}, {"FR", false, false}, {"DE", false, true}} {
		const choose = `(() => { const s = document.querySelector("#f-live"); s.value = "%s"; s.dispatchEvent(new Event("change")); return 1 })()`
		browsertest.Eval[int](b, fmt.Sprintf(choose, c.live))
		for id, want := range map[string]bool{"f-state": c.state, "f-friend": c.friend} {
			if got := browsertest.Eval[bool](b, fmt.Sprintf(`document.querySelector("#%s").checkVisibility()`, id)); got != want {
				t.Errorf("living in %q: %s is shown %v, want %v", c.live, id, got, want)
			}
		}
	}
	// a friend's tick brings the country, and asks for the state at once
	for _, friend := range []bool{true, false} {
		b.Click("#f-friend")
		sent := browsertest.Eval[string](b, `document.querySelector("#f-ship").value`)
		asked := browsertest.Eval[bool](b, `document.querySelector("#f-ship_state").checkVisibility()`)
		if first := browsertest.Eval[string](b, `document.querySelector("#f-ship_state").options[0].text`); (first == "Choose …") != friend {
			t.Errorf("with a friend %v the list of states begins with %q", friend, first)
		}
		if asked != friend || (sent == "US") != friend {
			t.Errorf("with a friend %v it goes to %q, and the state is asked %v", friend, sent, asked)
		}
	}
	if got := b.Text("time"); !strings.Contains(got, "New York time") {
		t.Errorf("the time reads %q", got)
	}
}
