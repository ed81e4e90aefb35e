package giveaway

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// Causes of an error from [ParseMoment] and [LoadZone].
var (
	ErrLocal = errors.New("not a wall time")
	ErrZone  = errors.New("not a zone that is known here")
)

// A SkippedError says that a wall time never happens in its zone, because
// clocks jump over it.
type SkippedError struct {
	Before, After string // the last wall minute before the jump and the first after it, 2006-01-02T15:04
}

func (e SkippedError) Error() string {
	return fmt.Sprintf("clocks jump over this time; choose %s or %s", e.Before, e.After)
}

// A RepeatedError says that a wall time happens twice in its zone, because
// clocks go back over it.
type RepeatedError struct {
	First, Second time.Time // UTC
}

func (e RepeatedError) Error() string {
	return fmt.Sprintf("clocks go back over this time, so it comes twice; say if the first is meant (%s) or the second (%s)",
		e.First.Format(time.RFC3339), e.Second.Format(time.RFC3339))
}

// LoadZone returns the zone of an IANA name such as America/New_York, or of
// UTC. Zone data come from the operating system; a program that links
// time/tzdata falls back to that copy. Abbreviations such as EST are refused:
// they name an offset, and people use them for a place.
func LoadZone(name string) (*time.Location, error) {
	if name != "UTC" && !strings.Contains(name, "/") {
		return nil, fmt.Errorf("%w: want an area and a place such as America/New_York", ErrZone)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("%w: want an area and a place such as America/New_York", ErrZone)
	}
	return loc, nil
}

// Readings returns the instants, none, one or two, ascending, UTC, at which
// the zone's clocks show the wall time. Wall's own zone is ignored.
//
// time.Date does not say which of these cases it met (its documentation
// promises only a time that is right in one of the two zones), so every
// offset that the zone has near the wall time is tried, and what shows the
// wall time again counts. A zone's offsets lie within −24 h to +24 h, and
// [time.Time.ZoneBounds] gives the period on either side of an instant.
func Readings(wall time.Time, loc *time.Location) []time.Time {
	asUTC := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), 0, time.UTC)
	var found []time.Time
	for _, offset := range offsetsNear(asUTC, loc) {
		t := asUTC.Add(-time.Duration(offset) * time.Second)
		if _, actual := t.In(loc).Zone(); actual == offset {
			found = insert(found, t)
		}
	}
	return found
}

// offsetsNear returns the zone's offsets, in seconds east of Greenwich, in all
// its periods that touch the two days around an instant.
func offsetsNear(t time.Time, loc *time.Location) []int {
	var offsets []int
	end := t.Add(25 * time.Hour)
	for at := t.Add(-25 * time.Hour).In(loc); ; {
		_, offset := at.Zone()
		offsets = append(offsets, offset)
		_, next := at.ZoneBounds()
		if next.IsZero() || next.After(end) {
			return offsets
		}
		at = next
	}
}

// insert adds t to an ascending list unless it is there.
func insert(list []time.Time, t time.Time) []time.Time {
	for i, have := range list {
		if have.Equal(t) {
			return list
		}
		if t.Before(have) {
			return append(list[:i], append([]time.Time{t}, list[i:]...)...)
		}
	}
	return append(list, t)
}

// pick chooses among the readings of a wall time; see [ParseMoment].
func pick(wall time.Time, loc *time.Location, which int) (time.Time, error) {
	readings := Readings(wall, loc)
	switch {
	case len(readings) == 0:
		return time.Time{}, skipped(wall, loc)
	case len(readings) == 1:
		return readings[0], nil
	case which == 1:
		return readings[0], nil
	case which == 2:
		return readings[len(readings)-1], nil
	}
	return time.Time{}, RepeatedError{First: readings[0], Second: readings[len(readings)-1]}
}

// skipped finds the jump that left the wall time out. It walks minute by
// minute: a jump is an hour as a rule, half of one on Lord Howe Island, and a
// whole day at most (Samoa, 2011).
func skipped(wall time.Time, loc *time.Location) error {
	step := func(by time.Duration) string {
		for t, n := wall.Truncate(time.Minute), 0; n < 25*60; n++ {
			t = t.Add(by)
			if len(Readings(t, loc)) > 0 {
				return t.Format(localMinutes)
			}
		}
		return "another day"
	}
	return SkippedError{Before: step(-time.Minute), After: step(time.Minute)}
}

// StaleZones names the places for which this computer's zone data are older
// than release 2026f (October 2026) and so wrong by an hour: British Columbia,
// Alberta and Manitoba no longer set their clocks back. It is empty when they
// are not; the desk warns when it isn't.
//
// Source: IANA tz NEWS 2026b to 2026f (testdata/facts/time.md, section 1).
func StaleZones() []string {
	probe := time.Date(2026, 12, 2, 0, 0, 0, 0, time.UTC)
	var stale []string
	for _, p := range []struct {
		zone  string
		hours int
	}{{"America/Vancouver", -7}, {"America/Edmonton", -6}, {"America/Winnipeg", -5}} {
		loc, err := LoadZone(p.zone)
		if err != nil {
			stale = append(stale, p.zone)
			continue
		}
		if _, offset := probe.In(loc).Zone(); offset != p.hours*3600 {
			stale = append(stale, p.zone)
		}
	}
	return stale
}
