package entries

import (
	"maps"
	"slices"
	"testing"

	"evenhand/giveaway"
)

// Counted by hand: three entries, two questions.
func TestTallies(t *testing.T) {
	questions := []giveaway.Question{
		{Key: "trail", Label: "Which trail?", Kind: giveaway.KindText},
		{Key: "long", Label: "Day or night?", Kind: giveaway.KindChoice, Choices: []string{"day", "night"}},
	}
	came := []map[string]string{{"trail": "the long way", "long": "night"}, {"long": "night"}, {"trail": "the short way"}, nil}
	for _, c := range []struct {
		from int64
		most int
		want []string
	}{{0, 50, []string{"the long way", "the short way"}}, {0, 1, []string{"the long way"}}, {1, 1, []string{"the short way"}}, {2, 9, nil}} {
		all := Tallies(questions, c.from, c.most)
		for _, answers := range came {
			for _, one := range all {
				one.See(answers)
			}
		}
		if trail := all[0]; trail.Given != 2 || trail.Empty != 2 || !slices.Equal(trail.Texts, c.want) {
			t.Errorf("from %d, most %d: text %+v, want 2 given, 2 empty, %q", c.from, c.most, trail, c.want)
		}
		if long := all[1]; long.Given != 2 || long.Empty != 2 || !maps.Equal(long.ByChoice, map[string]int64{"night": 2}) || long.Texts != nil {
			t.Errorf("choice: %+v, want 2 given, 2 empty, night 2", long)
		}
	}
}
