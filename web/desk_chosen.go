package web

import (
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// chosenFacts are the lines that only this creator chose, few enough to be read
// before the terms are posted. [factsOf] has all that binds.
func chosenFacts(t giveaway.Terms) []fact {
	var facts []fact
	add := func(name, text string) {
		if text != "" {
			facts = append(facts, fact{name, text})
		}
	}
	add("The prize", prizeLine(t))
	add("Who sends it", strings.TrimSuffix(joinFilled(", ", t.Sponsor, t.SponsorAddress), ".")+". "+t.Disclosure)
	add("Questions go to", t.Host)
	add("Sizes", sizeWords(t))
	add("Entries", "From "+startWords(t)+" to "+timeWords(t.Closes))
	add("The draw", timeWords(t.Event)+lockShort(t))
	add("Who can win", whoLine(t))
	if r := t.Region; len(r.Live) == 0 || slices.Contains(append(slices.Clone(r.Live), r.Ship...), "US") {
		add("Of the United States", usWords(r))
	}
	add("Winners", winnersLine(t))
	for _, f := range barredFacts(t.Barred) {
		if f.Name == namedBarred && t.BarredTick {
			f.Text += " Everybody who enters ticks that they are none of these."
		}
		facts = append(facts, f)
	}
	add("Its page", "“"+t.Title+"”, with the short name "+t.Draw+", which can’t be changed later")
	add("You ask", askedLine(t))
	add("More", ownLine(t))
	return facts
}

// joinFilled joins what is not empty.
func joinFilled(sep string, words ...string) string {
	var filled []string
	for _, w := range words {
		filled = appendFilledText(filled, w)
	}
	return strings.Join(filled, sep)
}

func prizeLine(t giveaway.Terms) string {
	each := ""
	if t.Winners > 1 {
		each = number(int64(t.Winners)) + " of them"
	}
	return joinFilled("; ", t.Prize, each, worthLine(t))
}

func worthLine(t giveaway.Terms) string {
	switch {
	case t.Worth == nil:
		return t.Value
	case t.Winners > 1:
		return t.Worth.Words() + " each, together " + t.Total().Words()
	}
	return t.Worth.Words()
}

// startWords say when entries start.
func startWords(t giveaway.Terms) string {
	if t.StartsAtPosting() {
		return "the moment you post it"
	}
	return timeWords(t.Opens)
}

// lockShort says when the list locks itself: by its clock alone, where that is
// on the day of the draw.
func lockShort(t giveaway.Terms) string {
	at, event := lockAt(t), t.Event.UTC
	if at.Equal(t.Closes.UTC) {
		return ". The list locks itself when entries close"
	}
	if zone, err := giveaway.LoadZone(t.Event.Zone); err == nil {
		at, event = at.In(zone), event.In(zone)
	}
	return ". The list locks itself at the latest " + at.Format(lockLayout(at, event))
}

func whoLine(t giveaway.Terms) string {
	who := "People "
	if t.MinAge > 0 {
		who += "of " + number(int64(t.MinAge)) + " or over "
	}
	who += "in " + placesWithin(t.Region.Live, t.Region.NotLive) + ". It can be sent to " + placesWithin(t.Region.Ship, t.Region.NotShip)
	if t.Region.SomeAbroad() && t.Region.Friend {
		who += "; somebody who lives elsewhere names a friend there"
	}
	return who
}

// placesWithin are [places] inside a sentence: "the United States or Canada".
func placesWithin(codes, without []string) string {
	if len(codes) == 0 {
		return places(codes, without)
	}
	words := joined(phrases(codes, eligibility.CountryPhrase), "or")
	return words + strings.TrimPrefix(places(codes, without), places(codes, nil))
}

func winnersLine(t giveaway.Terms) string {
	return number(int64(t.Winners)) + ", and " + number(int64(t.Alternates)) + " next in line; each has " + count(int64(t.AnswerDays), "day", "days") +
		" to answer. Data are deleted " + count(int64(t.DaysKept()), "day", "days") + " after the end"
}

// askedLine are the creator's own steps and questions.
func askedLine(t giveaway.Terms) string {
	words := []string{t.Steps}
	for _, q := range t.Questions {
		words = append(words, questionWords(q))
	}
	return joinFilled("; ", words...)
}

// ownLine names the rarer things that were chosen.
func ownLine(t giveaway.Terms) string {
	var words []string
	if t.Beacon == giveaway.BeaconNone {
		words = append(words, "no public number goes into the draw")
	}
	for _, s := range t.Seconds {
		words = append(words, "a second secret from "+s.Who)
	}
	switch {
	case t.Rules != "" && !t.RulesWritten:
		words = append(words, "a text of rules of your own")
	case !blankText(t.Paragraphs):
		words = append(words, "paragraphs of your own: "+beginnings(t.Paragraphs))
	}
	if t.Follows != "" {
		words = append(words, "in place of "+t.Follows)
	}
	return strings.Join(words, "; ")
}

// mostBegun is how many letters of a paragraph tell it from others.
const mostBegun = 60

// beginnings are paragraphs by their first words: “If the winner lives …”.
func beginnings(text string) string {
	var words []string
	for _, p := range strings.Split(text, "\n\n") {
		p = strings.Join(strings.Fields(p), " ")
		if first := strings.TrimRight(cut(p, mostBegun), " "); first != p {
			if at := strings.LastIndex(first, " "); at > 0 {
				first = first[:at]
			}
			p = first + " …"
		}
		if p != "" {
			words = append(words, "“"+p+"”")
		}
	}
	return strings.Join(words, ", ")
}
