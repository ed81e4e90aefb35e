package giveaway

import (
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"
	"time"
)

// timeFacts are the cases of testdata/facts/time.md, section 5, whose sources
// (IANA tz 2026f, computed with Go by search and with GNU date) stand there.
type timeFacts struct {
	Cases []struct {
		ID, Zone, Local, Kind string
		UTC                   []string
		Stale                 *[]string `json:"stale_tzdata_2025_gives"`
	}
	Windows []struct {
		ID, Zone    string
		OpensLocal  string `json:"opens_local"`
		ClosesLocal string `json:"closes_local"`
		OpensUTC    string `json:"opens_utc"`
		ClosesUTC   string `json:"closes_utc"`
		Hours       int
	}
}

func readTimeFacts(t *testing.T) timeFacts {
	t.Helper()
	page, err := os.ReadFile("../testdata/facts/time.md")
	if err != nil {
		t.Fatal(err)
	}
	_, block, found := strings.Cut(string(page), "```json\n")
	block, _, closed := strings.Cut(block, "```")
	var facts timeFacts
	if err := json.Unmarshal([]byte(block), &facts); err != nil || !found || !closed {
		t.Fatalf("read the JSON block of time.md: %v", err)
	}
	if len(facts.Cases) < 30 || len(facts.Windows) < 4 {
		t.Fatalf("time.md has %d cases and %d windows, want 31 and 4", len(facts.Cases), len(facts.Windows))
	}
	return facts
}

func minute(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02T15:04Z", s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestReadings(t *testing.T) {
	for _, c := range readTimeFacts(t).Cases {
		t.Run(c.ID, func(t *testing.T) {
			if c.Stale != nil {
				needFreshZones(t)
			}
			wall, _, err := parseLocal(c.Local)
			if err != nil {
				t.Fatal(err)
			}
			loc, err := LoadZone(c.Zone)
			if err != nil {
				t.Fatal(err)
			}
			got := Readings(wall, loc)
			if len(got) != len(c.UTC) {
				t.Fatalf("%s in %s: got %v, want %v", c.Local, c.Zone, got, c.UTC)
			}
			for i, want := range c.UTC {
				if !got[i].Equal(minute(t, want)) {
					t.Errorf("%s in %s: got %v, want %v", c.Local, c.Zone, got[i], want)
				}
			}
		})
	}
}

// needFreshZones skips a test that needs zone data of release 2026f, loudly,
// and fails where that must be there.
func needFreshZones(t *testing.T) {
	t.Helper()
	stale := StaleZones()
	if len(stale) == 0 {
		return
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("ZONE DATA TOO OLD for %v: install tzdata 2026f or later", stale)
	}
	t.Skipf("ZONE DATA TOO OLD for %v: not tested; install tzdata 2026f or later", stale)
}

func TestParseMoment(t *testing.T) {
	for _, c := range readTimeFacts(t).Cases {
		if c.Stale != nil && len(StaleZones()) > 0 {
			continue // TestReadings says so
		}
		m, err := ParseMoment(c.Local, c.Zone, 0)
		var skipped SkippedError
		var repeated RepeatedError
		switch c.Kind {
		case "unique":
			if err != nil || !m.UTC.Equal(minute(t, c.UTC[0])) {
				t.Errorf("%s: got %v, %v; want %s", c.ID, m.UTC, err, c.UTC[0])
			}
			if m.Local != c.Local || m.Zone != c.Zone || m.Drifted() {
				t.Errorf("%s: got %+v, drifted %v", c.ID, m, m.Drifted())
			}
		case "nonexistent":
			if !errors.As(err, &skipped) {
				t.Errorf("%s: got %v, want a SkippedError", c.ID, err)
			}
		case "repeated":
			if !errors.As(err, &repeated) || !repeated.First.Equal(minute(t, c.UTC[0])) || !repeated.Second.Equal(minute(t, c.UTC[1])) {
				t.Errorf("%s: got %v, want a RepeatedError with %v", c.ID, err, c.UTC)
			}
			for which, want := range c.UTC {
				if m, err := ParseMoment(c.Local, c.Zone, which+1); err != nil || !m.UTC.Equal(minute(t, want)) {
					t.Errorf("%s, reading %d: got %v, %v; want %s", c.ID, which+1, m.UTC, err, want)
				}
			}
		default:
			t.Errorf("%s: unknown kind %q", c.ID, c.Kind)
		}
	}
}

