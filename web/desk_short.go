package web

import (
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// mostNamed is how many countries or states a line under the video names;
// where there are more the rules name them.
const mostNamed = 5

// shortFacts say in a line each what people ask under a video: what there is to
// win, who may enter, where it goes.
func shortFacts(t giveaway.Terms) []string {
	prize := "the prize: " + t.Prize
	if worth := t.ValueWords(); worth != "" {
		prize += ", worth " + worth
	}
	if sizes := shortSizes(t.Sizes); sizes != "" {
		prize += "; in " + sizes
	}
	return []string{prize, "who may enter: " + shortWho(t), shortShip(t.Region)}
}

// shortShip: "it can be sent to the United States; if you live elsewhere, a friend
// there can receive it for you".
func shortShip(r eligibility.Region) string {
	ship := "it can be sent " + shortPlaces("to", "anywhere", r.Ship, r.NotShip)
	if !r.AlaskaHawaii && (len(r.Ship) == 0 || slices.Contains(r.Ship, "US")) {
		ship += ", but not to Alaska or Hawaii"
	}
	if r.Friend && r.SomeAbroad() {
		ship += "; if you live elsewhere, a friend there can receive it for you"
	}
	return ship
}

// shortWho: "people aged 18 or over who live in the United States or Canada".
func shortWho(t giveaway.Terms) string {
	who := "people "
	if t.MinAge > 0 {
		who += "aged " + number(int64(t.MinAge)) + " or over "
	}
	return who + "who live " + shortPlaces("in", "anywhere", t.Region.Live, t.Region.NotLive)
}

// shortPlaces names countries behind a word, and the states that are left out.
func shortPlaces(before, all string, codes, without []string) string {
	words := all
	switch {
	case len(codes) > mostNamed:
		words = before + " one of " + number(int64(len(codes))) + " countries, which the rules name"
	case len(codes) > 0:
		words = before + " " + joined(phrases(codes, eligibility.CountryPhrase), "or")
	}
	if len(without) > mostNamed {
		return words + ", without some states, which the rules name"
	}
	if len(without) > 0 {
		words += ", without " + joined(phrases(without, statePhrase), "and")
	}
	return words
}

func statePhrase(code string) string {
	country, state, _ := strings.Cut(code, "-")
	return eligibility.StatePhrase(country, state)
}

func phrases(codes []string, phrase func(string) string) []string {
	all := make([]string, len(codes))
	for i, code := range codes {
		all[i] = phrase(code)
	}
	return all
}

// joined puts a word before the last of several.
func joined(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	end := len(words) - 1
	return strings.Join(words[:end], ", ") + " " + last + " " + words[end]
}

// shortSizes says which sizes there are, for men and for women, with their
// gaps: the form says of each in which widths.
func shortSizes(s *giveaway.SizeTerms) string {
	if s == nil {
		return ""
	}
	var parts []string
	for _, system := range s.Run.Systems() {
		parts = append(parts, "US "+system.Shown()+" "+numbersWords(stretches(s.Run.Numbers(system))))
	}
	return strings.Join(parts, "; ")
}

// numbersWords: "7 to 12 with halves, 13, 14".
func numbersWords(all []sizing.Range) string {
	words := make([]string, len(all))
	for i, g := range all {
		words[i] = stretchWords(g)
	}
	return strings.Join(words, ", ")
}

func stretchWords(g sizing.Range) string {
	switch {
	case g.From == g.To:
		return g.From.Shown()
	case g.Step == sizing.WholeSteps && g.To-g.From == 2:
		return g.From.Shown() + ", " + g.To.Shown()
	case g.Step == sizing.WholeSteps:
		return fromTo(g) + " without halves"
	}
	words := fromTo(g) + " with halves"
	if len(g.Except) > 0 {
		words += " but not " + joined(shownAll(g.Except), "or")
	}
	return words
}

func fromTo(g sizing.Range) string {
	if g.From == g.To {
		return g.From.Shown()
	}
	return g.From.Shown() + " to " + g.To.Shown()
}

func shownAll(all []sizing.Half) []string {
	words := make([]string, len(all))
	for i, one := range all {
		words[i] = one.Shown()
	}
	return words
}
