package giveaway

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/sizing"
)

// Limits of terms. Common practice, no source, save for places (draw protocol).
const (
	maxLine       = 200 // characters of a line of text
	maxRulesBytes = 200_000
	maxPlaces     = 10000
	maxAnswerDays = 90
	maxLockBefore = 7 * 24 * 60 // minutes
	maxAge        = 99
	maxList       = 50
	maxQuestions  = 10
)

// Validate returns nil or all that is wrong, as [Problems].
func (t Terms) Validate() error {
	var p Problems
	if !draw.ValidID(t.Draw) {
		p.add("draw", "Write a short name of a–z, 0–9 and hyphens, such as trail-boots.")
	}
	p.line("channel", t.Channel, true)
	p.line("host", t.Host, false)
	p.line("title", t.Title, true)
	p.line("prize", t.Prize, true)
	p.line("sponsor", t.Sponsor, true)
	p.line("value", t.Value, false)
	t.checkMore(&p)
	t.checkTimes(&p)
	t.checkNumbers(&p)
	t.checkWho(&p)
	t.checkQuestions(&p)
	if t.Beacon != BeaconQuicknet && t.Beacon != BeaconNone {
		p.add("beacon", "Write %s or %s.", BeaconQuicknet, BeaconNone)
	}
	if t.Follows != "" && (!draw.ValidID(t.Follows) || t.Follows == t.Draw) {
		p.add("follows", "Write the short name of the cancelled giveaway that this one replaces, or leave it out.")
	}
	t.checkRules(&p)
	return p.orNil()
}

func (t Terms) checkTimes(p *Problems) {
	p.moment("opens", t.Opens)
	p.moment("closes", t.Closes)
	p.moment("event", t.Event)
	good := func(fields ...string) bool { // what can be compared is compared
		return !slices.ContainsFunc(fields, func(f string) bool { return len(p.Of(f)) > 0 })
	}
	if good("opens", "closes") && !t.Opens.UTC.Before(t.Closes.UTC) {
		p.add("closes", "Choose a closing time after the opening time.")
	}
	if good("closes", "event") && t.Event.UTC.Sub(t.Closes.UTC) < LeastLockMinutes*time.Minute {
		p.add("event", "Leave at least %d minutes between closing and the draw, so that the list can be locked and seen before it.", LeastLockMinutes)
	}
}

func (t Terms) checkNumbers(p *Problems) {
	p.inRange("winners", t.Winners)
	p.inRange("alternates", t.Alternates)
	if t.Winners+t.Alternates > maxPlaces {
		p.add("alternates", "Winners and those next in line can be %d at most together.", maxPlaces)
	}
	p.inRange("answer_days", t.AnswerDays)
	p.inRange("lock_minutes", t.LockMinutes)
	p.inRange("min_age", t.MinAge)
}

// numbers are the least and the most that a number of the terms may be.
var numbers = map[string][2]int{
	"winners": {1, maxPlaces}, "alternates": {0, maxPlaces}, "answer_days": {1, maxAnswerDays},
	"lock_minutes": {LeastLockMinutes, maxLockBefore}, "min_age": {0, maxAge}, "keep_days": {1, maxKeepDays}, "scale": {2, 4},
}

// NumbersOf returns the least and the most that a number of the terms may be,
// by its field's name; two zeros for a field that is none.
func NumbersOf(field string) (least, most int) { return numbers[field][0], numbers[field][1] }

func (p *Problems) inRange(field string, n int) {
	p.number(field, n, numbers[field][0], numbers[field][1])
}

func (t Terms) checkWho(p *Problems) {
	if t.Sizes != nil {
		p.rows(t.Sizes.Run)
		if !t.Sizes.Scale.Valid() {
			p.add("sizes.scale", "Write how many half sizes a women’s number lies above the men’s: 2, 3 or 4.")
		}
	}
	p.region(t.Region.Validate())
	if len(t.Barred) > maxBarred {
		p.add("barred", "Name 2,000 who may not win at most; these are %d lines.", len(t.Barred))
	} else {
		p.list("barred", t.Barred)
	}
	if t.Carriers != "" && t.Carriers != CarriersPost && t.Carriers != CarriersPrivate {
		p.add("carriers", "Write %s or %s, or leave it out.", CarriersPost, CarriersPrivate)
	}
	p.line("steps", t.Steps, false)
}

// rows says what is wrong with each row of sizes, and with all of them where
// each is right.
func (p *Problems) rows(run sizing.Run) {
	before := len(*p)
	for i, g := range run {
		var wrong *sizing.RunError
		if errors.As(sizing.Run{g}.Validate(), &wrong) && wrong.Range == 0 {
			p.run(&sizing.RunError{Range: i, Field: wrong.Field, Advice: wrong.Advice})
		}
	}
	if len(*p) == before {
		p.run(run.Validate())
	}
}

