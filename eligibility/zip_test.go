package eligibility

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
)

// facts is the part of testdata/facts/postal.json that these tests read; its
// sources stand in postal.md beside it.
type facts struct {
	Codes []struct{ Code, Name, Kind string }
	Zip   struct {
		Ranges     []factRange       `json:"prefix_ranges"`
		Exceptions map[string]string `json:"five_digit_exceptions"`
		Shared     []factRange       `json:"prefix_969"`
		Unused     []string          `json:"prefixes_not_in_use"`
	}
	Canada struct {
		FirstLetter map[string][]string `json:"first_letter"`
		Provinces   []struct{ Code, Name string }
		Checks      [][2]any
	}
	ZIPCases  []factCase `json:"zip_state_cases"`
	LineCases []factCase `json:"address_line_cases"`
}

type (
	factRange struct{ From, To, State string }
	factCase  struct{ ID, ZIP, State, Line, Expect, Reason string }
)

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
	for name, n := range map[string]int{
		"codes": len(f.Codes), "ranges": len(f.Zip.Ranges), "exceptions": len(f.Zip.Exceptions), "969": len(f.Zip.Shared),
		"unused": len(f.Zip.Unused), "first letters": len(f.Canada.FirstLetter), "provinces": len(f.Canada.Provinces),
		"checks": len(f.Canada.Checks), "zip cases": len(f.ZIPCases), "line cases": len(f.LineCases),
	} {
		if n == 0 {
			t.Fatalf("postal.json: no %s", name)
		}
	}
	return f
}

// Source: testdata/facts/postal.json, zip_state_cases.
func TestCheckZIP(t *testing.T) {
	for _, c := range loadFacts(t).ZIPCases {
		got := CheckZIP(c.State, c.ZIP)
		if string(got.Kind) != c.Expect {
			t.Errorf("%s: %q in %s: got %s, want %s (%s)", c.ID, c.ZIP, c.State, got.Kind, c.Expect, c.Reason)
		}
		if (got.Hint == "") != (got.Kind == ZIPMatch) {
			t.Errorf("%s: hint %q for %s", c.ID, got.Hint, got.Kind)
		}
	}
}

// Every prefix from 000 to 999 against testdata/facts/postal.json: the ranges,
// and the list of prefixes not in use, which was made apart from them.
func TestEveryPrefix(t *testing.T) {
	f := loadFacts(t)
	for n := range 1000 {
		prefix := string([]byte{byte('0' + n/100), byte('0' + n/10%10), byte('0' + n%10)})
		want := ""
		for _, r := range f.Zip.Ranges {
			if prefix >= r.From && prefix <= r.To {
				want = r.State
			}
		}
		if slices.Contains(f.Zip.Unused, prefix) != (want == "") {
			t.Errorf("facts disagree on %s", prefix)
		}
		if got := find(prefixRanges, prefix); prefix != "969" && got != want {
			t.Errorf("%s: got %q, want %q", prefix, got, want)
		}
	}
}

func TestWholeZIPs(t *testing.T) {
	f := loadFacts(t)
	for zip, state := range f.Zip.Exceptions {
		if got := CheckZIP(state, zip); got.Kind != ZIPMatch {
			t.Errorf("%s in %s: got %s, want match", zip, state, got.Kind)
		}
	}
	for _, r := range f.Zip.Shared {
		for _, zip := range []string{r.From, r.To} {
			if got := CheckZIP(r.State, zip); got.Kind != ZIPMatch {
				t.Errorf("%s in %s: got %s, want match", zip, r.State, got.Kind)
			}
		}
	}
	if got := CheckZIP("GU", "96933"); got.Kind != ZIPUnassigned {
		t.Errorf("96933, between two islands: got %s, want unassigned", got.Kind)
	}
}

