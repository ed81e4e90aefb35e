package web

import (
	"strings"
	"testing"

	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// The lines under the video, written by hand from the terms. What people ask
// first is common practice, no source.
func TestShortFacts(t *testing.T) {
	boots := giveaway.Terms{
		Prize: "A pair of hiking boots", Value: "$245", MinAge: 18,
		Region: eligibility.Region{Live: []string{"US", "CA"}, Ship: []string{"US"}, AlaskaHawaii: true, Friend: true},
		Sizes: &giveaway.SizeTerms{Run: sizing.Run{
			{System: sizing.Mens, From: 14, To: 28, Step: "half", Widths: []string{"D"}},
			{System: sizing.Womens, From: 12, To: 12, Step: "half", Widths: []string{"B"}},
			{System: sizing.Mens, From: 13, To: 20, Step: "half", Widths: []string{"2E"}},
		}},
	}
	narrow := boots
	narrow.Value, narrow.MinAge, narrow.Sizes = "", 0, nil
	narrow.Region = eligibility.Region{Live: []string{"US"}, NotLive: []string{"US-NY", "US-FL"}, Ship: []string{"US"}, Friend: true}
	wide := narrow
	wide.Region = eligibility.Region{Live: []string{"US", "CA", "DE", "FR", "GB", "IE"}, NotLive: []string{"US-NY", "US-FL", "US-RI", "US-CA", "US-TX", "CA-QC"}}
	for name, c := range map[string]struct {
		terms giveaway.Terms
		want  string
	}{
		"boots": {boots, "the prize: A pair of hiking boots, worth $245; in US men’s 6½ to 14 with halves; US women’s 6|" +
			"who may enter: people aged 18 or over who live in the United States or Canada|" +
			"it can be sent to the United States; if you live elsewhere, a friend there can receive it for you"},
		"narrow": {narrow, "the prize: A pair of hiking boots|who may enter: people who live in the United States, without New York and Florida|" +
			"it can be sent to the United States, but not to Alaska or Hawaii"},
		"wide": {wide, "the prize: A pair of hiking boots|who may enter: people who live in one of 6 countries, which the rules name, without some states, which the rules name|" +
			"it can be sent anywhere, but not to Alaska or Hawaii"},
	} {
		if got := strings.Join(shortFacts(c.terms), "|"); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, c.want)
		}
	}
}

// Sizes with their gaps, by hand from the ranges: in halves, so 14 is size 7.
func TestShortSizesSayTheirGaps(t *testing.T) {
	half := func(from, to sizing.Half, except ...sizing.Half) sizing.Range {
		return sizing.Range{System: sizing.Mens, From: from, To: to, Step: sizing.HalfSteps, Widths: []string{"D"}, Except: except}
	}
	whole := func(from, to sizing.Half) sizing.Range {
		return sizing.Range{System: sizing.Mens, From: from, To: to, Step: sizing.WholeSteps, Widths: []string{"D"}}
	}
	for want, run := range map[string]sizing.Run{
		"US men’s 7 to 12 with halves":                          {half(14, 24)},
		"US men’s 7 to 12 with halves, 13, 14":                  {half(14, 24), whole(26, 28)},
		"US men’s 7 to 12 with halves, 14":                      {half(14, 24), half(28, 28)},
		"US men’s 7 to 12 with halves but not 8½ or 10":         {half(14, 24, 17, 20)},
		"US men’s 7 to 10 without halves":                       {whole(14, 20)},
		"US men’s 7 to 10 with halves, 11 to 14 without halves": {half(14, 20), whole(22, 28)},
		"US men’s 9": {half(18, 18)},
	} {
		if got := shortSizes(&giveaway.SizeTerms{Run: run}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
