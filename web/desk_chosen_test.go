package web

import (
	"strings"
	"testing"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// Before posting stands what was chosen, a start that is over as the posting
// that it means, and countries as a sentence has them.
func TestChosenFacts(t *testing.T) {
	closes, err := giveaway.ParseMoment("2026-12-18T20:00", "America/New_York", 0)
	if err != nil {
		t.Fatal(err)
	}
	event, opens := closes, closes
	event.UTC = closes.UTC.Add(20 * time.Minute)
	opens, err = giveaway.AtPosting("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	terms := giveaway.Terms{Prize: "A pair of boots", Sponsor: "Larkspur Trail Supply", Winners: 2, Alternates: 3, AnswerDays: 7, LockMinutes: 30, MinAge: 18,
		Worth: &giveaway.Worth{Cents: 18900, Currency: "USD"}, Opens: opens, Closes: closes, Event: event, Beacon: giveaway.BeaconQuicknet,
		Title: "Win a pair of boots.", Draw: "boots", BarredTick: true, Barred: []string{"people who work for the shop"},
		Region: eligibility.Region{Live: []string{"US", "CA", "DE"}, NotLive: []string{"US-FL"}, Ship: []string{"US"}, Friend: true}}
	want := map[string]string{
		"The prize":            "A pair of boots; 2 of them; 189.00 US dollars each, together 378.00 US dollars",
		"Entries":              "From the moment you post it to Friday 18 December 2026, 8:00 pm New York time",
		"The draw":             "Friday 18 December 2026, 8:20 pm New York time. The list locks itself when entries close",
		"Who can win":          "People of 18 or over in the United States, Canada or Germany; without Florida. It can be sent to the United States; somebody who lives elsewhere names a friend there",
		"Who can’t win":        "People who work for the shop. Everybody who enters ticks that they are none of these.",
		"Of the United States": "the 48 states and DC; not Alaska and Hawaii, not Puerto Rico and the other territories, not military post, not the freely associated states",
		"Its page":             "“Win a pair of boots.”, with the short name boots, which can’t be changed later",
		"Winners":              "2, and 3 next in line; each has 7 days to answer. Data are deleted 90 days after the end",
	}
	for _, f := range chosenFacts(terms) {
		if w, ok := want[f.Name]; ok && f.Text != w {
			t.Errorf("%s: %q, want %q", f.Name, f.Text, w)
		}
		delete(want, f.Name)
	}
	if len(want) > 0 {
		t.Errorf("not said: %v", want)
	}
	terms.Region = eligibility.Region{Live: []string{"CA"}, Ship: []string{"CA"}}
	for _, f := range chosenFacts(terms) {
		if f.Name == "Of the United States" {
			t.Errorf("where only Canada counts: %q", f.Text)
		}
	}
	terms.Region, terms.Opens = eligibility.Region{}, closes
	terms.Opens.UTC = closes.UTC.Add(-time.Hour)
	for _, f := range chosenFacts(terms) {
		if f.Name == "Entries" && f.Text != "From Friday 18 December 2026, 7:00 pm New York time to Friday 18 December 2026, 8:00 pm New York time" ||
			f.Name == "Who can win" && f.Text != "People of 18 or over in any country. It can be sent to any country" {
			t.Errorf("%s: %q", f.Name, f.Text)
		}
	}
}

// The page before posting says when the list locks itself, and a paragraph of
// one's own by its first words. New York is four hours behind UTC in August; no
// other source outside.
func TestChosenLockAndParagraphs(t *testing.T) {
	closes, err := giveaway.ParseMoment("2026-08-22T18:00", "America/New_York", 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		draw string
		want string
	}{
		{"2026-08-22T18:50", ". The list locks itself at the latest 6:40 pm"},
		{"2026-08-22T18:10", ". The list locks itself when entries close"},
		{"2026-08-23T00:05", ". The list locks itself at the latest Saturday 22 August, 11:55 pm"},
	} {
		event, err := giveaway.ParseMoment(c.draw, "America/New_York", 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := lockShort(giveaway.Terms{Closes: closes, Event: event, LockMinutes: 10}); got != c.want {
			t.Errorf("draw %s: %q, want %q", c.draw, got, c.want)
		}
	}
	for text, want := range map[string]string{
		"Be kind.": "“Be kind.”",
		"If the winner lives in Canada, they are asked a question of skill first.\n\n\nBe kind.\n": "“If the winner lives in Canada, they are asked a question …”, “Be kind.”",
		strings.Repeat("ä", 70): "“" + strings.Repeat("ä", 60) + " …”",
	} {
		if got := ownLine(giveaway.Terms{Beacon: giveaway.BeaconQuicknet, Paragraphs: text}); got != "paragraphs of your own: "+want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
