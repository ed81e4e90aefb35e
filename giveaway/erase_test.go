package giveaway

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// When a giveaway has ended, by the sentences of the rules.
func TestEnded(t *testing.T) {
	drawn := time.Date(2026, 12, 12, 1, 30, 7, 0, time.UTC)
	day := func(n int) time.Time { return drawn.AddDate(0, 0, n) }
	sent := func(n int) Parcel { return Parcel{At: day(n)} }
	there := func(n int) Parcel { return Parcel{At: day(n), Delivered: true} }
	confirmed := func(places ...int) (c []draw.Confirmed) {
		for _, n := range places {
			c = append(c, draw.Confirmed{Place: n, At: day(2 * n)})
		}
		return c
	}
	passed := func(places ...int) (p []draw.Passed) {
		for _, n := range places {
			p = append(p, draw.Passed{Place: n, Reason: draw.Declined, At: day(3 * n)})
		}
		return p
	}
	for _, c := range []struct {
		name      string
		places    int // of two winners
		passed    []draw.Passed
		confirmed []draw.Confirmed
		parcels   map[int]Parcel
		want      time.Time
	}{
		{"nothing settled", 3, nil, nil, nil, day(365)},
		{"one settled", 3, nil, confirmed(1), map[int]Parcel{1: there(20)}, day(365)},
		{"both settled, one not sent", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(20)}, day(365)},
		{"both there", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(20), 2: there(11)}, day(20)},
		{"one sent, never marked as there", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(20), 2: sent(11)}, day(41)},
		{"marked as there before it was confirmed", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(1), 2: there(1)}, day(4)},
		{"there after a year and a day", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(20), 2: there(366)}, day(365)},
		{"sent shortly before the year is over", 3, nil, confirmed(1, 2), map[int]Parcel{1: there(20), 2: sent(340)}, day(365)},
		{"nobody left for the second", 3, passed(1, 3), confirmed(2), map[int]Parcel{2: there(5)}, day(9)},
		{"nobody left at all", 3, passed(1, 2, 3), nil, nil, day(9)},
		{"nobody was in", 0, nil, nil, nil, drawn},
	} {
		s := Standing{Winners: 2, Places: make([]Stand, c.places), Outcome: draw.Outcome{Passed: c.passed, Confirmed: c.confirmed}}
		if got := Ended(Giveaway{State: StateDrawn, Drawn: drawn}, s, c.parcels); !got.Equal(c.want) {
			t.Errorf("%s: ended %v, want %v", c.name, got, c.want)
		}
	}
	if got := Ended(Giveaway{State: StateCancelled, Cancelled: day(3)}, Standing{}, nil); !got.Equal(day(3)) {
		t.Errorf("called off: %v", got)
	}
	for _, state := range []State{StateDraft, StateOpen, StateFreezing, StateFrozen} {
		g := Giveaway{State: state}
		if got := EraseAt(g, Ended(g, Standing{}, nil)); !got.IsZero() {
			t.Errorf("%s: %v", state, got)
		}
	}
}

// Days of 24 hours, down to the full hour: within what the rules say, whatever
// the clocks do meanwhile. New York leaves daylight saving time on 1 November
// 2026 and returns to it on 14 March 2027 (the second Sunday of March and the
// first of November: US Code, title 15, section 260a).
func TestEraseAtAcrossClockChanges(t *testing.T) {
	york, err := LoadZone("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		days        int
		ended, want string
	}{
		{30, "2026-10-20T09:15:00-04:00", "2026-11-19T08:00:00-05:00"},
		{90, "2027-02-01T18:59:59-05:00", "2027-05-02T19:00:00-04:00"},
		{1, "2027-03-13T12:00:00-05:00", "2027-03-14T13:00:00-04:00"},
		{0, "2027-02-01T18:00:00-05:00", "2027-05-02T19:00:00-04:00"}, // left out: 90
	} {
		ended, err := time.Parse(time.RFC3339, c.ended)
		if err != nil {
			t.Fatal(err)
		}
		g := Giveaway{Terms: Terms{KeepDays: c.days}}
		at := EraseAt(g, ended)
		if got := at.In(york).Format(time.RFC3339); got != c.want {
			t.Errorf("%d days after %s: %s, want %s", c.days, c.ended, got, c.want)
		}
		if gone := at.Sub(ended); gone > time.Duration(g.Terms.DaysKept())*24*time.Hour {
			t.Errorf("%v is more than the rules say", gone)
		}
	}
}

// The rules say the numbers that the deletion goes by, and no address of
// somebody who may not win.
func TestRulesSayWhatEraseDoes(t *testing.T) {
	terms := rulesTerms()["full"]
	terms.Barred = append(terms.Barred, "somebody.barred@example.org")
	text := terms.RulesText()
	for _, want := range []string{
		fmt.Sprintf("within %d days after", terms.DaysKept()), "days of 24 hours",
		fmt.Sprintf("sent the prize, %d days later", arrivesDays), fmt.Sprintf("ends %d days after the draw", endsDays),
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the rules lack %q", want)
		}
	}
	for _, b := range terms.Barred {
		if IsAddress(b) && strings.Contains(text, b) {
			t.Error("an address of somebody who may not win stands in the rules")
		}
	}
	for _, b := range terms.withoutAddresses().Barred {
		if IsAddress(b) {
			t.Error("an address stays in the terms")
		}
	}
}

// A sentence with an address in it would stand in the rules for everybody.
func TestBarredAddressStandsAlone(t *testing.T) {
	terms := bootTerms()
	terms.Barred = []string{"Pat, pat@example.org"}
	if p, ok := terms.Validate().(Problems); !ok || len(p.Of("barred.0")) != 1 {
		t.Errorf("taken: %v", terms.Validate())
	}
	terms.Barred = []string{"pat@example.org", "Anybody who works for Larkspur Trail Supply"}
	if err := terms.Validate(); err != nil {
		t.Error(err)
	}
}
