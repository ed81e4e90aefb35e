package giveaway

import (
	"fmt"
	"strings"
	"time"
)

// A Moment is a time as it was announced: the wall time, the zone, and the
// instant that these meant when they were announced. The instant wins, even if
// a country changes its clocks later and the two no longer agree; see
// [Moment.Drifted].
type Moment struct {
	Local string    `json:"local"` // wall time, 2026-12-11T20:30, with :05 for seconds where there are any
	Zone  string    `json:"zone"`  // IANA name, such as America/New_York; abbreviations such as EST are refused
	UTC   time.Time `json:"utc"`   // the instant, whole seconds
}

// The two ways to write a wall time.
const (
	localMinutes = "2006-01-02T15:04"
	localSeconds = "2006-01-02T15:04:05"
)

// ParseMoment reads a wall time in a zone. Which is 0, or, for a wall time
// that the zone has twice because clocks went back, 1 for the first or 2 for
// the second; for any other wall time it is ignored. Errors: [SkippedError]
// for a wall time that the zone never has, [RepeatedError] for one that it has
// twice when which is 0, [ErrZone] for a zone that is not known.
func ParseMoment(local, zone string, which int) (Moment, error) {
	wall, canonical, err := parseLocal(local)
	if err != nil {
		return Moment{}, err
	}
	loc, err := LoadZone(zone)
	if err != nil {
		return Moment{}, err
	}
	utc, err := pick(wall, loc, which)
	if err != nil {
		return Moment{}, err
	}
	return Moment{Local: canonical, Zone: zone, UTC: utc}, nil
}

// MomentAt gives the moment of an instant in a zone. It is for times that
// are computed and not announced in words first, such as those of a sample.
func MomentAt(instant time.Time, zone string) (Moment, error) {
	loc, err := LoadZone(zone)
	if err != nil {
		return Moment{}, err
	}
	utc := instant.UTC().Truncate(time.Second)
	return Moment{Local: printLocal(utc.In(loc)), Zone: zone, UTC: utc}, nil
}

// IsZero reports whether nothing of the moment is set.
func (m Moment) IsZero() bool { return m.Local == "" && m.Zone == "" && m.UTC.IsZero() }

// Drifted reports whether the zone's data, as this computer has them now, no
// longer lead from the wall time to the published instant. The instant stays
// what it is; the host should hear of it.
func (m Moment) Drifted() bool {
	loc, err := LoadZone(m.Zone)
	if err != nil {
		return true
	}
	return printLocal(m.UTC.In(loc)) != m.Local
}

// Words writes the instant out for people, in the moment's zone: "Friday 11
// December 2026, 8:30 pm (New York)".
func (m Moment) Words() string {
	loc, place := m.zone()
	t := m.UTC.In(loc)
	return t.Format("Monday 2 January 2006, ") + clockWords(t) + " (" + place + ")"
}

// zone returns the moment's zone and its place's name, UTC if this computer
// doesn't know the zone.
func (m Moment) zone() (*time.Location, string) {
	loc, err := LoadZone(m.Zone)
	if err != nil || m.Zone == "UTC" {
		return time.UTC, "UTC"
	}
	place := m.Zone[strings.LastIndexByte(m.Zone, '/')+1:]
	return loc, strings.ReplaceAll(place, "_", " ")
}

// clockWords avoids "12:00 am", which people read both ways.
func clockWords(t time.Time) string {
	switch hour, minute, second := t.Clock(); {
	case second != 0:
		return t.Format("3:04:05 pm")
	case hour == 0 && minute == 0:
		return "midnight, as the day begins"
	case hour == 12 && minute == 0:
		return "12 noon"
	}
	return t.Format("3:04 pm")
}

// parseLocal reads a wall time and returns it as if it were UTC, and in the
// one form in which it is stored.
func parseLocal(local string) (wall time.Time, canonical string, err error) {
	wall, err = time.Parse(localMinutes, local)
	if err != nil {
		wall, err = time.Parse(localSeconds, local)
	}
	if err != nil || wall.Year() < 2000 || printLocal(wall) != local && !strings.HasSuffix(local, ":00") {
		return time.Time{}, "", fmt.Errorf("%w: want a date and a time such as 2026-12-11T20:30", ErrLocal)
	}
	return wall, printLocal(wall), nil
}

func printLocal(t time.Time) string {
	if t.Second() != 0 {
		return t.Format(localSeconds)
	}
	return t.Format(localMinutes)
}
