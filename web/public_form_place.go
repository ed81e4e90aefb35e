package web

import (
	"slices"
	"strings"

	"evenhand/eligibility"
)

// places makes the fields for where the entrant lives and where the parcel
// goes. Without script all that the terms may need stand there.
func (p *entryPage) places(r eligibility.Region, st formState) {
	p.Live = st.text("live", "Where you live", "", st.Form.Live, "country")
	p.Live.Groups = liveGroups(st.Form.Live, r.Live)
	p.Live.Needed = true
	if countries := statesNeeded(r.LiveStateNeeded); len(countries) > 0 {
		p.State = stateField(st, "state", "State", st.Form.State, "address-level1", countries, outside(countries))
	}
	home := r.Ship
	if len(home) != 1 || len(r.Live) != 1 || home[0] != r.Live[0] {
		ship := st.shipChosen(r)
		f := st.text("ship", "Where to send it", "", ship, "shipping country")
		f.Groups = countryGroups(ship, "To where I live", r.Ship)
		p.Ship = &f
	}
	if countries := statesNeeded(r.ShipStateNeeded); len(countries) > 0 && p.Ship != nil {
		p.ShipState = stateField(st, "ship_state", "State to send it to", st.Form.ShipState, "shipping address-level1", countries,
			"the same, or not needed")
	}
	if r.Friend && someAbroad(r) {
		f := st.tick("friend", "A friend in "+friendPlace(r.Ship)+" can receive it for me.",
			"If you live where the parcel can’t go, tick this: without such a friend you can’t enter. You only name them if you win.", st.Form.Friend)
		p.Friend = &f
	}
}

// shipChosen is the country that the form names for the parcel; for somebody
// abroad with a friend, the one that it can go to.
func (st formState) shipChosen(r eligibility.Region) string {
	f := st.Form
	if st.Sent && f.Ship == "" && f.Friend != "" && r.Friend && len(r.Ship) == 1 && f.Live != "" && !slices.Contains(r.Ship, f.Live) {
		return r.Ship[0]
	}
	return f.Ship
}

// someAbroad reports whether somebody may live in a country that the parcel
// can't go to.
func someAbroad(r eligibility.Region) bool {
	return len(r.Ship) > 0 && (len(r.Live) == 0 || slices.ContainsFunc(r.Live, func(country string) bool {
		return !slices.Contains(r.Ship, country)
	}))
}

func friendPlace(ship []string) string {
	if len(ship) == 1 {
		return countryIn(ship[0])
	}
	return "a country that the parcel can go to"
}

// statesNeeded lists the countries whose state the terms ask for.
func statesNeeded(needed func(string) bool) []string {
	return slices.DeleteFunc([]string{"US", "CA"}, func(c string) bool { return !needed(c) })
}

func outside(countries []string) string {
	names := make([]string, len(countries))
	for i, c := range countries {
		names[i] = countryIn(c)
	}
	return "not in " + strings.Join(names, " or ")
}

func stateField(st formState, name, label, value, auto string, countries []string, none string) *field {
	f := st.text(name, label, "", value, auto)
	f.Groups = options(value, option{"", none, false})
	for _, c := range countries {
		g := group{Label: eligibility.CountryName(c)}
		for _, s := range eligibility.States(c) {
			g.Options = append(g.Options, option{s.Code, s.Name, s.Code == value})
		}
		f.Groups = append(f.Groups, g)
	}
	return &f
}

// countryGroups lists countries by name; only those given, if any are.
func countryGroups(chosen, none string, only []string) []group {
	list := []option{{"", none, chosen == ""}}
	for _, c := range eligibility.Countries() {
		if len(only) == 0 || slices.Contains(only, c.Code) {
			list = append(list, option{c.Code, c.Name, c.Code == chosen})
		}
	}
	return []group{{Options: list}}
}

// liveGroups lists the countries where people may live first, and then all
// others, so that whoever lives there is told why it can't be.
func liveGroups(chosen string, may []string) []group {
	all := countryGroups(chosen, "Choose …", nil)[0].Options
	if len(may) == 0 {
		return []group{{Options: all}}
	}
	first, rest := group{Label: "Where entries are taken"}, group{Label: "Other countries"}
	for _, o := range all[1:] {
		if slices.Contains(may, o.Value) {
			first.Options = append(first.Options, o)
		} else {
			rest.Options = append(rest.Options, o)
		}
	}
	return []group{{Options: all[:1]}, first, rest}
}