// run says what is wrong with the sizes, at the field that it is about.
func (p *Problems) run(err error) {
	var wrong *sizing.RunError
	switch {
	case !errors.As(err, &wrong):
	case wrong.Range < 0:
		p.add("sizes.run", "%s", wrong.Advice)
	default:
		p.add(fmt.Sprintf("sizes.run.%d.%s", wrong.Range, wrong.Field), "%s", wrong.Advice)
	}
}

// region says which code is wrong.
func (p *Problems) region(err error) {
	var wrong *eligibility.CodeError
	if !errors.As(err, &wrong) {
		return
	}
	like := "US"
	if strings.HasPrefix(wrong.List, "not_") {
		like = "US-FL"
	}
	if wrong.Repeated {
		p.add("region."+wrong.List, "“%.40s” stands in the list already.", wrong.Code)
		return
	}
	p.add("region."+wrong.List, "“%.40s” is not known here. Write a code such as %s.", wrong.Code, like)
}

var questionKey = regexp.MustCompile(`^[a-z][a-z0-9_]{0,31}$`)

func (t Terms) checkQuestions(p *Problems) {
	if len(t.Questions) > maxQuestions {
		p.add("questions", "Ask %d questions at most.", maxQuestions)
		return
	}
	seen := map[string]bool{}
	for i, q := range t.Questions {
		at := fmt.Sprintf("questions.%d.", i)
		if !questionKey.MatchString(q.Key) || seen[q.Key] {
			p.add(at+"key", "Write a name of a–z, 0–9 and _ that no other question has.")
		}
		seen[q.Key] = true
		p.line(at+"label", q.Label, true)
		switch {
		case q.Kind == KindText && len(q.Choices) > 0:
			p.add(at+"choices", "A question answered in words has no choices.")
		case q.Kind == KindChoice && len(q.Choices) < 2:
			p.add(at+"choices", "Give at least two choices.")
		case q.Kind != KindText && q.Kind != KindChoice:
			p.add(at+"kind", "Write %s or %s.", KindText, KindChoice)
		}
		p.list(at+"choices", q.Choices)
	}
}

// line checks a single line of text.
func (p *Problems) line(field, s string, required bool) {
	switch {
	case s == "" && required:
		p.add(field, "Fill this in.")
	case s != strings.TrimSpace(s):
		p.add(field, "Take off the blanks at the ends.")
	case utf8.RuneCountInString(s) > maxLine:
		p.add(field, "Shorten this to %d characters.", maxLine)
	case !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl):
		p.add(field, "Write one line of plain text.")
	}
}

func (p *Problems) list(field string, list []string) {
	if len(list) > maxList {
		p.add(field, "List %d at most.", maxList)
	}
	seen := map[string]bool{}
	for i, s := range list {
		p.line(fmt.Sprintf("%s.%d", field, i), s, true)
		if seen[s] {
			p.add(fmt.Sprintf("%s.%d", field, i), "This stands in the list already.")
		}
		seen[s] = true
	}
}

func (p *Problems) number(field string, n, least, most int) {
	if n < least || n > most {
		p.add(field, "Write a number from %d to %d.", least, most)
	}
}

// farthestDrift is how far a published instant may lie from what zone data now
// say, before it is taken for a slip of the pen: no change of a country's
// clocks has been larger, but for moves across the date line.
const farthestDrift = 3 * time.Hour

// moment checks that a moment's instant is one that its wall time can mean.
func (p *Problems) moment(field string, m Moment) {
	wall, _, err := parseLocal(m.Local)
	if err != nil {
		p.add(field, "Write a date and a time such as 2026-12-11T20:30.")
		return
	}
	loc, err := LoadZone(m.Zone)
	if err != nil {
		p.add(field, "Write a zone as an area and a place, such as America/New_York.")
		return
	}
	if m.UTC.IsZero() {
		p.unsettled(field, wall, loc)
		return
	}
	if m.UTC.Nanosecond() != 0 || m.UTC.Year() > 9999 {
		p.add(field, "Write whole seconds.")
		return
	}
	shown := m.UTC.In(loc)
	asUTC := time.Date(shown.Year(), shown.Month(), shown.Day(), shown.Hour(), shown.Minute(), shown.Second(), 0, time.UTC)
	if gap := asUTC.Sub(wall); gap > farthestDrift || gap < -farthestDrift {
		p.add(field, "The time in UTC is not the time of the clocks there; leave one of them out.")
	}
}

// unsettled says why a wall time without an instant has none.
func (p *Problems) unsettled(field string, wall time.Time, loc *time.Location) {
	_, err := pick(wall, loc, 0)
	var skip SkippedError
	var twice RepeatedError
	switch {
	case errors.As(err, &skip):
		p.add(field, "Clocks there jump over this time. Choose %s or %s.", skip.Before, skip.After)
	case errors.As(err, &twice):
		p.add(field, "This time comes twice there, because clocks go back. Say which: the first is utc %s, the second %s.",
			twice.First.Format(time.RFC3339), twice.Second.Format(time.RFC3339))
	default:
		p.add(field, "Give this time.")
	}
}
