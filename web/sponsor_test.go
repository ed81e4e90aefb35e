package web_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/web"
)

// correct writes another street and size down, as the creator does.
func (r *claimRig) correct(place int, change func(*claims.Form)) {
	r.t.Helper()
	p, err := r.clerk.Place(r.t.Context(), r.now(), "boots", place)
	must(r.t, err)
	f := p.Answer.Typed
	change(&f)
	_, err = r.clerk.Record(r.t.Context(), r.now(), "boots", place, claims.ByPhone, f)
	must(r.t, err)
}

// hidden is what a page's first hidden field of a name carries: what was asked, or
// what a parcel shows.
func hidden(t *testing.T, a answer, name string) string {
	t.Helper()
	_, rest, found := strings.Cut(a.body, `name="`+name+`" value="`)
	value, _, _ := strings.Cut(rest, `"`)
	if !found || value == "" {
		t.Fatalf("the page carries no %q", name)
	}
	return value
}

// A tab of the sponsor from before a correction: its press is refused, and
// the page shows the new address and that it was changed; then it can be sent.
func TestStaleSponsorTab(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	old := hidden(t, r.get(sponsor), "saw")
	r.post(sponsor+"/1", url.Values{"mark": {"in-stock"}, "saw": {old}}).is(t, 303)
	old = hidden(t, r.get(sponsor), "saw")
	r.get(sponsor).has(t, "has it in stock")
	r.get(sponsor).lacks(t, "Changed since")
	r.correct(1, func(f *claims.Form) {
		f.System, f.Size, f.Width, f.Line1 = "mens", "11", "D", "77 Changed Street"
	})
	sent := url.Values{"mark": {"shipped"}, "carrier": {"Larkspur Post"}, "saw": {old}}
	a := r.post(sponsor+"/1", sent)
	a.is(t, 409)
	a.has(t, "This was changed meanwhile: look again.", "77 CHANGED ST", "The size and the address (the size was men’s 10½ D): <time",
		"had men’s 10½ D in stock", "the size is men’s 11 D now", `value="Larkspur Post"`, `value="in-stock"`)
	r.get(sponsor).lacks(t, "Shipped on", "changed meanwhile")
	sent.Set("saw", hidden(t, a, "saw"))
	r.post(sponsor+"/1", sent).is(t, 303)
	r.post(sponsor+"/1", sent).is(t, 303) // pressed twice
	r.get(sponsor).has(t, "Shipped on", "77 CHANGED ST")
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if len(p.Shipping.Marks) != 2 {
		t.Errorf("%d marks, want in stock and shipped", len(p.Shipping.Marks))
	}
}

// A stale tab neither replaces an open question nor ends it.
func TestStaleTabLeavesTheQuestion(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	old := hidden(t, r.get(sponsor), "saw")
	offer := url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D"}, "saw": {old}}
	r.post(sponsor+"/1", offer).is(t, 303)
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|10|2E"}, "saw": {old}}).is(t, 409)
	r.post(sponsor+"/1", url.Values{"mark": {"shipped"}, "carrier": {"Larkspur Post"}, "saw": {old}}).is(t, 409)
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if open := p.OpenAsks(); len(open) != 1 || open[0].Offers[0].String() != "men’s 11 D" {
		t.Errorf("open questions %+v, want the first offer", open)
	}
}

// Guessing at sponsor's links is slowed as guessing at winners' links is: both
// count against one limit of the network that asks.
func TestGuessesAreSlowed(t *testing.T) {
	r := newClaimRig(t)
	sponsor := r.sponsor()
	r.config.Limits.Private = web.Limit{Every: time.Hour, Burst: 3}
	r.rebuild()
	for i, path := range []string{"/s/", "/g/boots/c/", "/s/"} {
		r.get(path+strings.Repeat(string(rune('A'+i)), 24)).is(t, 404)
	}
	for _, path := range []string{"/s/" + strings.Repeat("D", 24), "/g/boots/c/" + strings.Repeat("D", 24), sponsor} {
		r.get(path).is(t, 429)
	}
}
