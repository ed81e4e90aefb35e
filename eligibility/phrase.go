package eligibility

// CountryPhrase is a country's name inside a sentence: "the United States".
// "" for an unknown code.
func CountryPhrase(code string) string { return countryPhrase(code) }

// StatePhrase is a state's name inside a sentence: "New York", "the District
// of Columbia", "military addresses (APO, FPO, DPO) of the Armed Forces
// Pacific". "" for an unknown code.
func StatePhrase(country, code string) string {
	name := StateName(country, code)
	switch {
	case name == "" || country != "US":
		return name
	case isIn(military, code):
		return "military addresses (APO, FPO, DPO) of the " + name
	}
	return placeName(code, name)
}

// USParts says which parts of the United States the four switches take in and
// which they leave out, as phrases; the 48 states and DC are always in.
func (r Region) USParts() (in, out []string) {
	in = []string{"the 48 states with the District of Columbia"}
	for _, part := range []struct {
		in   bool
		what string
	}{
		{r.AlaskaHawaii, "Alaska and Hawaii"},
		{r.Territories, "the territories (American Samoa, Guam, the Northern Mariana Islands, Puerto Rico and the U.S. Virgin Islands)"},
		{r.Military, "military addresses (APO, FPO, DPO)"},
		{r.FreelyAssociated, "the Marshall Islands, Micronesia and Palau"},
	} {
		if part.in {
			in = append(in, part.what)
		} else {
			out = append(out, part.what)
		}
	}
	return in, out
}

// SomeAbroad reports whether somebody who may enter can live in a country that
// no parcel can go to; see [Region.Friend].
func (r Region) SomeAbroad() bool {
	for _, c := range byName {
		if p := (Place{Country: c.Code}); r.abroad(p) && (len(r.Live) == 0 || r.listed(r.Live, p)) {
			return true
		}
	}
	return false
}
