package giveaway_test

import (
	"testing"

	"evenhand/giveaway"
)

// Invented prizes; the rule is common practice of English, no source.
func TestPrizeWithin(t *testing.T) {
	for prize, want := range map[string]string{
		"A pair of hiking boots": "a pair of hiking boots", "An axe": "an axe", "The red tent": "the red tent",
		"Larkspur boots": "Larkspur boots", "AX-5 lamp": "AX-5 lamp", "": "",
	} {
		if got := (giveaway.Terms{Prize: prize}).PrizeWithin(); got != want {
			t.Errorf("%q: got %q, want %q", prize, got, want)
		}
	}
}
