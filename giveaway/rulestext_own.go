package giveaway

import (
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/sizing"
)

// A ruleSaid is one thing that a text of rules says.
type ruleSaid struct {
	kind int
	text string
}

// What a ruleSaid can be.
const (
	ruleHead = iota
	ruleSentence
	ruleItem
)

func (r *rulesPaper) saidAll(kind int, texts []string) {
	for _, text := range texts {
		r.said = append(r.said, ruleSaid{kind, text})
	}
}

// OwnRules returns of the written rules only what would read otherwise if
// something else had been chosen, as Markdown: what is worth reading before the
// terms are posted. The rest is the same for every giveaway of this kind. It is
// "" where the rules are a text of one's own.
func (t Terms) OwnRules() string {
	if t.Rules != "" && !t.RulesWritten {
		return ""
	}
	own, other := rulesPaper{t: t.marked()}, rulesPaper{t: t.otherwise()}
	own.write()
	other.write()
	return ownText(slices.DeleteFunc(own.said, func(s ruleSaid) bool { return s.kind != ruleHead && slices.Contains(other.said, s) }))
}

// ownText writes what is left, without the headings that have nothing left.
func ownText(said []ruleSaid) string {
	var b strings.Builder
	last := ruleHead
	for i, s := range said {
		switch {
		case s.kind == ruleHead && (i+1 == len(said) || said[i+1].kind == ruleHead):
			continue
		case s.kind == ruleHead:
			b.WriteString("\n## " + s.text)
		case s.kind == ruleItem && last == ruleItem:
			b.WriteString("- " + s.text)
		case s.kind == ruleItem:
			b.WriteString("\n- " + s.text)
		default:
			b.WriteString("\n" + s.text)
		}
		b.WriteByte('\n')
		last = s.kind
	}
	return strings.TrimPrefix(b.String(), "\n")
}

// otherwise are terms of the same kind with everything else chosen: each value
// another one, but for what is filled in for everybody, which is as it is
// filled in. The channel and its contact stay: they are named all over.
func (t Terms) otherwise() Terms {
	const x = "\x00"
	t.Prize, t.Sponsor, t.SponsorAddress, t.Disclosure = x, x, x, x
	t.Steps, t.Follows, t.Paragraphs, t.Draw, t.Title = x, x, x, x, x
	t.Value = where(t.Value != "", x)
	if t.Worth != nil {
		t.Worth = &Worth{Cents: t.Worth.Cents + 1, Currency: t.Worth.Currency}
	}
	for _, at := range []*Moment{&t.Opens, &t.Closes, &t.Event} {
		at.UTC = at.UTC.AddDate(1, 0, 1)
	}
	t.AnswerDays, t.LockMinutes, t.KeepDays = DefaultAnswerDays, DefaultLockMinutes, DefaultKeepDays
	if t.many() {
		t.Winners++
	}
	if t.Alternates > 0 {
		t.Alternates++
	}
	t.MinAge++
	t.Sizes, t.Region = otherSizes(t.Sizes), otherRegion(t.Region)
	t.Barred, t.Questions, t.Seconds, t.Filed = []string{x}, nil, nil, nil
	t.StepKinds, t.Carriers, t.Beacon = nil, "", BeaconQuicknet
	return t
}

func (t Terms) many() bool { return t.Winners > 1 }

// otherSizes are others; nil stays nil.
func otherSizes(s *SizeTerms) *SizeTerms {
	if s == nil {
		return nil
	}
	return &SizeTerms{Run: sizing.Run{{System: sizing.Mens, From: 1, To: 1, Step: sizing.HalfSteps, Widths: []string{"6E"}}}, Scale: 3}
}

// otherRegion adds a country that isn't there to both lists, so that they stay
// to one another as they were.
func otherRegion(r eligibility.Region) eligibility.Region {
	more := func(list []string) []string {
		if len(list) == 0 {
			return []string{"AQ"}
		}
		return append(slices.Clone(list), "AQ")
	}
	same := slices.Equal(r.Live, r.Ship)
	r.Live, r.Ship = more(r.Live), more(r.Ship)
	if !same {
		r.Ship = append(r.Ship, "BV")
	}
	r.NotLive, r.NotShip = nil, nil
	r.AlaskaHawaii, r.Territories, r.Military, r.FreelyAssociated = true, false, false, false
	return r
}
