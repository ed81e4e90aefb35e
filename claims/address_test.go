package claims

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// facts is the part of testdata/facts/postal.json that these tests read; its
// sources stand in postal.md beside it.
type facts struct {
	Codes []struct{ Code, Name, Kind string }
	Units []struct {
		Word, Abbr string
		Needs      bool `json:"needs_number"`
	} `json:"secondary_units"`
	Directionals map[string]string
	Suffixes     map[string]string `json:"street_suffixes"`
	Carriers     struct {
		Rows []struct {
			Kind    string
			Private any `json:"private_carriers"`
		}
	}
	Canada struct {
		Checks [][2]any
	}
	ZIPCases  []factCase `json:"zip_state_cases"`
	LineCases []factCase `json:"address_line_cases"`
}

type factCase struct{ ID, ZIP, State, Line, Expect, Reason string }

func loadFacts(t *testing.T) facts {
	t.Helper()
	text, err := os.ReadFile("../testdata/facts/postal.json")
	if err != nil {
		t.Fatal(err)
	}
	var f facts
	if err := json.Unmarshal(text, &f); err != nil {
		t.Fatal(err)
	}
	for name, n := range map[string]int{"codes": len(f.Codes), "units": len(f.Units), "directionals": len(f.Directionals),
		"suffixes": len(f.Suffixes), "carriers": len(f.Carriers.Rows), "checks": len(f.Canada.Checks),
		"zip cases": len(f.ZIPCases), "line cases": len(f.LineCases)} {
		if n == 0 {
			t.Fatalf("postal.json: no %s", name)
		}
	}
	return f
}

// anywhere are terms that send everywhere.
func anywhere() giveaway.Terms {
	return giveaway.Terms{Channel: "Slow Miles", Sponsor: "Larkspur Trail Supply", Carriers: giveaway.CarriersPost,
		Region: eligibility.Region{AlaskaHawaii: true, Territories: true, Military: true, FreelyAssociated: true}}
}

// usAddress is a plain address in a state, with what military post needs.
func usAddress(state, zip string) Address {
	a := Address{Lines: []string{"12 Elm St"}, City: "Springfield", State: state, Postal: zip, Country: "US"}
	if slices.Contains(militaryStates, state) {
		a.Lines, a.City = []string{"PSC 802 Box 74"}, "APO"
	}
	return a
}

// fields lists the fields of problems or doubts.
func fields(p []Problem) string {
	var all []string
	for _, one := range p {
		all = append(all, one.Field)
	}
	return strings.Join(all, " ")
}

func questionFields(t Tidy) string {
	var all []string
	for _, q := range t.Questions {
		all = append(all, q.Field)
	}
	return strings.Join(all, " ")
}

// Source: testdata/facts/postal.json, zip_state_cases and case_verdicts: a
// mismatch is a question, an unassigned prefix a warning, a malformed code a
// field error.
func TestZIPAndState(t *testing.T) {
	for _, c := range loadFacts(t).ZIPCases {
		tidy, problems := CheckAddress(usAddress(c.State, c.ZIP), anywhere())
		want := map[string][3]int{"match": {0, 0, 0}, "mismatch": {0, 1, 0}, "unassigned": {0, 0, 1}, "malformed": {1, 0, 0}}[c.Expect]
		got := [3]int{len(problems), len(tidy.Questions), len(tidy.Warnings)}
		if got != want {
			t.Errorf("%s: %q in %s: got %v problems, questions, warnings; want %v (%s)", c.ID, c.ZIP, c.State, got, want, c.Reason)
		}
		if len(problems)+len(tidy.Questions) > 0 && !strings.HasPrefix(fields(problems)+questionFields(tidy), "postal") {
			t.Errorf("%s: asked about %s", c.ID, fields(problems)+questionFields(tidy))
		}
	}
	tidy, _ := CheckAddress(usAddress("AZ", "99501"), anywhere())
	q := tidy.Questions[0]
	if q.Text != "ZIP 99501 is in Alaska; you wrote AZ. Which is right?" || q.Offers[0].Values["state"] != "AK" {
		t.Errorf("got %+v", q)
	}
}

