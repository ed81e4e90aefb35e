package cautions_test

import (
	"fmt"
	"time"

	"evenhand/cautions"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

func ExampleFor() {
	event, _ := giveaway.ParseMoment("2026-12-11T20:30", "America/New_York", 0)
	terms := giveaway.Terms{
		Host: "hello@slow-miles.example", Sponsor: "Larkspur Trail Supply", Prize: "a pair of hiking boots", Winners: 1, MinAge: 18,
		Opens: event, Closes: event, Event: event, Beacon: giveaway.BeaconQuicknet,
		Region: eligibility.Region{Live: []string{"US"}, NotLive: []string{"US-AL", "US-MS"}},
	}
	for _, c := range cautions.For(terms, time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)) {
		fmt.Printf("%s (%s): %s\n", c.Code, c.Level, c.Why)
	}
	// Output:
	// L-A5 (caution): The least age is 18, and people in Nebraska may enter.
	// L-A3a (missing): No postal address of the sponsor is given.
	// L-A3v (missing): No retail value is given. So nobody here can judge these: the tax form of the United States, filing in New York, filing in Florida and filing in Rhode Island.
	// L-A9a (missing): Larkspur Trail Supply gives the prize, and no sentence says so to viewers.
}
