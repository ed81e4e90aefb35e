package giveaway

import (
	"strings"
	"testing"
)

// The own part of written rules holds all that was chosen and nothing that the
// whole text lacks, and it is short. What was chosen is what the test's terms
// say; no source outside.
func TestOwnRules(t *testing.T) {
	for name, terms := range rulesTerms() {
		posted := terms.WithRules(postedAt)
		own := posted.OwnRules()
		for line := range strings.Lines(own) {
			if line = strings.TrimSpace(line); line != "" && !strings.Contains(posted.Rules, line) {
				t.Errorf("%s: the whole text lacks %q", name, line)
			}
		}
		for _, want := range chosenWords(terms) {
			if !strings.Contains(own, want) && !strings.Contains(own, mark(want)) {
				t.Errorf("%s: %q is not among what was chosen:\n%s", name, want, own)
			}
		}
		for _, same := range []string{"Entering is free.", "All tickets on the list have the same chance.", "No list of names or addresses is published.", "The draw is made so that anybody can check it:"} {
			if strings.Contains(own, same) || !strings.Contains(posted.Rules, same) {
				t.Errorf("%s: %q is no choice of anybody’s", name, same)
			}
		}
	}
	plain := rulesTerms()["plain"].WithRules(postedAt)
	if own, all := len(strings.Fields(plain.OwnRules())), len(strings.Fields(plain.Rules)); own == 0 || own > all/3 {
		t.Errorf("%d words of %d are one’s own", own, all)
	}
	plain.Rules, plain.RulesWritten = "Our own text.", false
	if got := plain.OwnRules(); got != "" {
		t.Errorf("of a text of one’s own: %q", got)
	}
}

func chosenWords(t Terms) []string {
	words := []string{t.PrizeWithin(), t.Sponsor, t.SponsorAddress, t.Disclosure, t.Opens.Words(), t.Closes.Words(), t.Event.Words(), t.Steps}
	if t.Worth != nil {
		words = append(words, t.Worth.Words())
	}
	for _, q := range t.Questions {
		words = append(words, q.Label)
	}
	for _, s := range t.Seconds {
		words = append(words, s.Who)
	}
	if t.Sizes != nil {
		words = append(words, sizeLines(*t.Sizes)...)
	}
	if t.Beacon == BeaconNone {
		words = append(words, "No public number goes into the draw.")
	}
	if t.MinAge > 0 {
		words = append(words, "You must be "+counted(t.MinAge, "or", "or")+" over")
	}
	for _, b := range t.Barred {
		if !IsAddress(b) {
			words = append(words, capitalized(b))
		}
	}
	return append(words, places(t.Region.Live, t.Region.NotLive), strings.TrimSpace(strings.Split(t.Paragraphs, "\n")[0]))
}