// Source: testdata/facts/postal.json, address_line_cases; what carriers reach
// from its carriers.rows.
func TestAddressLines(t *testing.T) {
	f := loadFacts(t)
	unreached := map[string]bool{}
	for _, r := range f.Carriers.Rows {
		unreached[r.Kind] = r.Private == false
	}
	for _, c := range f.LineCases {
		for _, carriers := range []string{"", giveaway.CarriersPost, giveaway.CarriersPrivate} {
			terms := anywhere()
			terms.Carriers = carriers
			a := usAddress("NY", "10001")
			if strings.HasPrefix(c.Expect, "military") {
				a = usAddress("AE", "09021")
			}
			a.Lines = []string{c.Line}
			tidy, problems := CheckAddress(a, terms)
			if string(tidy.Kind) != c.Expect || len(problems) > 0 {
				t.Errorf("%s: %q: got %s, problems %v, want %s (%s)", c.ID, c.Line, tidy.Kind, problems, c.Expect, c.Reason)
			}
			asked := len(tidy.Questions) > 0
			want := c.Expect == "ambiguous_hash" ||
				carriers == giveaway.CarriersPrivate && (unreached[strings.TrimSuffix(c.Expect, "_ship")] || c.Expect == "rural_route") ||
				carriers == "" && (c.Expect == "po_box" || c.Expect == "general_delivery")
			// A street without a number is asked about whatever the carrier.
			if !strings.ContainsAny(c.Line, "0123456789") && c.Expect == "street" {
				want = true
			}
			if asked != want {
				t.Errorf("%s: %q, carriers %q: asked %v, want %v: %v", c.ID, c.Line, carriers, asked, want, tidy.Questions)
			}
		}
	}
}

// A PO Box comes out in one form, whatever it was called. Source:
// testdata/facts/postal.md, section 5; leading zeros of a box can matter.
func TestBoxLabel(t *testing.T) {
	for _, c := range loadFacts(t).LineCases {
		if c.Expect != "po_box" {
			continue
		}
		number := c.Line[strings.LastIndexByte(c.Line, ' ')+1:]
		if got := labelLine(c.Line); got != "PO BOX "+number {
			t.Errorf("%s: %q: got %q", c.ID, c.Line, got)
		}
	}
	if got := labelLine("post office box 007"); got != "PO BOX 007" {
		t.Errorf("got %q", got)
	}
}

// The tables against testdata/facts/postal.json (Publication 28, Appendices C1
// and C2), and each suffix, unit and directional in a line.
func TestShortForms(t *testing.T) {
	f := loadFacts(t)
	if len(suffixes) != len(f.Suffixes) || len(directionals) != len(f.Directionals) {
		t.Errorf("got %d suffixes and %d directionals, want %d and %d", len(suffixes), len(directionals), len(f.Suffixes), len(f.Directionals))
	}
	for long, short := range f.Suffixes {
		if got := labelLine("12 Elm " + strings.ToLower(long)); got != "12 ELM "+short {
			t.Errorf("%s: got %q", long, got)
		}
	}
	for long, short := range f.Directionals {
		if got := labelLine("12 " + long + " Elm St."); got != "12 "+short+" ELM ST" {
			t.Errorf("%s before: got %q", long, got)
		}
		if got := labelLine("12 Elm Street " + long); got != "12 ELM ST "+short {
			t.Errorf("%s after: got %q", long, got)
		}
		if got := labelLine("12 " + long + " Street"); got != "12 "+long+" ST" {
			t.Errorf("%s alone: got %q", long, got)
		}
	}
	for _, u := range f.Units {
		line, want := "12 Elm Street, "+u.Word, "12 ELM ST "+u.Abbr
		if u.Needs {
			line, want = line+" 4b", want+" 4B"
		}
		if got := labelLine(line); got != want {
			t.Errorf("%s: got %q, want %q", u.Word, got, want)
		}
	}
}

