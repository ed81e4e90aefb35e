package eligibility

import (
	"errors"
	"testing"

	"golang.org/x/text/language"
	"golang.org/x/text/language/display"
)

// otherwise holds the names that differ from those of the Unicode CLDR data in
// the library (CLDR 32): changed since, or said more plainly.
var otherwise = map[string]string{
	"HK": "Hong Kong SAR China", "MK": "Macedonia", "MM": "Myanmar (Burma)",
	"MO": "Macau SAR China", "PS": "Palestinian Territories", "SZ": "Swaziland", "VC": "St. Vincent & Grenadines",
}

// The code list against the Unicode CLDR data in golang.org/x/text: its
// countries with a two-letter code are those of ISO 3166-1, but for codes that
// ISO only reserves and Kosovo's user-assigned one. Withdrawn codes have no name.
func TestCountries(t *testing.T) {
	reserved := map[string]bool{"AC": true, "CP": true, "DG": true, "EA": true, "IC": true, "TA": true, "XK": true, "EU": true, "EZ": true, "UN": true}
	names := display.English.Regions()
	count := 0
	for a := 'A'; a <= 'Z'; a++ {
		for b := 'A'; b <= 'Z'; b++ {
			code := string(a) + string(b)
			region, err := language.ParseRegion(code)
			iso := err == nil && region.IsCountry() && region.String() == code && region.Canonicalize() == region && !reserved[code] && names.Name(region) != ""
			if known := knownCountry(code); known != iso {
				t.Errorf("%s: known %v, ISO %v (%s)", code, known, iso, names.Name(region))
			}
			if !iso {
				continue
			}
			count++
			got, want := CountryName(code), names.Name(region)
			if foldName(got) != foldName(want) && otherwise[code] != want {
				t.Errorf("%s: %q, CLDR %q", code, got, want)
			}
		}
	}
	// Source: ISO 3166-1 has 249 officially assigned codes.
	if count != 249 || len(Countries()) != 249 {
		t.Errorf("got %d and %d countries, want 249", count, len(Countries()))
	}
	list := Countries()
	for i := range list[1:] {
		if foldName(list[i].Name) >= foldName(list[i+1].Name) {
			t.Errorf("%s stands before %s", list[i].Name, list[i+1].Name)
		}
	}
}

func TestParseCountry(t *testing.T) {
	for _, c := range Countries() {
		for _, text := range []string{c.Code, c.Name} {
			if got, err := ParseCountry(text); err != nil || got != c.Code {
				t.Errorf("%q: got %q, %v, want %s", text, got, err, c.Code)
			}
		}
	}
	for text, want := range map[string]string{
		"us": "US", " US ": "US", "U.S.A.": "US", "united states of america": "US", "UK": "GB", "England": "GB", "Cote d'Ivoire": "CI",
		"CURACAO": "CW", "Reunion": "RE", "St. Lucia": "LC", "Trinidad & Tobago": "TT", "US Virgin Islands": "VI", "Virgin Islands (U.S.)": "VI", "Türkiye": "TR", "Viet Nam": "VN", "Puerto Rico": "PR",
	} {
		if got, err := ParseCountry(text); err != nil || got != want {
			t.Errorf("%q: got %q, %v, want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "  ", "XX", "ZZ", "EU", "U2S", "Unitedd States", "Narnia", "U", "USX", "ＵＳ"} {
		got, err := ParseCountry(text)
		var input *InputError
		if got != "" || !errors.As(err, &input) || input.Sentence == "" {
			t.Errorf("%q: got %q, %v, want an InputError", text, got, err)
		}
	}
}

// Source: testdata/facts/postal.json, codes (USPS Publication 28, Appendix B)
// and canada.provinces (Canada Post).
func TestStates(t *testing.T) {
	f := loadFacts(t)
	if got, want := len(States("US")), len(f.Codes); got != want {
		t.Errorf("US: got %d codes, want %d", got, want)
	}
	kinds := map[string][]State{"territory": territories, "military": military, "freely_associated_state": associated}
	for _, c := range f.Codes {
		if StateName("US", c.Code) == "" {
			t.Errorf("no %s", c.Code)
		}
		for kind, list := range kinds {
			if isIn(list, c.Code) != (c.Kind == kind) {
				t.Errorf("%s: in the list of kind %s: %v, want kind %s", c.Code, kind, isIn(list, c.Code), c.Kind)
			}
		}
		if got, err := ParseState("US", c.Name); c.Kind != "military" && (err != nil || got != c.Code) {
			t.Errorf("%q: got %q, %v, want %s", c.Name, got, err, c.Code)
		}
	}
	if got, want := len(States("CA")), len(f.Canada.Provinces); got != want {
		t.Errorf("CA: got %d codes, want %d", got, want)
	}
	for _, p := range f.Canada.Provinces {
		if got := StateName("CA", p.Code); got != p.Name {
			t.Errorf("%s: got %q, want %q", p.Code, got, p.Name)
		}
	}
	if States("FR") != nil || States("") != nil || States("PR") != nil {
		t.Error("states for a country without a list")
	}
	States("CA")[0].Code = "ZZ"
	if StateName("CA", "AB") == "" {
		t.Error("a caller can change the list")
	}
}

func TestParseState(t *testing.T) {
	for _, c := range []struct {
		country, text, want string
		ok                  bool
	}{
		{"US", "oh", "OH", true}, {"US", "US-NY", "NY", true}, {"US", "us-ny", "NY", true}, {"US", "D.C.", "DC", true}, {"US", "New  York", "NY", true},
		{"US", "Virgin Islands", "VI", true}, {"US", "ap", "AP", true}, {"US", "", "", true}, {"CA", "Québec", "QC", true}, {"CA", "PQ", "QC", true},
		{"CA", "NF", "NL", true}, {"CA", "CA-BC", "BC", true}, {"FR", "Paris", "", true}, {"US", "ON", "", false}, {"CA", "OH", "", false},
		{"US", "Ohioo", "", false}, {"US", "O", "", false},
	} {
		got, err := ParseState(c.country, c.text)
		if got != c.want || (err == nil) != c.ok {
			t.Errorf("%s %q: got %q, %v, want %q", c.country, c.text, got, err, c.want)
		}
	}
}

func FuzzParsePlace(f *testing.F) {
	for _, text := range []string{"US", "Côte d’Ivoire", "us-ny", "Québec", "", "united states"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if code, err := ParseCountry(text); err == nil {
			for _, again := range []string{code, CountryName(code)} {
				if got, err := ParseCountry(again); err != nil || got != code {
					t.Errorf("%q: %q reads back as %q, %v", text, again, got, err)
				}
			}
		}
		for _, country := range []string{"US", "CA"} {
			code, err := ParseState(country, text)
			if err != nil || code == "" {
				continue
			}
			if got, err := ParseState(country, code); err != nil || got != code {
				t.Errorf("%q: %q reads back as %q, %v", text, code, got, err)
			}
		}
	})
}
