package giveaway

import (
	"strings"
	"testing"

	"evenhand/eligibility"
)

// The rules are kept to the paragraph where they have it whole, in the written
// rules or in a text of one's own. No source outside.
func TestPromisesSkill(t *testing.T) {
	for _, c := range []struct {
		name  string
		terms Terms
		want  bool
	}{
		{"nothing", Terms{}, false},
		{"the paragraph", Terms{Paragraphs: SkillParagraph}, true},
		{"among others", Terms{Paragraphs: "Be kind.\n\n" + SkillParagraph + "\n\nHave fun."}, true},
		{"lines broken", Terms{Paragraphs: strings.ReplaceAll(SkillParagraph, ": a sum", ":\r\n  a sum")}, true},
		{"posted", Terms{Paragraphs: SkillParagraph, Rules: "# Rules", RulesWritten: true}, true},
		{"other words", Terms{Paragraphs: strings.Replace(SkillParagraph, "is asked", "may be asked", 1)}, false},
		{"a part of it", Terms{Paragraphs: SkillParagraph[:len(SkillParagraph)-1]}, false},
		{"a text of one's own without it", Terms{Paragraphs: SkillParagraph, Rules: "Mine."}, false},
		{"a text of one's own with it", Terms{Rules: "Mine.\n\n" + SkillParagraph + "\n"}, true},
	} {
		if got := c.terms.PromisesSkill(); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Who lives where decides (testdata/facts/law.md, C2), and nothing is asked that
// the rules don't say.
func TestAsksSkill(t *testing.T) {
	with := Terms{Paragraphs: SkillParagraph}
	for _, c := range []struct {
		name  string
		terms Terms
		live  eligibility.Place
		want  bool
	}{
		{"Canada", with, eligibility.Place{Country: "CA", State: "ON"}, true},
		{"Canada, no province asked", with, eligibility.Place{Country: "CA"}, true},
		{"California", with, eligibility.Place{Country: "US", State: "CA"}, false},
		{"a deleted entry", with, eligibility.Place{}, false},
		{"Canada, not in the rules", Terms{}, eligibility.Place{Country: "CA", State: "ON"}, false},
	} {
		if got := c.terms.AsksSkill(c.live); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
