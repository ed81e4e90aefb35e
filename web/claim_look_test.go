package web_test

import (
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
)

// longClaim is a claim with the longest real texts: a name of 40 characters,
// address lines of 60 (all that a line takes; a longer one is asked about), a
// friend of 40, each without a place to break where a person might have none.
func longClaim() url.Values {
	return with(goodClaim(), "name", "Maximiliane-Wilhelmine Donaudampferinnen", "care_of", "Hubertus-Bartholomäus Schifffahrtsmeyers",
		"line1", "12345 Donaudampfschifffahrtselektrizitaetenhauptbetriebswerk", "line2", "Apartment 4711 "+strings.Repeat("b", 45), "city", strings.Repeat("Lang", 15))
}

// claimViews are the winner's and the sponsor's pages in all their states, with
// the longest real texts and without any.
func claimViews(t *testing.T, r *claimRig) []view {
	get := func(name, path string) view {
		return view{name, func(b *browsertest.Browser) { b.Open(r.server.URL + path) }}
	}
	send := func(name, path, button string, fields url.Values) view {
		return view{name, func(b *browsertest.Browser) {
			b.Open(r.server.URL + path)
			post(b, r.server.URL+path+button, fields)
		}}
	}
	form := r.letter(1)
	views := []view{
		get("claim", form), send("claim-faults", form, "", url.Values{"name": {"x"}}), send("claim-check", form, "", longClaim()),
		send("claim-decline", form, "", url.Values{"decline": {"yes"}}),
	}
	r.post(r.letter(2), with(longClaim(), "sure", "yes")).is(t, 303)
	r.post(r.letter(3), with(goodClaim(), "sure", "yes")).is(t, 303)
	sponsor := r.sponsor()
	views = append(views, get("claim-done", r.letter(2)))
	for _, place := range []int{2, 3} {
		_, err := r.clerk.Confirm(t.Context(), r.now(), "boots", place)
		must(t, err)
	}
	r.setTime(r.now().Add(time.Minute))
	r.post(sponsor+"/2", url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D", "mens|10|2E"}, "words": {strings.Repeat("Langwort", 60)}}).is(t, 303)
	r.post(sponsor+"/3", url.Values{"mark": {"ask-address"}, "words": {"Which door?"}}).is(t, 303)
	ask := func(place, n int) string {
		l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", place, n)
		must(t, err)
		return strings.TrimPrefix(l.Link, r.server.URL)
	}
	views = append(views, get("sponsor", sponsor), get("ask-size", ask(2, 1)), send("ask-size-faults", ask(2, 1), "", url.Values{}), get("ask-address", ask(3, 1)),
		send("ask-address-check", ask(3, 1), "", longClaim()), send("sponsor-faults", sponsor, "/2", url.Values{"mark": {"shipped"}}))
	return views
}

// post sends fields as a form of the page would: it makes one and presses it.
func post(b *browsertest.Browser, address string, fields url.Values) {
	b.Script(true)
	browsertest.Eval[bool](b, `(() => { const f = document.createElement("form"); f.method = "post"; f.id = "sent"; f.action = `+quoted(address)+`;
		const v = new URLSearchParams(`+quoted(fields.Encode())+`);
		for (const [name, value] of v) { const i = document.createElement("input"); i.type = "hidden"; i.name = name; i.value = value; f.append(i) }
		const s = document.createElement("button"); f.append(s); document.body.append(f); return true })()`)
	b.Submit("#sent button")
}

func quoted(s string) string { return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"` }

// Winner's and sponsor's pages at every width, dark and light: axe-core finds
// nothing, nothing is wider than the window. With EVENHAND_PICTURES=folder each
// is kept as a picture, and the sponsor's page as it prints.
func TestClaimPagesInABrowser(t *testing.T) {
	r := newClaimRig(t, longTerms, func(x *giveaway.Terms) { x.Winners = 3 })
	b := browsertest.New(t)
	look(t, r.rig, b, claimViews(t, r))
	r.correct(3, func(f *claims.Form) { f.Width, f.Phone = "2E", "(201) 555-0124" })
	stale := url.Values{"mark": {"shipped"}, "carrier": {"Larkspur Post"}, "saw": {"1.0.0"}}
	look(t, r.rig, b, []view{{"sponsor-stale", func(b *browsertest.Browser) {
		b.Open(r.server.URL + r.sponsor())
		post(b, r.server.URL+r.sponsor()+"/3", stale)
	}}})
	late := r.letter(1)
	_, err := r.clerk.Pass(t.Context(), r.now(), "boots", giveaway.Passing{Place: 1, Reason: draw.Ineligible})
	must(t, err)
	look(t, r.rig, b, []view{{"claim-over", func(b *browsertest.Browser) { b.Open(r.server.URL + late) }}})
}

// Three winners print on two sheets, on Letter and on A4: two on one, each
// with all that a parcel has as a rule, and more: a friend's address with a
// flat, a question that was asked and left as it is, a correction, and an
// open question.
func TestSponsorsSheetPrints(t *testing.T) {
	r := newClaimRig(t, func(x *giveaway.Terms) {
		x.Winners = 3
		x.Title, x.Prize = "Win one of three pairs of hiking boots in your size.", "A pair of Larkspur Ridge hiking boots, waxed leather"
	})
	for place := 1; place <= 3; place++ {
		link := r.letter(place)
		asked := with(goodClaim(), "sure", "yes", "name", "Rowena Quillfeather-Ashdown", "care_of", "Bartholomew Thistlewood",
			"line2", "Apartment 4b", "postal", "99501") // a code of Alaska's
		r.post(link, with(asked, "seen", hidden(t, r.post(link, asked), "seen"))).is(t, 303)
		_, err := r.clerk.Confirm(t.Context(), r.now(), "boots", place)
		must(t, err)
	}
	sponsor := r.sponsor()
	r.setTime(r.now().Add(time.Minute))
	for place := 1; place <= 3; place++ {
		r.correct(place, func(f *claims.Form) { f.Phone = "(201) 555-0124" })
		r.post(sponsor+"/"+strconv.Itoa(place), url.Values{"mark": {"ask-address"}, "words": {"Which door?"}}).is(t, 303)
	}
	b := browsertest.New(t)
	b.Open(r.server.URL + sponsor)
	folder := os.Getenv("EVENHAND_PICTURES")
	if folder == "" {
		folder = t.TempDir()
	}
	for name, print := range map[string]func(string){"letter": b.PDF, "a4": b.A4} {
		file := filepath.Join(folder, "sponsor-three-"+name+".pdf")
		print(file)
		data, err := os.ReadFile(file)
		must(t, err)
		// PDF 32000-1, 7.7.3.3: each page is an object of this type.
		if got := strings.Count(string(data), "/Type /Page\n") + strings.Count(string(data), "/Type /Page\r"); got != 2 {
			t.Errorf("%s: the sheet has %d pages, want 2", name, got)
		}
	}
}
