package entries

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"evenhand/giveaway"
)

// wallForms are the ways in which forms export a wall time (common practice,
// no source). A fraction of a second may follow the seconds in each. The day
// stands second only after a month with a slash, as in the United States.
var wallForms = []string{
	"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04",
	"2006/1/2 15:04:05", "2006/1/2 15:04", "2006/1/2 3:04:05 PM", "2006/1/2 3:04 PM",
	"1/2/2006 15:04:05", "1/2/2006 15:04", "1/2/2006 3:04:05 PM", "1/2/2006 3:04 PM",
	"2006-01-02 3:04:05 PM", "2006-01-02 3:04 PM",
}

// offsetForm finds an offset after a wall time: Z, UTC, GMT, +01:00, GMT-5.
var offsetForm = regexp.MustCompile(`^(.*\d(?:\s?[AaPp][Mm])?)\s*(?:(Z|z|UTC|GMT)|(?:UTC|GMT)?([+-])(\d{1,2}):?(\d{2})?)$`)

var (
	errTime   = errors.New("want a time such as 2026-12-11 20:30:00, and a zone such as America/New_York")
	errNoZone = errors.New("it bears no zone; say which zone the file's times are in")
)

// time reads a row's time; note says what was decided about one that has two
// meanings.
func (p plan) time(row tableRow) (at time.Time, note string, err error) {
	i, have := p.at["time"]
	if !have {
		return p.when, "", nil
	}
	zone := p.zone
	text := row.cell(i)
	if j, have := p.at["zone"]; have && row.cell(j) != "" {
		name := row.cell(j)
		if loc, err := giveaway.LoadZone(name); err == nil {
			zone = loc
		} else {
			text += " " + name // perhaps an offset
		}
	}
	return readTime(text, zone)
}

// readTime reads a time that bears its offset, or a wall time in a zone.
func readTime(text string, zone *time.Location) (at time.Time, note string, err error) {
	text = strings.Join(strings.Fields(text), " ")
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return at, "", plausible(at)
	}
	wall, err := parseWall(text)
	if err == nil {
		return settle(wall, zone)
	}
	m := offsetForm.FindStringSubmatch(text)
	if m == nil {
		return time.Time{}, "", errTime
	}
	if wall, err = parseWall(m[1]); err != nil {
		return time.Time{}, "", err
	}
	offset, err := readOffset(m[3], m[4], m[5])
	if err != nil {
		return time.Time{}, "", err
	}
	return wall.Add(-offset), "", plausible(wall)
}

func parseWall(text string) (time.Time, error) {
	text = strings.ToUpper(text)
	for _, form := range wallForms {
		if wall, err := time.Parse(form, text); err == nil {
			return wall, plausible(wall)
		}
	}
	return time.Time{}, errTime
}

// plausible refuses years that the draw protocol can't write.
func plausible(t time.Time) error {
	if y := t.UTC().Year(); y < 2000 || y > 9999 {
		return errTime
	}
	return nil
}

// settle finds the instant of a wall time. One that the zone skips is an
// error; of one that it repeats the first is taken, and said so.
func settle(wall time.Time, zone *time.Location) (at time.Time, note string, err error) {
	if zone == nil {
		return time.Time{}, "", errNoZone
	}
	readings := giveaway.Readings(wall, zone)
	switch len(readings) {
	case 0:
		return time.Time{}, "", errors.New("the clocks of its zone jump over it")
	case 1:
		return readings[0].Add(fraction(wall)), "", nil
	}
	first := readings[0].Add(fraction(wall))
	return first, fmt.Sprintf("its time comes twice in its zone; the first was taken, %s", first.Format(time.RFC3339)), nil
}

func fraction(t time.Time) time.Duration { return time.Duration(t.Nanosecond()) }

func readOffset(sign, hours, minutes string) (time.Duration, error) {
	if sign == "" {
		return 0, nil
	}
	var h, m int
	fmt.Sscan(hours, &h)
	fmt.Sscan(minutes, &m)
	if h > 14 || m > 59 {
		return 0, errTime
	}
	offset := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute
	if sign == "-" {
		return -offset, nil
	}
	return offset, nil
}
