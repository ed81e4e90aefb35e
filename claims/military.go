package claims

import (
	"slices"

	"evenhand/eligibility"
)

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
