package giveaway

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"evenhand/eligibility"
)

// who says who may enter.
func (r *rulesPaper) who() {
	t := r.t
	r.head("Who may enter")
	r.par("You may live in "+places(t.Region.Live, t.Region.NotLive)+".", r.parcelPlaces(), r.unitedStates(), r.elsewhere())
	if t.MinAge > 0 {
		r.par(fmt.Sprintf("You must be %d or over when you enter.", t.MinAge))
	} else {
		r.par("There is no least age.")
	}
	r.barred()
	r.par("The entry page asks where you live and where the parcel would go, and takes no entry from anywhere else. The giveaway is void wherever the law does not allow it.")
}

func (r *rulesPaper) parcelPlaces() string {
	g := r.t.Region
	if slices.Equal(g.Live, g.Ship) && slices.Equal(g.NotLive, g.NotShip) {
		return "The parcel can go to an address in the same places."
	}
	return "The parcel can go to an address in " + places(g.Ship, g.NotShip) + "."
}

// unitedStates says what is meant by it, where it is named.
func (r *rulesPaper) unitedStates() string {
	g := r.t.Region
	if !slices.Contains(g.Live, "US") && !slices.Contains(g.Ship, "US") {
		return ""
	}
	in, out := g.USParts()
	words := "The United States here means " + in[0]
	if len(in) > 1 {
		words += ", and " + listed(in[1:], "and")
	}
	if len(out) > 0 {
		words += "; it does not take in " + listed(out, "or")
	}
	return words + "."
}

// elsewhere says what holds for people in a country that no parcel can go to.
func (r *rulesPaper) elsewhere() string {
	g := r.t.Region
	switch {
	case !g.SomeAbroad():
		return ""
	case !g.Friend:
		return "If you live in a country that the parcel can’t go to, you can’t win, whatever other address you have."
	}
	return "If you live in a country that the parcel can’t go to, you can enter if a friend at an address where it can go receives it for you. You only name your friend if you win."
}

// MayNotWin says who may not win, for everybody to read: the creator's own
// lines, and for the addresses among them one line that names none. The entry
// page and the rules share it; it is empty where the terms leave nobody out.
func (t Terms) MayNotWin() []string {
	var people []string
	named := 0
	for _, b := range t.Barred {
		if IsAddress(b) {
			named++
		} else {
			people = append(people, capitalized(b))
		}
	}
	switch {
	case named == 1:
		people = append(people, "Whoever enters with an e-mail address that "+t.Channel+" has named beforehand")
	case named > 1:
		people = append(people, fmt.Sprintf("Whoever enters with one of the %d e-mail addresses that %s has named beforehand", named, t.Channel))
	}
	return people
}

func (r *rulesPaper) barred() {
	people := r.t.MayNotWin()
	if len(people) == 0 {
		return
	}
	r.par("These people may not win:")
	r.items(people)
	r.par(where(r.t.BarredTick, "The entry page asks you to say that you are none of those who may not win."))
}

// capitalized begins a line with a capital.
func capitalized(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}

// IsAddress reports whether one of Barred is an e-mail address, which is
// nothing to publish, and not a sentence.
func IsAddress(s string) bool {
	return strings.Contains(s, "@") && !strings.ContainsAny(s, " \t")
}

// places names countries, and the states that are taken out.
func places(list, except []string) string {
	words := "any country"
	if len(list) > 0 {
		var names []string
		for _, code := range list {
			names = append(names, eligibility.CountryPhrase(code))
		}
		words = listed(names, "or")
	}
	if len(except) > 0 {
		words += ", except " + listed(stateNames(except), "and")
	}
	return words
}

// stateNames names states, "US-NY" or, of the United States, "NY".
func stateNames(codes []string) []string {
	var names []string
	for _, code := range codes {
		country, state, found := strings.Cut(code, "-")
		if !found {
			country, state = "US", code
		}
		names = append(names, eligibility.StatePhrase(country, state))
	}
	return names
}