// Lines of the facts' own text and section 234.2 (two suffix words: only the
// last); house names and streets that look like something else stay.
func TestLabelLines(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"12 Elm Avenue Court", "12 ELM AVENUE CT"},            // 234.2
		{"789 main avenue drive", "789 MAIN AVENUE DR"},        // 234.2
		{"77 N Highway 101 Apt 4B", "77 N HIGHWAY 101 APT 4B"}, // ADR-25
		{"123 1/2 Elm St Rear", "123 1/2 ELM ST REAR"},         // ADR-26
		{"12 Boxwood Ct", "12 BOXWOOD CT"},                     // ADR-22
		{"1 Post Office Sq", "1 POST OFFICE SQ"},               // ADR-23
		{"RR 2 Box 152", "RR 2 BOX 152"},
		{"psc 802 box 74", "PSC 802 BOX 74"},
		{"10 Main Street PMB 234", "10 MAIN ST PMB 234"},
		{"12 Elm Street Building 2 Apartment 4", "12 ELM ST BLDG 2 APT 4"},
		{"12 Elm St. Apt. # 4", "12 ELM ST APT 4"},
		{"12 Elm Street #4", "12 ELM ST # 4"},
		{"P.O. Box #45", "PO BOX 45"}, // common practice, no source
		{"RR 2 Box #152", "RR 2 BOX 152"},
		{"5 Box Elder Lane # 3", "5 BOX ELDER LN # 3"},
		{"Apartment 4B", "APT 4B"},
		{"The Old Mill", "THE OLD MILL"},
		{"12 North East Street", "12 NORTH EAST ST"}, // nobody knows which belongs to the name
		{"12 O'Hara Lane", "12 OHARA LN"},
		{"39.2 Road Lane", "39.2 ROAD LN"},
		{"112-10 Bronx Road", "112-10 BRONX RD"},
		{"12 Broadway", "12 BROADWAY"},
		{"12 Avenue", "12 AVENUE"},
	} {
		if got := labelLine(c.typed); got != c.want {
			t.Errorf("%q: got %q, want %q", c.typed, got, c.want)
		}
		if got := labelLine(c.want); got != c.want {
			t.Errorf("%q again: got %q", c.want, got)
		}
	}
}

func TestWholeLabels(t *testing.T) {
	for _, c := range []struct {
		a    Address
		want string
	}{
		{Address{[]string{"12 Elm Street", "Apartment 4b"}, "St. Paul", "Minnesota", "551011234", "usa"}, "12 ELM ST\nAPT 4B\nST PAUL MN  55101-1234\nUNITED STATES"},
		{Address{[]string{"Calle Sol 5"}, "Ponce", "", "00716", "PR"}, "CALLE SOL 5\nPONCE PR  00716\nUNITED STATES"},
		{Address{[]string{"PSC 802 Box 74"}, "apo", "AE", "09021", "US"}, "PSC 802 BOX 74\nAPO AE  09021\nUNITED STATES"},
		{Address{[]string{"5 Lagoon Road"}, "Palikir", "", "96941", "FM"}, "5 LAGOON RD\nPALIKIR FM  96941\nMICRONESIA"},
		{Address{[]string{"10 rue des Érables"}, "Québec", "QC", "g1r2b5", "CA"}, "10 RUE DES ÉRABLES\nQUÉBEC QC  G1R 2B5\nCANADA"},
		{Address{[]string{"Ahornweg 3"}, "Köln", "", "50667", "DE"}, "Ahornweg 3\nKöln\n50667\nGERMANY"},
	} {
		tidy, problems := CheckAddress(c.a, anywhere())
		if got := strings.Join(tidy.Lines, "\n") + "\n" + tidy.Country; got != c.want || len(problems) > 0 {
			t.Errorf("got %q, problems %v\nwant %q", got, problems, c.want)
		}
	}
}

