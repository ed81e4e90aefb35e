package web_test

import (
	"net/url"
	"strings"
	"testing"

	"evenhand/claims"
)

// The same answer from a second tab is the answer; another one is not taken,
// and the page says so and what to do.
func TestSecondTabIsNotTaken(t *testing.T) {
	r := newClaimRig(t)
	link := r.letter(1)
	first := with(goodClaim(), "sure", "yes")
	r.post(link, first).is(t, 303)
	again := r.post(link, first)
	again.is(t, 409)
	again.has(t, "<h1>Thank you. Your answer is here.</h1>")
	other := with(goodClaim(), "line1", "99 Elsewhere Road")
	for _, form := range []url.Values{other, with(other, "sure", "yes"), {"decline": {"yes"}}} {
		a := r.post(link, form)
		a.is(t, 409)
		a.has(t, "<h1>This second answer was not taken.</h1>", "that one counts. Nothing that you sent now is kept. To change something, write to")
		a.lacks(t, "Elsewhere", "Thank you")
	}
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if p.Answer.Address.Lines[0] != goodClaim().Get("line1") {
		t.Errorf("kept is %q", p.Answer.Address.Lines)
	}
}

// A question in whose place another came: its page says so, and not that
// nobody waits. The first answer to a question stands, too.
func TestNewerQuestion(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	ask := func(n int) string {
		t.Helper()
		l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, n)
		must(t, err)
		return strings.TrimPrefix(l.Link, r.server.URL)
	}
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D"}}).is(t, 303)
	old := ask(1)
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|10|2E", "mens|11|D"}}).is(t, 303)
	a := r.get(old)
	a.is(t, 410)
	a.has(t, "Another question came in place of this one.", "the parcel waits for your answer to that. Slow Miles sends you the link to it")
	a.lacks(t, "Nobody waits")
	r.post(ask(2), url.Values{"pick": {"none"}}).is(t, 200)
	fresh := ask(2)
	r.post(fresh, url.Values{"pick": {"mens|11|D"}, "sure": {"yes"}}).is(t, 303)
	a = r.post(fresh, url.Values{"pick": {"none"}, "sure": {"yes"}})
	a.is(t, 409)
	a.has(t, "This second answer was not taken.", "Agreed instead: men’s 11 D.")
	r.get(old).has(t, "This question is settled.", "Nobody waits for an answer to it any more.")
}

// The winner's page leads with how it stands.
func TestClaimPageHeadings(t *testing.T) {
	r := newClaimRig(t)
	link := r.claimed(1)
	sponsor := r.sponsor()
	r.get(link).has(t, "<h1>Thank you. The prize is yours.</h1>")
	r.post(sponsor+"/1", url.Values{"mark": {claims.MarkShipped}, "carrier": {"Larkspur Post"}}).is(t, 303)
	r.get(link).has(t, "<h1>Your prize is on its way.</h1>", "Shipped on")
	r.post(sponsor+"/1", url.Values{"mark": {claims.MarkDelivered}}).is(t, 303)
	r.get(link).has(t, "<h1>Your prize was delivered.</h1>")
}
