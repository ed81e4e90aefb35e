package claims

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenhand/cautions"
	"evenhand/giveaway"
)

// A Reminder is something for sponsor and creator to look at before the parcel
// goes. It is no legal advice, and no form is made.
type Reminder struct {
	Code   string // of the facts: L-A7, L-A7n
	Text   string
	Source string // where the figure comes from, and when it was looked up
}

// Caution reminds of the tax paper that a prize of this value may need in the
// United States when it is given at that time. More are the values, in US
// dollars, of other prizes that the same sponsor gives to the same person in
// that year. Nothing is returned for a value below the threshold, nor where
// nobody who lives in the United States may enter. A value that names no sum
// in US dollars is reminded of in general words.
func Caution(t giveaway.Terms, at time.Time, more ...float64) []Reminder {
	if t.Value == "" && t.Worth == nil || len(t.Region.Live) > 0 && !slices.Contains(t.Region.Live, "US") {
		return nil
	}
	year := at.UTC().Year()
	limit, yearKnown := cautions.TaxThreshold(year)
	sum, known := worth(t)
	for _, v := range more {
		sum += v
	}
	if known && sum < float64(limit) {
		return nil
	}
	r := Reminder{Code: "L-A7", Source: cautions.TaxSource()}
	what := fmt.Sprintf("Prizes of %s US dollars or more to one person in one year", commas(limit))
	if !known {
		what = "If the prize is worth that: prizes" + strings.TrimPrefix(what, "Prizes")
	}
	r.Text = what + " are usually reported to the tax office in the United States. The sponsor may need a form W-9 from the winner before it sends the parcel. Ask the winner for it directly; it does not belong on these pages."
	if !yearKnown {
		r.Code = "L-A7n"
		r.Text += fmt.Sprintf(" The figure is that of %d; look up the one for %d.", cautions.TaxKnownUntil(), year)
	}
	return []Reminder{r}
}

// worth is the value of one prize in US dollars: the sum, where one was given,
// otherwise the one that the words name.
func worth(t giveaway.Terms) (dollars float64, known bool) {
	if t.Worth == nil {
		return Dollars(t.Value)
	}
	return float64(t.Worth.Cents) / 100, t.Worth.Currency == "USD"
}

// commas writes 2000 as 2,000.
func commas(n int64) string {
	s := strconv.FormatInt(n, 10)
	if len(s) > 3 {
		return s[:len(s)-3] + "," + s[len(s)-3:]
	}
	return s
}

var (
	otherDollars = regexp.MustCompile(`(?i)(canadian|australian|new zealand|singapore|hong kong)|\b(ca|cad|c|au|aud|a|nz|nzd|s|sgd|hk|hkd)\$|\b(cad|aud|nzd|sgd|hkd)\b`)
	dollarSum    = regexp.MustCompile(`(?i)(?:us\s?\$|\$|\busd)\s?(\d{1,3}(?:,\d{3})+|\d+)(\.\d{1,2})?(?:[^\d,.]|[,.]?$|[,.]\s)|(?:^|[^\d,.])(\d{1,3}(?:,\d{3})+|\d+)(\.\d{1,2})?\s?(?:us\s?\$|us dollars?|u\.s\. dollars?|usd\b|dollars?)`)
)

// Dollars reads the one sum in US dollars that a text names: "about 190 US
// dollars", "$1,250.50". False if it names none, several, or other dollars.
func Dollars(text string) (float64, bool) {
	if otherDollars.MatchString(text) {
		return 0, false
	}
	found := dollarSum.FindAllStringSubmatch(text, -1)
	if len(found) != 1 {
		return 0, false
	}
	m := found[0]
	digits := strings.ReplaceAll(m[1]+m[3], ",", "") + m[2] + m[4]
	v, err := strconv.ParseFloat(digits, 64)
	return v, err == nil
}
