package claims

import (
	"testing"
	"time"

	"evenhand/giveaway"
)

// Where a sum is given it counts, and the words do not (the threshold:
// testdata/facts/law.md, A7).
func TestCautionByTheSum(t *testing.T) {
	at := time.Date(2026, 12, 15, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		worth giveaway.Worth
		words string
		want  int
	}{
		{giveaway.Worth{Cents: 199999, Currency: "USD"}, "$5,000", 0},
		{giveaway.Worth{Cents: 200000, Currency: "USD"}, "$5", 1},
		{giveaway.Worth{Cents: 200000, Currency: "USD"}, "", 1},
		{giveaway.Worth{Cents: 10000, Currency: "EUR"}, "", 1}, // no sum in US dollars: in general words
	} {
		terms := bootTerms()
		terms.Value, terms.Worth = c.words, &c.worth
		if got := Caution(terms, at); len(got) != c.want {
			t.Errorf("%v: got %v", c.worth, got)
		}
	}
}