// Source: testdata/facts/postal.md, section 2.
func TestTidyZIP(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"02139", "02139"}, {" 02139 ", "02139"}, {"100011234", "10001-1234"}, {"10001-1234", "10001-1234"}, {"10001 1234", "10001-1234"},
		{"2139", ""}, {"", ""}, {"10001-", ""}, {"10001-12345", ""}, {"1000112345", ""}, {"10001_1234", ""}, {"１０００１", ""}, {"+1000", ""}, {"10 001", ""},
	} {
		if got := CheckZIP("", c.typed).Tidy; got != c.want {
			t.Errorf("%q: got %q, want %q", c.typed, got, c.want)
		}
	}
	if got := CheckZIP("NY", "K1A 0B1").Hint; !strings.Contains(got, "Canadian") {
		t.Errorf("a Canadian code in a US form: hint %q names no country", got)
	}
	if got := CheckZIP("CT", "06390").Hint; !strings.Contains(got, "New York") {
		t.Errorf("06390 in CT: hint %q does not name New York", got)
	}
}

// Source: testdata/facts/postal.json, canada.checks and canada.first_letter.
func TestCheckPostalCode(t *testing.T) {
	f := loadFacts(t)
	for _, c := range f.Canada.Checks {
		code, valid := c[0].(string), c[1].(bool)
		got := CheckPostalCode("ON", code)
		if (got.Kind == ZIPMatch) != valid || (got.Kind == ZIPMalformed) == valid {
			t.Errorf("%q: got %s, valid %v", code, got.Kind, valid)
		}
		if valid && got.Tidy != "K1A 0B1" {
			t.Errorf("%q: got %q, want K1A 0B1", code, got.Tidy)
		}
	}
	for letter := 'A'; letter <= 'Z'; letter++ {
		owners := f.Canada.FirstLetter[string(letter)]
		got := CheckPostalCode("", string(letter)+"1A 1A1")
		if !slices.Equal(got.States, owners) {
			t.Errorf("%c: got %v, want %v", letter, got.States, owners)
		}
		for _, p := range States("CA") {
			v := CheckPostalCode(p.Code, string(letter)+"1A 1A1")
			if owners != nil && (v.Kind == ZIPMatch) != slices.Contains(owners, p.Code) {
				t.Errorf("%c in %s: got %s", letter, p.Code, v.Kind)
			}
		}
	}
	if got := CheckPostalCode("QC", "h0h 0h0"); got.Kind != ZIPMalformed {
		t.Errorf("H0H 0H0: got %s, want malformed", got.Kind)
	}
}

// Source: testdata/facts/postal.json, address_line_cases; the further streets,
// routes and mailboxes from testdata/facts/postal.md, section 5.
func TestKindOfLine(t *testing.T) {
	cases := loadFacts(t).LineCases
	for _, line := range []string{"5 Drawer Hill Rd", "Unit 5, 12 Elm St", "1 Box Elder Ln", "Caller Ln 7", ""} {
		cases = append(cases, factCase{ID: "false friend", Line: line, Expect: "street"})
	}
	cases = append(cases,
		factCase{ID: "PMB", Line: "10 Main St PMB 234", Expect: "private_mailbox"},
		factCase{ID: "HC", Line: "HC 68 Box 23A", Expect: "rural_route"},
		factCase{ID: "UNIT", Line: "Unit 2050 Box 4190", Expect: "military"},
		factCase{ID: "DRAWER", Line: "drawer 12", Expect: "po_box"},
		factCase{ID: "BIN", Line: "Bin 7", Expect: "po_box"})
	for _, c := range cases {
		if got := KindOfLine(c.Line); string(got) != c.Expect {
			t.Errorf("%s: %q: got %s, want %s (%s)", c.ID, c.Line, got, c.Expect, c.Reason)
		}
	}
}

func FuzzCheckZIP(f *testing.F) {
	for _, zip := range []string{"02139", "10001-1234", "K1A 0B1", "100011234", ""} {
		f.Add(zip)
	}
	f.Fuzz(func(t *testing.T, zip string) {
		for _, check := range []func(string, string) ZIPVerdict{CheckZIP, CheckPostalCode} {
			v := check("", zip)
			if v.Kind == ZIPMalformed {
				continue
			}
			if again := check("", v.Tidy); again.Tidy != v.Tidy || again.Kind != v.Kind {
				t.Errorf("%q: tidy %q reads back as %q, %s", zip, v.Tidy, again.Tidy, again.Kind)
			}
		}
	})
}