// The neighbours follow from the change itself: New York's clocks go from
// 01:59:59 to 03:00:00 on 8 March 2026 (time.md, section 3: 07:00 UTC).
func TestSkippedNamesNeighbours(t *testing.T) {
	for local, want := range map[string]SkippedError{
		"2026-03-08T02:30": {Before: "2026-03-08T01:59", After: "2026-03-08T03:00"},
		"2026-03-08T02:00": {Before: "2026-03-08T01:59", After: "2026-03-08T03:00"},
	} {
		_, err := ParseMoment(local, "America/New_York", 0)
		if got := (SkippedError{}); !errors.As(err, &got) || got != want {
			t.Errorf("%s: got %v, want %v", local, err, want)
		}
	}
}

func TestWindows(t *testing.T) {
	for _, w := range readTimeFacts(t).Windows {
		opens, err1 := ParseMoment(w.OpensLocal, w.Zone, 0)
		closes, err2 := ParseMoment(w.ClosesLocal, w.Zone, 0)
		if err := errors.Join(err1, err2); err != nil {
			t.Errorf("%s: %v", w.ID, err)
			continue
		}
		if !opens.UTC.Equal(minute(t, w.OpensUTC)) || !closes.UTC.Equal(minute(t, w.ClosesUTC)) {
			t.Errorf("%s: got %v to %v, want %s to %s", w.ID, opens.UTC, closes.UTC, w.OpensUTC, w.ClosesUTC)
		}
		if got := closes.UTC.Sub(opens.UTC); got != time.Duration(w.Hours)*time.Hour {
			t.Errorf("%s: got %v, want %d hours", w.ID, got, w.Hours)
		}
	}
}

func TestParseMomentRefuses(t *testing.T) {
	for _, c := range []struct {
		name, local, zone string
		want              error
	}{
		{"abbreviation", "2026-12-11T20:30", "EST", ErrZone},
		{"old style name", "2026-12-11T20:30", "EST5EDT", ErrZone},
		{"no zone", "2026-12-11T20:30", "", ErrZone},
		{"the computer's own zone", "2026-12-11T20:30", "Local", ErrZone},
		{"unknown place", "2026-12-11T20:30", "America/Nowhere", ErrZone},
		{"path", "2026-12-11T20:30", "../etc/localtime", ErrZone},
		{"blank for T", "2026-12-11 20:30", "America/New_York", ErrLocal},
		{"no such day", "2026-02-29T20:30", "America/New_York", ErrLocal},
		{"24 o'clock", "2026-12-11T24:00", "America/New_York", ErrLocal},
		{"leap second", "2026-12-31T23:59:60", "America/New_York", ErrLocal},
		{"fraction", "2026-12-11T20:30:00.5", "America/New_York", ErrLocal},
		{"offset", "2026-12-11T20:30Z", "America/New_York", ErrLocal},
		{"empty", "", "America/New_York", ErrLocal},
	} {
		if m, err := ParseMoment(c.local, c.zone, 0); !errors.Is(err, c.want) {
			t.Errorf("%s: got %+v, %v; want %v", c.name, m, err, c.want)
		}
	}
}

// The weekday is from GNU date: TZ=UTC date -d 2026-12-11 +%A. The first line
// is the design's own example.
func TestWords(t *testing.T) {
	for _, c := range []struct{ local, zone, want string }{
		{"2026-12-11T20:30", "America/New_York", "Friday 11 December 2026, 8:30 pm (New York)"},
		{"2026-12-11T00:00", "America/New_York", "Friday 11 December 2026, midnight, as the day begins (New York)"},
		{"2026-12-11T12:00", "Europe/London", "Friday 11 December 2026, 12 noon (London)"},
		{"2026-12-11T09:05:07", "UTC", "Friday 11 December 2026, 9:05:07 am (UTC)"},
		{"2026-12-11T09:05", "America/Argentina/Buenos_Aires", "Friday 11 December 2026, 9:05 am (Buenos Aires)"},
	} {
		m, err := ParseMoment(c.local, c.zone, 0)
		if got := m.Words(); err != nil || got != c.want {
			t.Errorf("got %q, %v; want %q", got, err, c.want)
		}
	}
}

// The published instant wins over the wall time (time.md, section 2, rule 1).
func TestInstantWins(t *testing.T) {
	m := Moment{Local: "2026-12-11T20:30", Zone: "America/New_York", UTC: time.Date(2026, 12, 12, 2, 30, 0, 0, time.UTC)}
	if got, want := m.Words(), "Friday 11 December 2026, 9:30 pm (New York)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if !m.Drifted() {
		t.Error("an instant an hour off the wall time is not reported")
	}
}

func TestMomentAt(t *testing.T) {
	at := time.Date(2026, 11, 1, 6, 30, 0, 999, time.UTC) // the second 01:30, TZ-09
	m, err := MomentAt(at, "America/New_York")
	if err != nil || m.Local != "2026-11-01T01:30" || !m.UTC.Equal(at.Truncate(time.Second)) || m.Drifted() {
		t.Errorf("got %+v, %v", m, err)
	}
}
