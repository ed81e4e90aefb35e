package claims

import (
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// CheckAddress judges an address offline and makes a label of it. Problems are
// what no parcel could be sent to: an empty field, a code that is none, a
// country that the terms leave out. Everything where a person may be right is
// a question in [Tidy].Questions. Addresses in the United States (with
// territories, military post and the freely associated states, which its post
// serves) and in Canada are looked at closely; of other countries only the
// country itself and the lengths, since no table of their forms is at hand.
//
// Sources: testdata/facts/postal.md, sections 1 to 8.
func CheckAddress(a Address, t giveaway.Terms) (Tidy, []Problem) {
	c := addressCheck{a: a, terms: t}
	c.country()
	c.lines()
	if c.postal == "" {
		return c.tidy, c.problems
	}
	switch c.postal {
	case "US":
		c.unitedStates()
	case "CA":
		c.canada()
	default:
		c.line("state", a.State, "the region", maxPlace, false)
		c.line("postal", a.Postal, "the postal code", maxCode, false)
	}
	c.kind()
	c.region()
	c.label()
	return c.tidy, c.problems
}

// An addressCheck is a check in the making.
type addressCheck struct {
	a        Address
	terms    giveaway.Terms
	chosen   string // the country's code as chosen; "" until it is known
	postal   string // the country whose post delivers: US for its territories
	state    string // its code in that post, "" if unknown
	code     string // the postal code in its one form
	tidy     Tidy
	problems []Problem
}

func (c *addressCheck) problem(field, text string, offers ...Offer) {
	c.problems = append(c.problems, Problem{Field: field, Text: text, Offers: offers})
}

func (c *addressCheck) ask(field, text string, about []string, offers ...Offer) {
	c.tidy.Questions = append(c.tidy.Questions, newDoubt(field, text, about, offers...))
}

// line checks one field and reports whether it may be used.
func (c *addressCheck) line(field, text, what string, most int, needed bool) bool {
	if words := checkText(text, what, most); words != "" {
		c.problem(field, words)
		return false
	}
	if text == "" && needed {
		c.problem(field, "Please write "+what+".")
	}
	return text != ""
}

// ownPost are the places that have an ISO country code of their own and a
// two-letter code of the US post (testdata/facts/postal.md, section 7).
var ownPost = []string{"AS", "GU", "MP", "PR", "VI", "FM", "MH", "PW"}

func (c *addressCheck) country() {
	code, err := eligibility.ParseCountry(c.a.Country)
	if err != nil {
		c.problem("country", "Please choose the country from the list.")
		return
	}
	c.chosen, c.postal = code, code
	if slices.Contains(ownPost, code) {
		c.postal = "US"
	}
}

var (
	lineFields = []string{"line1", "line2", "line3"}
	lineNames  = []string{"first", "second", "third"}
)

func (c *addressCheck) lines() {
	if len(c.a.Lines) == 0 {
		c.problem("line1", "Please write the street and the number.")
	}
	if len(c.a.Lines) > len(lineFields) {
		c.problem("line3", "Please write three lines at most.")
		return
	}
	for i, line := range c.a.Lines {
		c.line(lineFields[i], line, "the "+lineNames[i]+" line of the address", maxLine, true)
	}
	c.line("city", c.a.City, "the town or city", maxPlace, true)
}

// unitedStates checks state and ZIP code, and what military addresses need.
func (c *addressCheck) unitedStates() {
	c.readState("Please choose the state.")
	v := eligibility.CheckZIP(c.state, c.a.Postal)
	switch v.Kind {
	case eligibility.ZIPMalformed:
		c.malformed("the ZIP code", v)
	case eligibility.ZIPMismatch:
		c.mismatch("ZIP", v)
	case eligibility.ZIPUnassigned:
		c.tidy.Warnings = append(c.tidy.Warnings, "We don’t know the ZIP code "+v.Tidy+"; new ones come up now and then.")
	}
	c.code = v.Tidy
	c.military(v)
}

// canada checks province and postal code.
func (c *addressCheck) canada() {
	c.readState("Please choose the province.")
	v := eligibility.CheckPostalCode(c.state, c.a.Postal)
	switch v.Kind {
	case eligibility.ZIPMalformed:
		c.malformed("the postal code", v)
	case eligibility.ZIPMismatch:
		c.mismatch("Postal code", v)
	}
	c.code = v.Tidy
}

// malformed says what is wrong with a code, or that there is none.
func (c *addressCheck) malformed(what string, v eligibility.ZIPVerdict) {
	if c.a.Postal == "" {
		c.problem("postal", "Please write "+what+".")
		return
	}
	c.problem("postal", v.Hint)
}

// readState reads the state's code. A territory that was chosen as the
// country is its own.
func (c *addressCheck) readState(missing string) {
	if slices.Contains(ownPost, c.chosen) {
		c.state = c.chosen
		return
	}
	code, err := eligibility.ParseState(c.postal, c.a.State)
	switch {
	case err != nil:
		c.problem("state", "We don’t know that state. Please choose one from the list.")
	case code == "":
		c.problem("state", missing)
	}
	c.state = code
}

// mismatch asks which of the two is right.
func (c *addressCheck) mismatch(what string, v eligibility.ZIPVerdict) {
	var names []string
	var offers []Offer
	for _, owner := range v.States {
		name := stateWords(c.postal, owner)
		names = append(names, name)
		values := map[string]string{"state": owner}
		if c.chosen != c.postal {
			values["country"] = c.postal
		}
		offers = append(offers, Offer{Text: name + " (" + owner + ")", Values: values})
	}
	c.ask("postal", what+" "+v.Tidy+" is in "+strings.Join(names, " or ")+"; you wrote "+c.state+". Which is right?",
		[]string{v.Tidy, c.state}, offers...)
}

// region asks the terms whether a parcel can go there.
func (c *addressCheck) region() {
	state := c.state
	if c.chosen != c.postal {
		state = ""
	}
	d := c.terms.Region.DecideShip(eligibility.Place{Country: c.chosen, State: state})
	if d.OK || d.Code == eligibility.CodeStateNeeded && c.state == "" {
		return
	}
	field := "state"
	if state == "" || c.terms.Region.DecideShip(eligibility.Place{Country: c.chosen}).Code == eligibility.CodeShipRegion {
		field = "country" // no state of it would do
	}
	c.problem(field, strings.TrimSpace(d.Reason+" "+d.WayOut))
}

// normalPlace gives country and state as codes, as far as they can be read.
func normalPlace(a Address) (country, state string) {
	country, err := eligibility.ParseCountry(a.Country)
	if err != nil {
		return a.Country, a.State
	}
	if eligibility.States(country) == nil {
		return country, a.State
	}
	if code, err := eligibility.ParseState(country, a.State); err == nil {
		return country, code
	}
	return country, a.State
}
