package web

import (
	"testing"

	"evenhand/draw"
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
