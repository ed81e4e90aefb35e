package web

import (
	"fmt"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// factsOf writes terms out for the person who is about to post them.
func factsOf(t giveaway.Terms) []fact {
	facts := []fact{
		{"Heading", t.Title}, {"Prize", t.Prize}, {"From", t.Sponsor},
		{"Entries start", timeWords(t.Opens)}, {"Entries close", timeWords(t.Closes)}, {"The draw", timeWords(t.Event)},
		{"Winners", number(int64(t.Winners)) + ", and " + many(int64(t.Alternates), "more next in line", "more next in line")},
		{"People may live in", places(t.Region.Live)}, {"It can be sent to", places(t.Region.Ship)},
	}
	if t.MinAge > 0 {
		facts = append(facts, fact{"Least age", fmt.Sprint(t.MinAge)})
	}
	if t.Sizes != nil {
		facts = append(facts, fact{"Sizes", sizeWords(t)})
	}
	number := "one goes into the draw; nobody here can know it before its time"
	if t.Beacon == giveaway.BeaconNone {
		number = "none"
	}
	return append(facts, fact{"A public number", number})
}

func places(codes []string) string {
	if len(codes) == 0 {
		return "any country"
	}
	names := make([]string, len(codes))
	for i, code := range codes {
		names[i] = eligibility.CountryName(code)
	}
	return strings.Join(names, ", ")
}

func sizeWords(t giveaway.Terms) string {
	var parts []string
	for _, r := range t.Sizes.Run {
		parts = append(parts, fmt.Sprintf("%s %s to %s in %s", r.System.Shown(), r.From.Shown(), r.To.Shown(), strings.Join(r.Widths, ", ")))
	}
	return strings.Join(parts, "; ")
}

// deskKnow says before the draw why it will be weak; nil where it won't be.
func deskKnow(g giveaway.Giveaway) []string {
	o := g.Opening
	if g.State == giveaway.StateDraft && g.Terms.Beacon != giveaway.BeaconNone {
		return nil
	}
	return weakOpening(o)
}
