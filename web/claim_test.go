package web_test

import (
	"crypto/rand"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
	"evenhand/store"
	"evenhand/vault"
)

// A claimRig is a site with a drawn giveaway and all its private pages.
type claimRig struct {
	*rig
	clerk   claims.Clerk
	private map[draw.Ticket]string
}

// newClaimRig draws a giveaway with three entries: every place is one of them.
func newClaimRig(t *testing.T, change ...func(*giveaway.Terms)) *claimRig {
	t.Helper()
	r := newLockedClaimRig(t, change...)
	r.draw("boots")
	return r
}

// newLockedClaimRig is the same before its draw.
func newLockedClaimRig(t *testing.T, change ...func(*giveaway.Terms)) *claimRig {
	t.Helper()
	r := &claimRig{rig: newRig(t), private: map[draw.Ticket]string{}}
	dir := t.TempDir()
	v, err := vault.Load(filepath.Join(dir, "master.key"), rand.Reader)
	must(t, err)
	db, err := store.Open(t.Context(), store.Config{File: filepath.Join(dir, "evenhand.db"), Vault: v})
	must(t, err)
	t.Cleanup(func() { _ = db.Close() })
	signer, err := db.Installation(t.Context(), "127.0.0.1", rand.Reader)
	must(t, err)
	r.db, r.host.Store, r.host.Outcomes, r.host.Keys = db, db, db, db
	r.intake.Store, r.intake.Signer = db, signer
	r.clerk = claims.Clerk{Store: db, Entries: db, Host: r.host, Seal: v, Rand: rand.Reader, URL: r.server.URL}
	r.config.Host, r.config.Intake, r.config.Claims, r.config.Ready = r.host, r.intake, &r.clerk, db.Ping
	r.rebuild()
	r.open("boots", change...)
	r.setTime(during)
	for _, email := range []string{"robin@example.com", "kim@example.com", "sam@example.com"} {
		private, ticket := r.enter("boots", email)
		parsed, err := draw.ParseTicket(ticket)
		must(t, err)
		r.private[parsed] = private
	}
	r.lock("boots")
	return r
}

// letter copies a place's letter and returns the path of its link.
func (r *claimRig) letter(place int) string {
	r.t.Helper()
	l, err := r.clerk.Noticed(r.t.Context(), r.now(), "boots", place)
	must(r.t, err)
	return strings.TrimPrefix(l.Link, r.server.URL)
}

// goodClaim is a claim that is accepted. The phone number is libphonenumber's
// US example.
func goodClaim() url.Values {
	return url.Values{
		"system": {"mens"}, "size": {"10.5"}, "width": {"D"}, "name": {"Rowena Quillfeather"}, "line1": {"12 Thistledown Lane"},
		"city": {"Portland"}, "state": {"ME"}, "postal": {"04101"}, "country": {"US"}, "phone": {"(201) 555-0123"}, "adult": {"yes"}, "eligible": {"yes"},
	}
}

// claimed answers for a place and confirms it, and returns the claim's path.
func (r *claimRig) claimed(place int) string {
	r.t.Helper()
	link := r.letter(place)
	r.post(link, with(goodClaim(), "sure", "yes")).is(r.t, 303)
	_, err := r.clerk.Confirm(r.t.Context(), r.now(), "boots", place)
	must(r.t, err)
	return link
}

func (r *claimRig) sponsor() string {
	r.t.Helper()
	link, err := r.clerk.SponsorLink(r.t.Context(), r.now(), "boots")
	must(r.t, err)
	return strings.TrimPrefix(link, r.server.URL)
}

