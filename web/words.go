package web

import (
	"strings"
	"time"

	"evenhand/giveaway"
)

const wordFieldsWrong = "Some fields need another look."

// A Stamp is a time on a page: words first, the machine's form for the
// script that adds the viewer's own time.
type Stamp struct {
	Before string // words before the time: "Closes"
	Words  string // "Friday 11 December 2026, 8:30 pm New York time"
	UTC    string // RFC 3339; "": no time, Before is all
}

// stamp writes an instant out in a zone.
func stamp(before string, t time.Time, zone string) Stamp {
	m, err := giveaway.MomentAt(t, zone)
	if err != nil {
		m, _ = giveaway.MomentAt(t, "UTC")
	}
	return Stamp{before, timeWords(m), m.UTC.Format(time.RFC3339)}
}

// timeWords turns "8:30 pm (New York)" into "8:30 pm New York time".
func timeWords(m giveaway.Moment) string {
	words, place, ok := strings.Cut(strings.TrimSuffix(m.Words(), ")"), " (")
	switch {
	case !ok:
		return m.Words()
	case place == "UTC":
		return words + " UTC"
	}
	return words + " " + place + " time"
}