// Source: testdata/facts/postal.md, sections 1 and 5 (DMM 703.2.2.1).
func TestMilitary(t *testing.T) {
	for _, c := range []struct {
		name, line, city, state, zip, asks string
	}{
		{"whole", "CMR 1250 Box 9", "APO", "AE", "09021", ""},
		{"ship", "USS Example", "FPO", "AP", "96601", ""},
		{"diplomatic", "Unit 2050 Box 4190", "DPO", "AE", "09702", ""},
		{"dots", "Unit 2050 Box 4190", "A.P.O.", "AE", "09702", ""},
		{"a town", "CMR 1250 Box 9", "Stuttgart", "AE", "09021", "city"},
		{"a state", "CMR 1250 Box 9", "APO", "NY", "09021", "postal state"},
		{"a street", "12 Elm St", "APO", "AE", "09021", "line1"},
		{"only the line", "PSC 802 Box 74", "Springfield", "NY", "10001", "line1"},
		{"another post's code", "PSC 802 Box 74", "APO", "AP", "09021", "postal"},
	} {
		a := Address{Lines: []string{c.line}, City: c.city, State: c.state, Postal: c.zip, Country: "US"}
		tidy, problems := CheckAddress(a, anywhere())
		if got := questionFields(tidy); got != c.asks || len(problems) > 0 {
			t.Errorf("%s: asks about %q, problems %v, want %q", c.name, got, problems, c.asks)
		}
	}
}

// Source: testdata/facts/postal.json, canada.checks; the first letter from
// section 8 of postal.md.
func TestCanada(t *testing.T) {
	for _, c := range loadFacts(t).Canada.Checks {
		code, valid := c[0].(string), c[1].(bool)
		a := Address{Lines: []string{"12 Elm St"}, City: "Ottawa", State: "ON", Postal: code, Country: "CA"}
		if _, problems := CheckAddress(a, anywhere()); (fields(problems) == "") != valid {
			t.Errorf("%q: problems %v, valid %v", code, problems, valid)
		}
	}
	a := Address{Lines: []string{"12 Elm St"}, City: "Ottawa", State: "pq", Postal: "K1A 0B1", Country: "CA"}
	tidy, problems := CheckAddress(a, anywhere())
	if len(problems) > 0 || len(tidy.Questions) != 1 || tidy.Questions[0].Text != "Postal code K1A 0B1 is in Ontario; you wrote QC. Which is right?" {
		t.Errorf("got %+v, %v", tidy.Questions, problems)
	}
}

// Every code of testdata/facts/postal.json is a state of the form; the ones
// with an ISO country code of their own give the same label either way
// (postal.md, section 7).
func TestStatesEitherWay(t *testing.T) {
	for _, code := range loadFacts(t).Codes {
		a := usAddress(code.Code, "10001")
		_, problems := CheckAddress(a, anywhere())
		if len(problems) > 0 {
			t.Errorf("%s: %v", code.Code, problems)
		}
		if code.Kind != "territory" && code.Kind != "freely_associated_state" {
			continue
		}
		other := a
		other.Country, other.State = code.Code, ""
		one, _ := CheckAddress(a, anywhere())
		two, _ := CheckAddress(other, anywhere())
		if !slices.Equal(one.Lines, two.Lines) || one.Country != two.Country || len(one.Questions) != len(two.Questions) {
			t.Errorf("%s: got %+v and %+v", code.Code, one, two)
		}
	}
}

