package web

import (
	"testing"

	"evenhand/draw"
	"evenhand/entries"
)

// Whose turn it is, with one to win: by the protocol, outcome.txt, a place
// that is passed hands its turn to the next.
func TestTurn(t *testing.T) {
	o := &draw.Outcome{Passed: []draw.Passed{{Place: 1}, {Place: 3}}}
	for place, want := range map[int]int{1: 1, 2: 1, 4: 2, 5: 3} {
		if got := turn(place, o); got != want {
			t.Errorf("place %d: turn %d, want %d", place, got, want)
		}
	}
	if got := turn(3, nil); got != 3 {
		t.Errorf("without an outcome place 3 has turn %d", got)
	}
	for place, want := range map[int][2]bool{1: {true, false}, 2: {false, false}} {
		if settled, gets := settledAs(place, o); settled != want[0] || gets != want[1] {
			t.Errorf("place %d: settled %v, gets %v", place, settled, gets)
		}
	}
}

// Who was next in line and has the turn now, against the protocol's own count of
// turns (draw.Turns): every set of passed places of six, with one to three to win.
func TestMovedUpAgainstTurns(t *testing.T) {
	const places = 6
	for winners := 1; winners <= 3; winners++ {
		for set := range 1 << places {
			o := &draw.Outcome{}
			for p := range places {
				if set&(1<<p) != 0 {
					o.Passed = append(o.Passed, draw.Passed{Place: p + 1})
				}
			}
			turns := draw.Turns{Winners: winners, Places: places, Passed: o.Passed}
			for place := 1; place <= places; place++ {
				_, has := turns.Of(place)
				if got, want := movedUp(place, winners, o), has && place > winners; got != want {
					t.Errorf("%d to win, %v passed: place %d moved up: %v, want %v", winners, o.Passed, place, got, want)
				}
			}
		}
	}
}

// What the page of a ticket that was next in line says as places before it are
// skipped; invented, no outside source for the words.
func TestInLineWords(t *testing.T) {
	skip := func(places ...int) *draw.Report {
		o := &draw.Outcome{}
		for _, p := range places {
			o.Passed = append(o.Passed, draw.Passed{Place: p})
		}
		return &draw.Report{Outcome: o}
	}
	for _, c := range []struct {
		r          *draw.Report
		head, lead string
	}{
		{nil, "This ticket came third.", "It is next in line, number 2: if a winner can’t have the prize, it goes to the next in line."},
		{skip(), "This ticket came third.", "It is next in line, number 2: if a winner can’t have the prize, it goes to the next in line."},
		{skip(1), "This ticket came third.", "It was drawn as next in line, number 2; 1 place before it was skipped, so it is number 1 now: if a winner can’t have the prize, it goes to the next in line."},
		{skip(1, 2), "This ticket came third: it is its turn now.", "It was drawn as next in line, number 2; 2 places before it were skipped."},
	} {
		head, lead := inLineWords(entries.Standing{Place: 3, Winners: 1}, "", c.r)
		if head != c.head || len(lead) != 1 || lead[0] != c.lead {
			t.Errorf("%q %q, want %q %q", head, lead, c.head, c.lead)
		}
	}
}
