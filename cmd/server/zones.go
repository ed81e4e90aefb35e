package main

import (
	"strings"

	"evenhand/giveaway"
)

// zoneWarning is a sentence for the desk when the time zone data in use are
// missing or older than release 2026f; "" when they are not. The operating
// system's data come first; the copy inside the program, which is older, is
// used where there are none. Source: testdata/facts/time.md, section 1.
func zoneWarning() string {
	stale := giveaway.StaleZones()
	if len(stale) == 0 {
		return ""
	}
	places := make([]string, len(stale))
	for i, zone := range stale {
		places[i] = strings.ReplaceAll(zone[strings.LastIndexByte(zone, '/')+1:], "_", " ")
	}
	return "The time zone data of this computer are out of date. Times in " + strings.Join(places, ", ") +
		" come out wrong by an hour since November 2026. Update the system’s time zone data (the package is called tzdata as a rule) and start again."
}