// The three kinds of page are stored nowhere, named to no other page, found by
// no search (the issue: noindex, no referrers), and a wrong secret opens
// nothing, whatever is wrong with it.
func TestClaimPagesArePrivate(t *testing.T) {
	r := newClaimRig(t)
	claim := r.claimed(1)
	sponsor := r.sponsor()
	r.post(sponsor+"/1", url.Values{"mark": {"ask-address"}, "words": {"Is there a buzzer?"}}).is(t, 303)
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	ask := strings.TrimPrefix(l.Link, r.server.URL)
	for _, path := range []string{claim, sponsor, ask} {
		a := r.get(path)
		a.is(t, 200)
		for name, want := range map[string]string{"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store"} {
			if got := a.Header.Get(name); got != want {
				t.Errorf("%s: %q, want %q", name, got, want)
			}
		}
		cut := path[:strings.LastIndexByte(path, '/')+1]
		for _, wrong := range []string{"x", strings.Repeat("A", 24), path[len(cut):] + "A", path[len(cut) : len(path)-1], "%00", strings.Repeat("a", 3000)} {
			r.get(cut+wrong).is(t, 404)
			target := cut + wrong
			if cut == "/s/" {
				target += "/1"
			}
			r.post(target, goodClaim()).is(t, 404)
		}
	}
	secret := func(path string) string { return path[strings.LastIndexByte(path, '/')+1:] }
	r.get("/g/boots/c/"+secret(ask)).is(t, 404)
	r.get("/g/boots/a/"+secret(claim)).is(t, 404)
	r.get("/g/boots/c/"+secret(sponsor)).is(t, 404)
	r.get("/g/other/c/"+secret(claim)).is(t, 404)
	for _, path := range []string{claim, sponsor, ask} {
		if strings.Contains(r.logs.String(), secret(path)) {
			t.Error("a link's secret stands in the log")
		}
	}
	for _, words := range []string{"Quillfeather", "QUILLFEATHER", "Thistledown", "555-0123", "2015550123", "buzzer"} {
		if strings.Contains(r.logs.String(), words) {
			t.Errorf("the log holds %q", words)
		}
	}
	must(t, r.clerk.RevokeSponsorLink(t.Context(), r.now(), "boots"))
	a := r.get(sponsor)
	a.is(t, 410)
	a.has(t, "This link was closed.", "ask the creator who gave it to you for a new link")
	r.post(sponsor+"/1", url.Values{"mark": {"in-stock"}}).is(t, 410)
}

// Links are slowed (the issue).
func TestClaimPagesAreSlowed(t *testing.T) {
	r := newClaimRig(t)
	claim := r.letter(1)
	tight(&r.config)
	r.rebuild()
	for range 3 {
		r.get(claim).is(t, 200)
	}
	r.get(claim).is(t, 429)
	for range 3 {
		r.post(claim, url.Values{}).is(t, 422)
	}
	r.post(claim, url.Values{}).is(t, 429)
}

// A GET changes nothing, a form is shown back before it counts, counts once,
// and the page shows no address again.
func TestClaimOnce(t *testing.T) {
	r := newClaimRig(t)
	link := r.letter(1)
	for range 2 {
		r.get(link).has(t, "It fits the locked list.", `autocomplete="address-line1"`, `autocomplete="address-line2"`,
			`autocomplete="address-level1"`, `autocomplete="address-level2"`, `autocomplete="postal-code"`, `autocomplete="country"`, `autocomplete="tel"`, `autocomplete="name"`)
	}
	r.get(link+"?sure=yes&name=x").has(t, "Where should it go?")
	a := r.post(link, url.Values{})
	a.is(t, 422)
	a.has(t, `id="faults"`, `href="#f-name"`, `aria-describedby="f-name-hint f-name-fault"`, `aria-invalid="true"`)
	a = r.post(link, with(goodClaim(), "size", "10.5", "width", "4E"))
	a.is(t, 422)
	a.has(t, "Please choose one that it makes", "Rowena Quillfeather", "Take men’s 10½ 2E")
	a = r.post(link, goodClaim())
	a.is(t, 200)
	a.has(t, "Is all of this right?", "ROWENA QUILLFEATHER", "12 THISTLEDOWN LN", "PORTLAND ME  04101", "(201) 555-0123")
	r.get(link).has(t, "Where should it go?")
	r.post(link, with(goodClaim(), "sure", "yes")).is(t, 303)
	a = r.get(link)
	a.has(t, "Thank you. Your answer is here.")
	a.lacks(t, "Quillfeather", "THISTLEDOWN", "Thistledown", "04101", "555-0123")
	a = r.post(link, with(goodClaim(), "sure", "yes", "name", "Somebody Else"))
	a.is(t, 409)
	a.lacks(t, "Somebody Else", "Quillfeather", "Thistledown")
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if p.Answer == nil || p.Answer.Name != "Rowena Quillfeather" {
		t.Errorf("kept: %+v", p.Answer)
	}
}

