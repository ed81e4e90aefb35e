package claims_test

import (
	"strings"
	"testing"

	"evenhand/claims"
	"evenhand/giveaway"
)

// A number that stands alone below the street is asked about, with the words
// that it may lack: USPS Publication 28, Appendix C2, has no unit without one.
// Questions say nothing of a form: they are shown where there is none.
func TestBareUnitIsAsked(t *testing.T) {
	for _, c := range []struct {
		line, asked, offers string
	}{
		{"4", "What is 4 the number of?", "APT 4, STE 4, UNIT 4"},
		{"4b", "What is 4b the number of?", "APT 4b, STE 4b, UNIT 4b"},
		{"Apt 4", "", ""},
		{"Rear", "", ""},
		{"Building 2", "", ""},
		{"PO Box 12", "The sponsor", ""},
	} {
		a := claims.Address{Lines: []string{"12 Wexcombe Street", c.line}, City: "New York", State: "NY", Postal: "10001", Country: "US"}
		tidy, problems := claims.CheckAddress(a, giveaway.Terms{Sponsor: "The sponsor", Carriers: giveaway.CarriersPrivate})
		if len(problems) > 0 {
			t.Fatalf("%s: %+v", c.line, problems)
		}
		if c.asked == "" {
			if len(tidy.Questions) > 0 {
				t.Errorf("%s: asked %q", c.line, tidy.Questions[0].Text)
			}
			continue
		}
		if len(tidy.Questions) != 1 || !strings.HasPrefix(tidy.Questions[0].Text, c.asked) || tidy.Questions[0].Field != "line2" ||
			!strings.HasSuffix(tidy.Questions[0].Text, "?") {
			t.Errorf("%s: asked %+v, want %q", c.line, tidy.Questions, c.asked)
			continue
		}
		var offers []string
		for _, o := range tidy.Questions[0].Offers {
			offers = append(offers, o.Values["line2"])
		}
		if got := strings.Join(offers, ", "); got != c.offers {
			t.Errorf("%s: offers %q, want %q", c.line, got, c.offers)
		}
	}
	long := claims.Address{Lines: []string{strings.Repeat("a", 61), strings.Repeat("b", 61)}, City: "New York", State: "NY", Postal: "10001", Country: "US"}
	_, problems := claims.CheckAddress(long, giveaway.Terms{})
	if len(problems) != 2 || problems[0].Text != "Please shorten the first line of the address to 60 characters." ||
		problems[1].Text != "Please shorten the second line of the address to 60 characters." {
		t.Errorf("two long lines: %+v", problems)
	}
}
