package main

import (
	"strings"
	"testing"
)

// The page before posting says everything that binds (each value stands in the
// terms below; the sentences are those of the desk's own form).
func TestTermsThatBind(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	const terms = `{"draw":"boots","channel":"Slow Miles","host":"hello@slowmiles.example","title":"Win boots.","prize":"Hiking boots",
"sponsor":"Larkspur Trail Supply","value":"about $240",
"opens":{"local":"2026-08-21T12:00","zone":"America/New_York"},"closes":{"local":"2026-08-22T16:00","zone":"America/New_York"},
"event":{"local":"2026-08-22T17:40","zone":"America/New_York"},"winners":2,"alternates":3,"answer_days":5,"lock_minutes":45,
"sizes":{"run":[{"system":"mens","from":"7","to":"14","step":"half","widths":["D","2E"],"except":["13.5"]},
{"system":"womens","from":"5","to":"11","step":"whole","widths":["B"]}],"scale":4},
"region":{"live":["US","CA"],"not_live":["US-FL","CA-QC"],"ship":["US"],"not_ship":["US-NY"],"alaska_hawaii":true,"military":true,"friend":true},
"min_age":18,"carriers":"private","barred":["staff of the shop"],"steps":"Tell us your trail.",
"questions":[{"key":"trail","label":"Which trail?","kind":"choice","choices":["Long","Short"],"required":true}],
"beacon":"none","follows":"old-boots","rules":"One entry a person.\n"}`
	s.goes("/desk/g/boots", "/desk/file", "terms", terms)
	s.reads("boots")
	s.shows("/desk/g/boots/post",
		"Worth about $240", "Channel Slow Miles", "Who sends the prize Larkspur Trail Supply", "Contact hello@slowmiles.example",
		"Entries close Saturday 22 August 2026, 4:00 pm New York time", "List locks itself Saturday 22 August 2026, 4:55 pm New York time (45 minutes before the draw)", "The rules, the whole text as it will be posted",
		"Nobody else can open these links.", "start it again with the address that viewers will see:", "Winners 2, and 3 more next in line",
		"Time to answer 5 days", "People may live in United States, Canada; without Florida, Quebec", "It can be sent to United States; without New York",
		"the 48 states and DC, Alaska and Hawaii, military post; not Puerto Rico and the other territories",
		"A friend there can receive it", "don’t reach PO Boxes", "Least age 18 years", "Who can’t win Staff of the shop.",
		"Men’s 7 to 14 in half sizes, without 13½, widths D, 2E; women’s 5 to 11 in whole sizes, widths B",
		"for the same foot, a women’s number is 2 above the men’s", "Tell us your trail.",
		"Which trail? (Long, Short); has to be answered", "A public number none", "In place of old-boots", "One entry a person.",
		"This draw will hold, with one thing to know: no public number")
	if page := textOf(s.get("/desk/g/boots").body); strings.Contains(page, "The draw holds") || !strings.Contains(page, "This draw will hold") {
		t.Errorf("before the draw the desk says: %s", page)
	}
}

// An empty desk is no sample, and the first start's faults are linked.
func TestFirstPages(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	a := s.press("/desk/claim", "code", s.code, "passphrase", "short", "again", "short")
	if !strings.Contains(a.body, `<a href="#f-passphrase">Passphrase</a>: Use at least`) || !strings.Contains(a.body, `id="f-passphrase"`) {
		t.Errorf("the summary does not lead to the field: %s", textOf(a.body))
	}
	s.claim()
	if page := s.shows("/desk", "No giveaway here yet.", "load three invented giveaways"); strings.Contains(page, "open these links") || strings.Contains(page, "This giveaway is an invented sample") {
		t.Errorf("an empty desk says: %s", page)
	}
}
