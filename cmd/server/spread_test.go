package main

import (
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// The text under the video says what is so: what was moved and what stood
// there before, the list's fingerprint once it is locked, the result once it
// is drawn, and why nothing is drawn.
func TestSpreadFollows(t *testing.T) {
	const path = "/desk/g/boots/spread"
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.draft(`"rules": "Rules`, none)
	s.posts("boots")
	says := func(want, never string) {
		t.Helper()
		page := s.shows(path, want)
		if strings.Contains(page, never) {
			t.Errorf("beside %q the page says %q", want, never)
		}
	}
	says("Fixed before the first entry: – entries close Saturday 22 August 2026, 4:00 pm New York time – the draw", "moved on")
	enterSome(t, s, 5)
	s.clock.set(during.Add(time.Hour))
	s.changed("boots", "revision", "1", "closes", "2026-08-22T16:30", "event", "2026-08-22T17:40", "rules", boots)
	says("The terms have changed. Put the new text under the video.", "Fixed before the first entry")
	says("– entries close Saturday 22 August 2026, 4:30 pm New York time (moved on Friday 21 August 2026, 5:00 pm New York time; before: Saturday 22 August 2026, 4:00 pm New York time) – the draw is live, Saturday 22 August 2026, 5:40 pm New York time –", "rules were changed")
	s.changed("boots", "revision", "2", "closes", "2026-08-22T16:30", "event", "2026-08-22T17:40", "rules", boots+"Bring socks.\n")
	says("– the rules were changed on Friday 21 August 2026", "Fixed before")
	s.clock.set(closes.Add(31 * time.Minute))
	says("Entries are closed. The giveaway: ", "Enter here")
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	says("Fingerprint of the list: "+check(t, s, "boots").FreezeAt.String(), "Enter here")
	s.clock.set(event.Add(10 * time.Second))
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	says("First: ticket "+check(t, s, "boots").Places[0].Ticket.Grouped()+" Where every ticket came: ", "Enter here")
	onlyPlainWords(t, s)
}

// Every text that takes the place of another holds what must stay under the
// video: who gave the prize (16 CFR 255: said clearly where people see it),
// and the rules' address. There is one text: the page of
// the locked list shows the same.
func TestSpreadKeepsWhatMustStay(t *testing.T) {
	const given = "Larkspur Trail Supply gave me the boots."
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.draft(`"min_age": 18`, `"min_age": 18, "disclosure": "`+given+`"`)
	s.posts("boots")
	enterSome(t, s, 3)
	text := func(path, id string) string {
		t.Helper()
		_, block, found := strings.Cut(s.get(path).body, `id="`+id+`"`)
		block, _, _ = strings.Cut(block, "</textarea>")
		if !found || strings.Count(block, given) != 1 || strings.Count(block, "/g/boots/rules\n") != 1 {
			t.Errorf("%s: who gave the prize and the rules stand not once each: %s", path, block)
		}
		_, block, _ = strings.Cut(block, ">")
		return block
	}
	text("/desk/g/boots/spread", "spread")
	s.shows("/desk/g/boots/spread", "This is a trial: only this computer can open the links in the text.") // the test's address is localhost
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	if here, there := text("/desk/g/boots/lock", "post-text"), text("/desk/g/boots/spread", "spread"); here != there {
		t.Errorf("two texts for one place:\n%s\nand\n%s", here, there)
	}
	s.clock.set(event.Add(10 * time.Second))
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	text("/desk/g/boots/spread", "spread")
}

// After calling off nobody is sent to enter.
func TestSpreadCalledOff(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.draft(`"min_age": 18`, `"min_age": 18, "disclosure": "Larkspur Trail Supply gave me the boots."`)
	s.posts("boots")
	s.goes("/desk/g/boots", "/desk/g/boots/cancel", "reason", "postponed", "seen", "before")
	page := s.shows("/desk/g/boots/spread", "It was called off. Say so under the video.", "it was put off.", "Larkspur Trail Supply gave me the boots. The rules: ")
	if strings.Contains(page, "Enter here") || strings.Contains(page, "QR") {
		t.Errorf("it still leads to the entry page: %s", page)
	}
	if r := check(t, s, "boots"); r.Verdict != draw.IsCancelled {
		t.Errorf("the check: %q", r.Verdict)
	}
}
