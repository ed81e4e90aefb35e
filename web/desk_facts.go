package web

import (
	"fmt"
	"strings"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// factsOf writes out all that binds once the terms are posted, but the
// rules: every field of the terms that says anything.
func factsOf(t giveaway.Terms) []fact {
	facts := []fact{{"Heading", t.Title}, {"Prize", t.Prize}}
	add := func(name, text string) {
		if text != "" {
			facts = append(facts, fact{name, text})
		}
	}
	add("Worth", t.Value)
	if t.Worth != nil {
		together := ""
		if t.Winners > 1 {
			together = ", together " + t.Total().Words()
		}
		add("Retail value", t.Worth.Words()+together)
	}
	add("Channel", t.Channel)
	add("Who sends the prize", t.Sponsor)
	add("Their address", t.SponsorAddress)
	add("Who gave it", t.Disclosure)
	add("Contact", t.Host)
	add("Entries start", startWords(t))
	add("Entries close", timeWords(t.Closes))
	add("The draw", timeWords(t.Event))
	add("List locks itself", lockWords(t))
	add("Winners", number(int64(t.Winners))+", and "+many(int64(t.Alternates), "more next in line", "more next in line"))
	add("Time to answer", count(int64(t.AnswerDays), "day", "days"))
	facts = append(facts, whoFacts(t)...)
	add("Sizes", sizeWords(t))
	if t.Sizes != nil {
		add("Women’s scale", "for the same foot, "+t.Sizes.Scale.String())
	}
	add("Your own steps", t.Steps)
	for _, q := range t.Questions {
		add("Question", questionWords(q))
	}
	number := "one goes into the draw; nobody here can know it before its time"
	if t.Beacon == giveaway.BeaconNone {
		number = "none"
	}
	add("A public number", number)
	for _, s := range t.Seconds {
		add("A second secret", "from "+s.Who)
	}
	add("In place of", t.Follows)
	add("Personal data", "are deleted within "+count(int64(t.DaysKept()), "day", "days")+" after the prizes arrived, or it ended in another way; the site does that by itself")
	if len(t.Filed) > 0 {
		add("Filed in", named(t.Filed, func(code string) string { return eligibility.StateName("US", code) }))
	}
	return facts
}

// lockWords say when the list of a giveaway that is not posted yet will lock
// itself.
func lockWords(t giveaway.Terms) string {
	early := count(int64(t.LockMinutes), "minute", "minutes")
	minutes := time.Duration(t.LockMinutes) * time.Minute
	at := lockAt(t)
	if at.Equal(t.Closes.UTC) {
		if t.Event.UTC.Sub(at) < minutes {
			early = "fewer than " + early
		}
		return "as soon as entries have closed, " + early + " before the draw; so there is no time to look through the entries and to lock it by hand"
	}
	return stamp("", at, t.Event.Zone).Words + " (" + early + " before the draw), if nobody has locked it by then"
}

// lockAt is when the list of terms will lock itself.
func lockAt(t giveaway.Terms) time.Time {
	return giveaway.LockTime(t.Closes.UTC, t.Event.UTC, time.Duration(t.LockMinutes)*time.Minute)
}

// whoFacts say who can win, and where the prize can go.
func whoFacts(t giveaway.Terms) []fact {
	r := t.Region
	facts := []fact{{"People may live in", places(r.Live, r.NotLive)}, {"It can be sent to", places(r.Ship, r.NotShip)}, {"“US” takes in", usWords(r)}}
	friend := "nobody can receive it for somebody who lives elsewhere"
	if r.Friend {
		friend = "can receive it for somebody who lives elsewhere"
	}
	facts = append(facts, fact{"A friend there", friend})
	switch t.Carriers {
	case giveaway.CarriersPost:
		facts = append(facts, fact{"Sent by", "the country’s post, which reaches PO Boxes"})
	case giveaway.CarriersPrivate:
		facts = append(facts, fact{"Sent by", "others than the post; as a rule they don’t reach PO Boxes"})
	}
	age := "not asked"
	if t.MinAge > 0 {
		age = number(int64(t.MinAge)) + " years"
	}
	facts = append(facts, fact{"Least age", age})
	facts = append(facts, barredFacts(t.Barred)...)
	if t.BarredTick {
		facts = append(facts, fact{"A tick for that", "everybody who enters says that they are none of these"})
	}
	return facts
}

// namedBarred is about those who can't win and are shown to everybody.
const namedBarred = "Who can’t win"

// barredFacts part what is shown to everybody from addresses, which nobody sees.
func barredFacts(barred []string) (facts []fact) {
	var people, addresses []string
	for _, one := range barred {
		if giveaway.IsAddress(one) {
			addresses = append(addresses, one)
		} else {
			people = append(people, strings.TrimSuffix(capitalized(one), ".")+".")
		}
	}
	if len(people) > 0 {
		facts = append(facts, fact{namedBarred, strings.Join(people, " ")})
	}
	if len(addresses) > 0 {
		facts = append(facts, fact{"Addresses that can’t win", strings.Join(addresses, ", ") + " (shown to nobody)"})
	}
	return facts
}

// usWords say what “US” means in the lists of countries.
func usWords(r eligibility.Region) string {
	in, out := []string{"the 48 states and DC"}, []string{}
	for _, one := range []struct {
		in   bool
		what string
	}{
		{r.AlaskaHawaii, "Alaska and Hawaii"}, {r.Territories, "Puerto Rico and the other territories"},
		{r.Military, "military post"}, {r.FreelyAssociated, "the freely associated states"},
	} {
		if one.in {
			in = append(in, one.what)
		} else {
			out = append(out, one.what)
		}
	}
	words := strings.Join(in, ", ")
	if len(out) > 0 {
		words += "; not " + strings.Join(out, ", not ")
	}
	return words
}

func questionWords(q giveaway.Question) string {
	words := q.Label
	if len(q.Choices) > 0 {
		words += " (" + strings.Join(q.Choices, ", ") + ")"
	}
	if q.Required {
		return words + "; has to be answered"
	}
	return words + "; may stay empty"
}

// places names countries, and the states that are left out.
func places(codes, without []string) string {
	words := "any country"
	if len(codes) > 0 {
		words = named(codes, eligibility.CountryName)
	}
	if len(without) == 0 {
		return words
	}
	return words + "; without " + named(without, func(code string) string {
		country, state, _ := strings.Cut(code, "-")
		return eligibility.StateName(country, state)
	})
}

func named(codes []string, name func(string) string) string {
	return strings.Join(phrases(codes, name), ", ")
}

// sizeWords lists the sizes: "men’s 7 to 14 in half sizes, without 13½; widths D, 2E".
func sizeWords(t giveaway.Terms) string {
	if t.Sizes == nil {
		return ""
	}
	var parts []string
	for _, r := range t.Sizes.Run {
		words := fmt.Sprintf("%s %s to %s in %s sizes", r.System.Shown(), r.From.Shown(), r.To.Shown(), r.Step)
		if r.From == r.To {
			words = r.System.Shown() + " " + r.From.Shown()
		}
		for i, e := range r.Except {
			words += []string{", without ", ", "}[min(i, 1)] + e.Shown()
		}
		parts = append(parts, words+", widths "+strings.Join(r.Widths, ", "))
	}
	return capitalized(strings.Join(parts, "; "))
}

// deskKnow says before the draw why it will be weak; nil where it won't be.
func deskKnow(g giveaway.Giveaway) []string {
	o := g.Opening
	if g.State == giveaway.StateDraft && g.Terms.Beacon != giveaway.BeaconNone {
		return nil
	}
	return weakOpening(o)
}
