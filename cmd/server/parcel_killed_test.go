package main

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// Each step from the letter to the parcel is pressed while the process is
// killed, as by a power cut, after waits from nothing up to longer than the
// press takes. After each restart what is published holds; pressing again comes
// to the step's end, once.
func TestKilledInClaims(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		p := newProcess(t, database)
		p.claim()
		p.bring("boots", `"min_age"`, `"answer_days": 7, "min_age"`)
		enterSome(t, p.service, 8)
		p.setClock(closes.Add(time.Minute))
		p.goes("/desk/g/boots", "/desk/g/boots/lock")
		p.setClock(event.Add(10 * time.Second))
		p.goes("/desk/g/boots/result", "/desk/g/boots/draw")

		const place = "/desk/g/boots/place/1"
		p.killedIn(t, "GET", place)
		letter := claimLinks.FindString(p.get(place).body)
		p.killedIn(t, "POST", place+"/copied")
		if again := claimLinks.FindString(p.get(place).body); again != letter || letter == "" {
			t.Fatalf("the letter's link was %q and is %q", letter, again)
		}
		p.killedIn(t, "POST", letter, append([]string{"sure", "yes"}, claimFields...)...)
		p.shows(place, "The answer is here.", strings.ToUpper(planted.name))
		p.killedIn(t, "POST", place+"/confirm")
		p.shows(place, "This ticket gets the prize.")
		p.killedIn(t, "POST", "/desk/g/boots/sponsor")
		sponsor := claimLinks.FindString(p.get("/desk/g/boots/sponsor").body)
		p.killedIn(t, "POST", sponsor+"/1", "mark", "cant-have", "offer", "mens|11|D")
		p.killedIn(t, "POST", place+"/ask/1/copied")
		page := p.get(place).body
		ask := claimLinks.FindString(page)
		if n := strings.Count(page, "The sponsor asks"); n != 1 {
			t.Errorf("%d questions stand on the place's page, want 1", n)
		}
		p.killedIn(t, "POST", ask, "pick", "mens|11|D", "sure", "yes")
		p.shows(sponsor, "Men’s 11, width D", "Agreed instead: men’s 11 D.")
		p.killedIn(t, "POST", sponsor+"/1", "mark", "shipped", "carrier", "Larkspur Post", "number", "LP 1")
		p.shows(place, "Larkspur Post, number LP 1")
		holds(t, p.service, 0, 1)
		p.killedIn(t, "POST", place+"/skip", "reason", "declined", "given_back", "yes", "sent", "yes")
		holds(t, p.service, 1, 0)
		p.shows("/desk/g/boots/place/2", "The letter to the winner is ready.")
	})
}

// killedIn makes a request while the process is killed, and at last once more.
// What the first try did already may be said then: 409.
func (p *process) killedIn(t *testing.T, method, path string, pairs ...string) {
	p.t.Helper()
	body := ""
	for i := 0; i < len(pairs); i += 2 {
		body += "&" + url.QueryEscape(pairs[i]) + "=" + url.QueryEscape(pairs[i+1])
	}
	kind := ""
	if method == "POST" {
		kind = "application/x-www-form-urlencoded"
	}
	send := func(v *visitor) (answer, error) { return v.try(method, path, kind, strings.TrimPrefix(body, "&")) }
	for _, wait := range []time.Duration{0, 2 * time.Millisecond, 8 * time.Millisecond, 40 * time.Millisecond} {
		done, v := make(chan struct{}), p.visitor
		go func() { _, _ = send(v); close(done) }() // the connection breaks as a rule
		time.Sleep(wait)
		p.kill()
		<-done
		p.setClock(p.clock.now().Add(time.Second))
		p.run()
		if r := check(t, p.service, "boots"); r.Verdict != draw.Valid {
			p.t.Fatalf("a kill %v into %s %s: %q %v", wait, method, path, r.Verdict, r.Findings)
		}
	}
	a, err := send(p.visitor)
	must(p.t, err)
	if a.status != 200 && a.status != 303 && a.status != 409 {
		p.t.Fatalf("%s %s after the kills: status %d: %s", method, path, a.status, textOf(a.body))
	}
}
