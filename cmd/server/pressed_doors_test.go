package main

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"sync"
	"testing"
)

// broughtIn finds how many rows the day-book says a press has brought in.
var broughtIn = regexp.MustCompile(`(One|\d+) rows? of a file w`)

// doorsAtBoth brings a file and a card in, each button pressed at both servers
// at once, then again as after Back, and the page loaded again. Nothing is
// doubled: it returns how many tickets are in the draw by that, and how many
// are not.
func doorsAtBoth(t *testing.T, one, two *process) (in, out int64) {
	t.Helper()
	file := sheetHead
	for i := range 25 {
		file += sheet(fmt.Sprintf("walker%d@example.net", i))
	}
	file += sheet("Walker3@example.net") // a second one of row 5's address
	at := one.bringFile(file)
	one.goes(at+"/try", at, sheetColumns...)
	paper := url.Values{}
	for pairs := card("robin@example.net", "2026-08-21"); len(pairs) > 0; pairs = pairs[2:] {
		paper.Set(pairs[0], pairs[1])
	}
	var all sync.WaitGroup
	var mu sync.Mutex
	slips := map[string]int{}
	for i := range 24 {
		p := []*process{one, two}[i%2]
		all.Go(func() {
			a, err := p.try("POST", at+"/go", "application/x-www-form-urlencoded", "")
			if err != nil || a.status != http.StatusSeeOther || a.to != at+"/done" {
				t.Errorf("bringing it in: status %d to %q (%v): %.300s", a.status, a.to, err, textOf(a.body))
			}
		})
		all.Go(func() {
			a, err := p.try("POST", "/desk/g/boots/paper", "application/x-www-form-urlencoded", paper.Encode())
			if err != nil || a.status != http.StatusSeeOther {
				t.Errorf("the card: status %d to %q (%v): %.300s", a.status, a.to, err, textOf(a.body))
			}
			mu.Lock()
			defer mu.Unlock()
			slips[a.to]++
		})
	}
	all.Wait()
	if len(slips) != 1 {
		t.Errorf("one card became %d slips: %v", len(slips), slips)
	}
	two.goes(at+"/done", at+"/go") // after Back
	for _, p := range []*process{one, two, one} {
		p.shows(at+"/done", "25 rows of this file’s 26 are in the draw.", "One row has a ticket that is not in the draw.")
		p.shows("/desk/g/boots/entries", "Brought in from a file 26", "Typed in from cards or letters 1")
	}
	tickets := map[string]bool{}
	for _, row := range csvOf(t, two.get(at+"/tickets.csv"))[1:] {
		tickets[row[1]] = true
	}
	if len(tickets) != 26 {
		t.Errorf("%d tickets for 26 rows", len(tickets))
	}
	if again := one.press("/desk/g/boots/paper", card("robin@example.net", "2026-08-21", "once", "BBBBBBBBBBBBBBBBBBBBBB")...); again.status != http.StatusConflict {
		t.Errorf("the card typed in once more: status %d, want 409: %.300s", again.status, textOf(again.body))
	}
	brought := int64(0)
	for _, m := range broughtIn.FindAllStringSubmatch(textOf(one.get("/desk/g/boots").body), -1) {
		var n int64
		if m[1] == "One" {
			n = 1
		} else if _, err := fmt.Sscan(m[1], &n); err != nil {
			t.Fatal(err)
		}
		brought += n
	}
	if brought != 26 {
		t.Errorf("the day-book says that %d rows were brought in, want 26", brought)
	}
	return 26, 1
}