// A size of a women's system and half a size come through the pick of an
// offer; only what the terms have can be offered.
func TestSizeThatCantBeHad(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	r.get(sponsor).has(t, "Men’s 10½, width D", "ROWENA QUILLFEATHER", "This is the person whose ticket was drawn ✓")
	r.get(sponsor).lacks(t, "@example.com")
	mark := func(want int, pairs ...string) answer {
		t.Helper()
		v := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		a := r.post(sponsor+"/1", v)
		a.is(t, want)
		return a
	}
	mark(400, "mark", "cant-have", "offer", "mens|40|D")
	mark(422, "mark", "cant-have", "offer", "womens|10.5|4E").has(t, "of those that the giveaway’s terms name", `href="#f-offers-1"`)
	mark(422, "mark", "nonsense")
	mark(422, "mark", "shipped", "carrier", "").has(t, "Please write the carrier.", `href="#f-carrier-1"`)
	mark(303, "mark", "cant-have", "offer", "mens|11|D", "offer", "mens|10|2E", "words", "Sold out.")
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	ask := strings.TrimPrefix(l.Link, r.server.URL)
	r.get(ask).has(t, "Sold out.", `value="mens|11|D"`, `value="mens|10|2E"`)
	r.post(ask, url.Values{}).is(t, 422)
	r.post(ask, url.Values{"pick": {"mens|14|D"}}).is(t, 422)
	r.post(ask, url.Values{"pick": {"mens|11|D"}}).has(t, "You take men’s 11 D instead.")
	r.post(ask, url.Values{"pick": {"mens|11|D"}, "sure": {"yes"}}).is(t, 303)
	r.post(ask, url.Values{"pick": {"none"}, "sure": {"yes"}}).is(t, 409)
	r.get(sponsor).has(t, "Men’s 11, width D", "Agreed instead: men’s 11 D")
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if want := (sizing.Size{System: sizing.Mens, Size: 22, Width: "D"}); p.Answer.Size != want {
		t.Errorf("got %v, want %v", p.Answer.Size, want)
	}
	mark(303, "mark", "shipped", "carrier", "Larkspur Post", "number", "LP 1")
	r.get(ask).is(t, 200)
	r.post("/s/"+strings.Repeat("A", 24)+"/1", url.Values{"mark": {"delivered"}}).is(t, 404)
	r.post(sponsor+"/2", url.Values{"mark": {"delivered"}}).is(t, 409)
	r.post(sponsor+"/99", url.Values{"mark": {"delivered"}}).is(t, 409)
	r.post(sponsor+"/x", url.Values{"mark": {"delivered"}}).is(t, 404)
}

// Those next in line ran out: the closed page says so, and who was skipped
// learns why and since when; a late answer gets a kind page.
func TestNobodyLeft(t *testing.T) {
	r := newClaimRig(t)
	links := map[int]string{}
	for place, reason := range []string{"", draw.NoReply, draw.Declined, draw.Ineligible} {
		if place == 0 {
			continue
		}
		links[place] = r.letter(place)
		r.setTime(r.now().Add(8 * 24 * time.Hour))
		_, err := r.clerk.Pass(t.Context(), r.now(), "boots", giveaway.Passing{Place: place, Reason: reason})
		must(t, err)
	}
	r.get("/g/boots").has(t, "The prize was not given.", "nobody is next in line any more", "skipped: the rules have it so")
	s, err := r.host.Outcome(t.Context(), "boots")
	must(t, err)
	for _, stand := range s.Places {
		r.get(r.private[stand.Ticket]).has(t, "Your place was skipped on", "2026, ")
		late := r.post(links[stand.N], with(goodClaim(), "sure", "yes"))
		late.is(t, 410)
		late.has(t, "Nothing that you send now can bring the prize back", "hello@slowmiles.example")
	}
	if report := r.report(t); report.Verdict != draw.Valid {
		t.Errorf("the check: %q %v", report.Verdict, report.Findings)
	}
}

func (r *claimRig) report(t *testing.T) draw.Report {
	t.Helper()
	return draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
}
