package eligibility

import (
	"slices"
	"strings"
)

// State is one state, province, territory or military code of the US or
// Canada, with the name that pages show.
type State struct{ Code, Name string }

// The US codes: USPS Publication 28, Appendix B. Freely associated states are
// countries of their own that the US post serves under a two-letter code.
var (
	mainStates = splitStates(`AL Alabama|AZ Arizona|AR Arkansas|CA California|CO Colorado|CT Connecticut|DE Delaware|DC District of Columbia|FL Florida|GA Georgia|ID Idaho|IL Illinois|IN Indiana|IA Iowa|KS Kansas|KY Kentucky|LA Louisiana|ME Maine|MD Maryland|MA Massachusetts|MI Michigan|MN Minnesota|MS Mississippi|MO Missouri|MT Montana|NE Nebraska|NV Nevada|NH New Hampshire|NJ New Jersey|NM New Mexico|NY New York|NC North Carolina|ND North Dakota|OH Ohio|OK Oklahoma|OR Oregon|PA Pennsylvania|RI Rhode Island|SC South Carolina|SD South Dakota|TN Tennessee|TX Texas|UT Utah|VT Vermont|VA Virginia|WA Washington|WV West Virginia|WI Wisconsin|WY Wyoming`)

	farStates   = splitStates(`AK Alaska|HI Hawaii`)
	territories = splitStates(`AS American Samoa|GU Guam|MP Northern Mariana Islands|PR Puerto Rico|VI U.S. Virgin Islands`)
	military    = splitStates(`AA Armed Forces Americas|AE Armed Forces Europe, Middle East, Africa, Canada|AP Armed Forces Pacific`)
	associated  = splitStates(`FM Micronesia|MH Marshall Islands|PW Palau`)

	// Canada Post's symbols; ISO 3166-2 is "CA-" and the symbol.
	provinces = splitStates(`AB Alberta|BC British Columbia|MB Manitoba|NB New Brunswick|NL Newfoundland and Labrador|NS Nova Scotia|NT Northwest Territories|NU Nunavut|ON Ontario|PE Prince Edward Island|QC Quebec|SK Saskatchewan|YT Yukon`)

	stateLists = map[string][]State{
		"US": slices.Concat(sortStates(slices.Concat(mainStates, farStates)), territories, military, associated),
		"CA": provinces,
	}
)

func splitStates(data string) []State {
	var list []State
	for item := range strings.SplitSeq(data, "|") {
		code, name, _ := strings.Cut(item, " ")
		list = append(list, State{code, name})
	}
	return list
}

func sortStates(list []State) []State {
	slices.SortFunc(list, func(a, b State) int { return strings.Compare(a.Name, b.Name) })
	return list
}

// States lists what a form offers for a country: for US the states and DC by
// name, then territories, military post and freely associated states; for CA
// the provinces and territories; nil for every other country.
func States(country string) []State { return slices.Clone(stateLists[country]) }

// StateName is the name for a code within US or CA, "" for an unknown one.
func StateName(country, code string) string {
	for _, s := range stateLists[country] {
		if s.Code == code {
			return s.Name
		}
	}
	return ""
}

func isIn(list []State, code string) bool {
	return slices.ContainsFunc(list, func(s State) bool { return s.Code == code })
}

// oldStates maps codes and names that still get typed (from memory).
var oldStates = map[string]string{
	"CA nf": "NL", "CA pq": "QC", "CA newfoundland": "NL", "CA yukonterritory": "YT",
	"US washingtondc": "DC", "US virginislands": "VI", "US virginislandsus": "VI", "US federatedstatesofmicronesia": "FM",
}

// ParseState reads a state of US or CA as a person writes it: code in any case
// or name, also "US-NY". Empty text gives "" without error, since many terms
// don't ask. For a country without a list it gives "". The error is an *InputError.
func ParseState(country, text string) (string, error) {
	list := stateLists[country]
	folded := foldName(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(text)), country+"-"))
	if list == nil || folded == "" {
		return "", nil
	}
	if code := oldStates[country+" "+folded]; code != "" {
		return code, nil
	}
	for _, s := range list {
		if strings.ToLower(s.Code) == folded || foldName(s.Name) == folded {
			return s.Code, nil
		}
	}
	return "", &InputError{"state", "We don’t know that state. Use its two letters or its full name."}
}

// Place is where somebody lives or where a parcel goes, in codes as chosen:
// ISO 3166-1 alpha-2, and for US and CA the state or "" where it was not asked.
type Place struct {
	Country string `json:"country"`
	State   string `json:"state,omitempty"`
}

// Fold gives the one form in which places compare. A US territory chosen as a
// country becomes US with that state; a freely associated state chosen as a US
// state becomes the country that it is. A state is dropped where the country
// has no list. (testdata/facts/postal.md, section 7)
func Fold(p Place) Place {
	switch {
	case isIn(territories, p.Country):
		return Place{"US", p.Country}
	case p.Country == "US" && isIn(associated, p.State):
		return Place{Country: p.State}
	case stateLists[p.Country] == nil:
		return Place{Country: p.Country}
	}
	return p
}
