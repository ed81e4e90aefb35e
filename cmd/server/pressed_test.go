package main

import (
	"net/http"
	"os"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
)

// pressers is how many people press a button at once, half at each server.
const pressers = 50

// Two servers, each a process of its own, on one database: 50 people press
// each button at once. All are led to the same page, and both servers serve
// the same bytes, which don't change any more.
func TestPressedAtTwoServers(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		one := &process{service: &service{clock: &clock{}, visitor: visit(t, "")}, database: database, data: t.TempDir(), relay: standIn(t)}
		one.setClock(during)
		one.run()
		t.Cleanup(one.kill)
		one.claim()
		two := &process{service: &service{clock: one.clock, visitor: visit(t, "")}, database: database, data: one.data, relay: one.relay}
		two.client.Jar = one.client.Jar // signed in at both: sessions are in the database
		two.run()
		t.Cleanup(two.kill)

		b, err := os.ReadFile("testdata/boots.json")
		must(t, err)
		two.goes("/desk/g/boots", "/desk/file", "terms", string(b))
		one.reads("boots")
		pressBoth(t, one, two, one.postAddress("boots"), "/spread")
		enterSome(t, one.service, 30)
		in, out := doorsAtBoth(t, one, two)
		one.setClock(closes.Add(time.Minute))
		pressBoth(t, one, two, "/desk/g/boots/lock", "")
		one.setClock(event.Add(10 * time.Second))
		pressBoth(t, one, two, "/desk/g/boots/draw", "/result")

		report := check(t, two.service, "boots")
		if report.Verdict != draw.Valid || report.Tickets != 30+in || report.Excluded != out {
			t.Errorf("the check: %q, %d tickets and %d not in the draw, want valid, %d and %d: %v", report.Verdict, report.Tickets, report.Excluded, 30+in, out, report.Findings)
		}
	})
}

func pressBoth(t *testing.T, one, two *process, path, to string) {
	t.Helper()
	before := one.files()
	var all sync.WaitGroup
	for i := range pressers {
		p := []*process{one, two}[i%2]
		all.Go(func() {
			a, err := p.try("POST", path, "application/x-www-form-urlencoded", "")
			if err != nil || a.status != http.StatusSeeOther || a.to != "/desk/g/boots"+to {
				t.Errorf("POST %s: status %d to %q (%v), want 303 to the giveaway: %s", path, a.status, a.to, err, textOf(a.body))
			}
		})
	}
	all.Wait()
	after := one.files()
	if len(after) <= len(before) {
		t.Errorf("POST %s published nothing: %d files before, %d after", path, len(before), len(after))
	}
	one.same(before, after, path, 0)
	for name, bytes := range two.files() {
		if after[name] != bytes {
			t.Errorf("after POST %s the two servers differ in %s", path, name)
		}
	}
	one.goes("/desk/g/boots"+to, path)
	one.same(after, one.files(), path, -1)
}
