package entries

import (
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// emailFacts are testdata/facts/email.json; each case names its source there
// (RFC 5321, 5322, 5233, 6531, UTS 46, WHATWG HTML, and policy).
type emailFacts struct {
	Pairs []struct{ ID, A, B, Default, Reason string }

	Addresses []struct {
		ID, Address, Reason string
		Valid               bool `json:"default_valid"`
	}
}

func readEmailFacts(t *testing.T) emailFacts {
	t.Helper()
	data, err := os.ReadFile("../testdata/facts/email.json")
	if err != nil {
		t.Fatal(err)
	}
	var facts emailFacts
	if err := json.Unmarshal(data, &facts); err != nil {
		t.Fatal(err)
	}
	if len(facts.Pairs) < 28 || len(facts.Addresses) < 28 {
		t.Fatalf("email.json has %d pairs and %d addresses, want 28 and 29", len(facts.Pairs), len(facts.Addresses))
	}
	return facts
}

func TestPairs(t *testing.T) {
	for _, p := range readEmailFacts(t).Pairs {
		a, err1 := Fold(p.A)
		b, err2 := Fold(p.B)
		if err := errors.Join(err1, err2); err != nil {
			t.Errorf("%s: %v", p.ID, err)
			continue
		}
		got := "different"
		if a.Key == b.Key {
			got = "same"
		}
		if got != p.Default {
			t.Errorf("%s (%s): got %s (%q, %q), want %s", p.ID, p.Reason, got, a.Key, b.Key, p.Default)
		}
	}
}

func TestAddresses(t *testing.T) {
	for _, c := range readEmailFacts(t).Addresses {
		a, err := Canonical(c.Address)
		if (err == nil) != c.Valid {
			t.Errorf("%s (%s): got %v, want valid %v", c.ID, c.Reason, err, c.Valid)
		}
		if err == nil && a.Typed != c.Address {
			t.Errorf("%s: typed became %q", c.ID, a.Typed)
		}
		if err != nil && (!errors.Is(err, ErrAddress) || sentence(err) == "Please check this.") {
			t.Errorf("%s: error has no sentence: %v", c.ID, err)
		}
	}
}

// Every address that the facts call valid makes a key that the draw protocol
// can write ("The publication", entry text: 3 to 254 bytes, NFC, no space).
func TestKeysFitTheEntryText(t *testing.T) {
	for _, c := range readEmailFacts(t).Addresses {
		a, err := Canonical(c.Address)
		if err != nil {
			continue
		}
		if len(a.Key) < 3 || len(a.Key) > 254 || !norm.NFC.IsNormalString(a.Key) || strings.ContainsFunc(a.Key, unicode.IsSpace) {
			t.Errorf("%s: key %q", c.ID, a.Key)
		}
	}
}

// More addresses, each with the rule that decides it.
func TestMoreAddresses(t *testing.T) {
	for _, c := range []struct {
		typed, key, rule string // key "": refused
	}{
		{"Ann.Lee+boots@GoogleMail.com", "annlee@gmail.com", "email.md, section 5, steps 3 to 6"},
		{"\u00a0ann@example.com\r\n", "ann@example.com", "email.md, section 5, step 1"},
		{"ann@B\u00dcCHER.example", "ann@xn--bcher-kva.example", "UTS 46; the A-label is RFC 3492's and email.json's (EP-27)"},
		{"ann@fa\u00df.example", "ann@xn--fa-hia.example", "email.json, EP-30"},
		{"ann\u00ad@example.com", "", "email.md, section 5, step 1: soft hyphen is invisible"},
		{"ann\u202e@example.com", "", "the same: right-to-left override"},
		{"ann\x00@example.com", "", "the same: control"},
		{"ann\xff@example.com", "", "not UTF-8"},
		{"ann@example.1", "", "RFC 3696, section 2: top-level domains are not all digits"},
		{"ann@192.168.0.1", "", "the same"},
		{"ann@[192.168.0.1]", "", "WHATWG HTML pattern"},
		{"Ann <ann@example.com>", "", "WHATWG HTML pattern: no display names"},
		{"ann@ex ample.com", "", "WHATWG HTML pattern: no white space"},
		{"ann.@example.com", "", "RFC 5322, section 3.2.3"},
		{"@", "", "RFC 5321, section 4.1.2"},
		{"", "", "empty"},
		{"   ", "", "empty"},
		{strings.Repeat("a", 64) + "@" + strings.Repeat("d", 63) + "." + strings.Repeat("d", 63) + "." + strings.Repeat("e", 57) + ".test", "",
			"255 octets: one more than EV-10; RFC 5321, section 4.5.3.1.3"},
	} {
		a, err := Canonical(c.typed)
		if (err != nil) != (c.key == "") || a.Key != c.key {
			t.Errorf("%q (%s): got %q, %v; want %q", c.typed, c.rule, a.Key, err, c.key)
		}
	}
}

func TestStepsSayWhatWasFolded(t *testing.T) {
	for typed, want := range map[string]int{
		"ann@example.com":         0,
		"ANN@EXAMPLE.COM":         1, // capitals, said once
		"ann+x@example.com":       1,
		"a.nn+x@googlemail.com":   3, // tag, dots, alias
		"ann@b\u00fccher.example": 1,
	} {
		a, err := Canonical(typed)
		if err != nil || len(a.Steps) != want {
			t.Errorf("%s: got %v, %v; want %d steps", typed, a.Steps, err, want)
		}
	}
}

// An error never bears what was typed.
func TestAddressErrorsAreSilent(t *testing.T) {
	for _, typed := range []string{"secretname", "secretname@", "secret name@example.com", "secretname@@example.com", `"secretname"@example.com`} {
		if _, err := Canonical(typed); err == nil || strings.Contains(err.Error(), "secret") {
			t.Errorf("got %v", err)
		}
	}
}

// The slips are the issue's: one edit of one of thirty domains, a swap of
// neighbours among them, and never for a listed one.
func TestSuggest(t *testing.T) {
	for typed, want := range map[string]string{
		"robin@exmaple.com":      "robin@example.com", // swapped, as in the sketch
		"ann@examp1e.com":        "ann@example.com",   // email.json, EP-24
		"ann@gmial.com":          "ann@gmail.com",     // swapped
		"ann@gmal.com":           "ann@gmail.com",     // missing
		"ann@gmaiil.com":         "ann@gmail.com",     // doubled
		"ann@gmail.con":          "ann@gmail.com",     // wrong
		"ann@gmail.co":           "ann@gmail.com",     // cut short
		"ann@gmailcom":           "ann@gmail.com",     // no dot
		"Ann.Lee+x@GMIAL.com":    "Ann.Lee+x@gmail.com",
		"ann@hotnail.com":        "ann@hotmail.com",
		"ann@outlok.com":         "ann@outlook.com",
		"ann@mail.com":           "", // listed, though one edit from gmail.com
		"ann@ymail.com":          "", // listed, the same
		"ann@gmx.de":             "", // listed
		"ann@GMAIL.com":          "",
		"ann@example.com":        "",
		"ann@gamil.co":           "", // two edits
		"ann@slow-miles.example": "",
		"ann":                    "",
		"@gmial.com":             "",
	} {
		got, ok := Suggest(typed)
		if got != want || ok != (want != "") {
			t.Errorf("%s: got %q, want %q", typed, got, want)
		}
	}
}

func TestThirtyDomains(t *testing.T) {
	if len(common) != 30 {
		t.Errorf("got %d domains, want 30", len(common))
	}
	for _, d := range common {
		if a, err := Canonical("ann@" + d); err != nil || a.Typed != "ann@"+d {
			t.Errorf("%s: %v", d, err)
		}
		if s, ok := Suggest("ann@" + d); ok {
			t.Errorf("%s: suggested %s for a listed one", d, s)
		}
	}
}

// What an address folds to folds to itself, and fits the entry text.
func FuzzCanonical(f *testing.F) {
	for _, s := range []string{"ann@example.com", "Ann.Lee+x@GoogleMail.com", "jos\u0301@b\u00fccher.example", `"a\"b"@example.com`,
		"\u0130@example.com", "ann@xn--fa-hia.example", "+ann@example.com", "a@b@c.example", "ann+@example.com"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		a, err := Canonical(typed)
		if err != nil {
			return
		}
		if len(a.Key) < 3 || len(a.Key) > 254 || !norm.NFC.IsNormalString(a.Key) || strings.ContainsFunc(a.Key, invisible) {
			t.Fatalf("key %q", a.Key)
		}
		if !strings.Contains(typed, a.Typed) {
			t.Fatalf("typed %q became %q", typed, a.Typed)
		}
		again, err := Fold(a.Key)
		if err != nil || again.Key != a.Key {
			t.Fatalf("key %q folds to %q, %v", a.Key, again.Key, err)
		}
	})
}
