package giveaway

import (
	"strings"

	"evenhand/eligibility"
)

// SkillParagraph is the paragraph of rules that promises a skill question to a
// winner who lives in Canada. Terms that have it word for word are kept to it;
// see [Terms.AsksSkill]. Its source: testdata/facts/law.md, C2.
const SkillParagraph = "A winner who lives in Canada is asked a skill question before the prize is sent: a sum, to be answered within a limited time and without help of any kind. The prize is sent only after the right answer."

// PromisesSkill reports whether the rules of these terms have the
// [SkillParagraph], however its lines are broken.
func (t Terms) PromisesSkill() bool {
	text := t.Paragraphs
	if t.Rules != "" && !t.RulesWritten {
		text = t.Rules // a text of one's own: paragraphs are not in it
	}
	return strings.Contains(strings.Join(strings.Fields(text), " "), SkillParagraph)
}

// AsksSkill reports whether the rules put the skill question to a winner who
// lives there. Where the parcel goes makes no difference.
func (t Terms) AsksSkill(live eligibility.Place) bool {
	return live.Country == "CA" && t.PromisesSkill()
}