func TestAddressFields(t *testing.T) {
	good := usAddress("NY", "10001")
	with := func(edit func(*Address)) Address { a := good; a.Lines = slices.Clone(a.Lines); edit(&a); return a }
	for _, c := range []struct {
		name     string
		a        Address
		problems string
		asks     string
	}{
		{"good", good, "", ""},
		{"nothing", Address{}, "country line1 city", ""},
		{"no state", with(func(a *Address) { a.State = "" }), "state", ""},
		{"no such state", with(func(a *Address) { a.State = "XX" }), "state", ""},
		{"no such country", with(func(a *Address) { a.Country = "Atlantis" }), "country", ""},
		{"Canadian code", with(func(a *Address) { a.Postal = "K1A 0B1" }), "postal", ""},
		{"long line", with(func(a *Address) { a.Lines[0] = "1 " + strings.Repeat("x", 70) }), "line1", ""},
		{"four lines", with(func(a *Address) { a.Lines = []string{"1 Road", "two", "three", "four"} }), "line3", ""},
		{"hidden mark", with(func(a *Address) { a.City = "Spring\u202efield" }), "city", ""},
		{"control", with(func(a *Address) { a.Lines[0] = "12 Elm\x07 St" }), "line1", ""},
		{"no number", with(func(a *Address) { a.Lines[0] = "Elm St" }), "", "line1"},
		{"number below", with(func(a *Address) { a.Lines = []string{"The Old Mill", "12 Elm St"} }), "", ""},
		{"flat without number", with(func(a *Address) { a.Lines[0] = "12 Elm St Apt" }), "", "line1"},
		{"flat on its line", with(func(a *Address) { a.Lines = append(a.Lines, "Suite") }), "", "line2"},
		{"# below", with(func(a *Address) { a.Lines = append(a.Lines, "# 456") }), "", "line2"},
		{"APT # below", with(func(a *Address) { a.Lines = append(a.Lines, "Apt # 4") }), "", ""},
		{"# in a box", with(func(a *Address) { a.Lines[0] = "PO Box # 5" }), "", ""},
		{"box below", with(func(a *Address) { a.Lines = append(a.Lines, "PO Box 5") }), "", ""},
	} {
		tidy, problems := CheckAddress(c.a, anywhere())
		if fields(problems) != c.problems || questionFields(tidy) != c.asks {
			t.Errorf("%s: problems %v, asks %+v", c.name, problems, tidy.Questions)
		}
	}
}

// What the terms leave out is refused beside the field.
func TestTermsLeaveOut(t *testing.T) {
	terms := anywhere()
	terms.Region = eligibility.Region{Ship: []string{"US"}, NotShip: []string{"US-NY"}}
	for _, c := range []struct {
		a     Address
		field string
	}{
		{usAddress("NJ", "07001"), ""},
		{usAddress("NY", "10001"), "state"},
		{usAddress("AE", "09021"), "state"},
		{usAddress("HI", "96801"), "state"},
		{Address{[]string{"5 Elm St"}, "Ponce", "", "00716", "PR"}, "country"},
		{Address{[]string{"5 Elm St"}, "Ottawa", "ON", "K1A 0B1", "CA"}, "country"},
	} {
		if _, problems := CheckAddress(c.a, terms); fields(problems) != c.field {
			t.Errorf("%s %s: got %v, want %q", c.a.Country, c.a.State, problems, c.field)
		}
	}
}

func FuzzCheckAddress(f *testing.F) {
	f.Add("12 Elm St # 4", "Springfield", "NY", "10001", "US")
	f.Add("PO Box 5", "APO", "AE", "09021", "US")
	f.Add("APT #", "#", "", "K1A0B1", "CA")
	f.Fuzz(func(t *testing.T, line, city, state, postal, country string) {
		form := Form{Line1: line, City: city, State: state, Postal: postal, Country: country}
		tidy, problems := CheckAddress(form.Address(), anywhere())
		if len(problems) > 0 {
			return
		}
		for _, l := range tidy.Lines {
			if strings.ContainsAny(l, "\n\r") || l != strings.TrimSpace(l) {
				t.Errorf("label line %q", l)
			}
		}
		if country == "US" {
			for _, l := range tidy.Lines[:len(tidy.Lines)-1] {
				if again := labelLine(l); again != l {
					t.Errorf("%q: again %q", l, again)
				}
			}
		}
	})
}
