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
		"boots": {boots, "the prize: A pair of hiking boots, worth $245; in US men’s 6½ to 14, US women’s 6|" +
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
