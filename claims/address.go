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

var lineFields = []string{"line1", "line2", "line3"}

func (c *addressCheck) lines() {
	if len(c.a.Lines) == 0 {
		c.problem("line1", "Please write the street and the number.")
	}
	if len(c.a.Lines) > len(lineFields) {
		c.problem("line3", "Please write three lines at most.")
		return
	}
	for i, line := range c.a.Lines {
		c.line(lineFields[i], line, "this line", maxLine, true)
	}
	c.line("city", c.a.City, "the town or city", maxPlace, true)
}

// unitedStates checks state and ZIP code, and what military addresses need.
func (c *addressCheck) unitedStates() {
	c.readState("Please choose the state.")
	v := eligibility.CheckZIP(c.state, c.a.Postal)
	switch v.Kind {
	case eligibility.ZIPMalformed:
		c.problem("postal", v.Hint)
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
		c.problem("postal", v.Hint)
	case eligibility.ZIPMismatch:
		c.mismatch("Postal code", v)
	}
	c.code = v.Tidy
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

// militaryStates and militaryCities are the last line of military post
// (testdata/facts/postal.md, section 1).
var (
	militaryStates = []string{"AA", "AE", "AP"}
	militaryCities = []string{"APO", "FPO", "DPO"}
)

func stateWords(country, code string) string {
	switch {
	case country == "US" && slices.Contains(militaryStates, code):
		return "military post"
	case country == "US" && code == "DC":
		return "the District of Columbia"
	case country == "US" && slices.Contains([]string{"VI", "MP", "MH"}, code):
		return "the " + eligibility.StateName(country, code)
	}
	return eligibility.StateName(country, code)
}

// military asks where only half of an address looks like military post: the
// city must be APO, FPO or DPO, the state AA, AE or AP, and a line must carry
// UNIT, CMR or PSC with a box, or a ship (DMM 703.2.2.1, 31 May 2015).
func (c *addressCheck) military(v eligibility.ZIPVerdict) {
	city := plain(c.a.City)
	post := slices.Contains(militaryCities, city)
	state := slices.Contains(militaryStates, c.state)
	line := slices.ContainsFunc(c.a.Lines, func(l string) bool {
		k := eligibility.KindOfLine(l)
		return k == eligibility.LineMilitary || k == eligibility.LineMilitaryShip
	})
	about := append([]string{city, c.state}, c.a.Lines...)
	switch {
	case state && !post:
		var offers []Offer
		for _, m := range militaryCities {
			offers = append(offers, Offer{Text: m, Values: map[string]string{"city": m}})
		}
		c.ask("city", "A military address has APO, FPO or DPO in place of the town. Which is yours?", about, offers...)
	case post && !state:
		var offers []Offer
		for _, owner := range v.States {
			if slices.Contains(militaryStates, owner) {
				offers = append(offers, Offer{Text: owner, Values: map[string]string{"state": owner}})
			}
		}
		c.ask("state", "Addresses at an APO, FPO or DPO have AA, AE or AP as the state; you wrote "+c.state+". Which is right?", about, offers...)
	case state && !line:
		c.ask("line1", "A military address has a line such as PSC 802 BOX 74, CMR 1250 BOX 9 or UNIT 2050 BOX 4190. Is yours whole?", about)
	case line && !state && !post:
		c.ask("line1", "This looks like a military address, but town and state are not APO, FPO or DPO with AA, AE or AP. Is it right?", about)
	}
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

// compareWithEntry asks where the address is not the one that was entered for.
func (d *decision) compareWithEntry() {
	entry := d.entry.Entry
	at := eligibility.Place{Country: d.Address.Country, State: d.Address.State}
	if was, is := eligibility.Fold(entry.Ship).Country, eligibility.Fold(at).Country; was != is && was != "" {
		d.doubt(newDoubt("country", "You entered with a parcel to "+eligibility.CountryName(was)+"; this address is in "+eligibility.CountryName(is)+". Is it right?",
			[]string{was, is}))
	}
	friend := d.terms.Region.Decide(entry.Live, at, entry.Friend || d.CareOf != "")
	switch {
	case friend.Code == eligibility.CodeAbroadWithoutFriend:
		d.problem("care_of", "Whose address is it? Please write your friend’s name, so that the carrier finds the door.")
	case entry.Friend && d.CareOf == "" && d.terms.Region.Decide(entry.Live, at, false).Code == eligibility.CodeAbroadWithoutFriend:
		d.doubt(newDoubt("care_of", "You entered with a friend’s address. Please write your friend’s name, so that the carrier finds the door.", d.Address.Lines))
	}
}
