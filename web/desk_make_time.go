package web

import (
	"errors"
	"slices"
	"strings"
	"time"

	"evenhand/giveaway"
)

// A timeField is one of the three times, with what has to be chosen.
type timeField struct {
	Name, Label, Hint string
	Value, Zone       string   // Zone only where it is not the zone of the others
	Said              string   // in words, or ""
	Ask               *timeAsk // nil: nothing
}

// times are the three times of the form, as they stand at a time.
func (f termsForm) times(now time.Time) []timeField {
	list := []timeField{
		{Name: "closes", Label: "Entries close", Value: f.Closes, Zone: f.ClosesZone, Hint: "From this moment on none is taken."},
		{Name: "event", Label: "The draw, in your show", Value: f.Event, Hint: "At least ten minutes after entries close."},
		{Name: "opens", Label: "Entries start", Value: f.Opens, Zone: f.OpensZone, Hint: "Left empty: as soon as you post it."},
	}
	asks := f.timeAsks()
	for i := range list {
		one := &list[i]
		which, instead := f.timeAnswers(one.Name)
		one.Said = f.timeHint(one.Name, timeSaid(one.Value, f.zoneOf(one.Name), which, instead), now)
		if ask, ok := asks[one.Name]; ok {
			one.Ask = &ask
		}
	}
	return list
}

// timeAnswers are the answers to a time's question.
func (f termsForm) timeAnswers(name string) (which, instead string) {
	which = map[string]string{"opens": f.OpensWhich, "closes": f.ClosesWhich, "event": f.EventWhich}[name]
	instead = map[string]string{"opens": f.OpensTake, "closes": f.ClosesTake, "event": f.EventTake}[name]
	return which, instead
}

// timeHint adds to a time said back what follows from it now.
func (f termsForm) timeHint(name, said string, now time.Time) string {
	which, instead := f.timeAnswers(name)
	zone := f.zoneOf(name)
	value := map[string]string{"opens": f.Opens, "closes": f.Closes, "event": f.Event}[name]
	at := (&formReader{}).moment("", taken(value, instead, zone), zone, which).UTC
	switch {
	case said == "":
	case name == "opens" && !at.After(now):
		said += " That is over: entries start as soon as you post it."
	case !at.After(now):
		said += " That is over."
	case name == "event" && at.Sub(now) > farAhead:
		said += " That is more than a year from now."
	case name == "event":
		said = strings.TrimSuffix(said+" "+f.lockSaid(), " ")
	}
	return said
}

// A timeAsk is what has to be chosen about a wall time that comes twice or
// never.
type timeAsk struct {
	Name     string   `json:"name"` // of the field that holds the answer
	Question string   `json:"question"`
	Options  []option `json:"options"`
}

// Answered reports whether one is chosen.
func (a timeAsk) Answered() bool {
	return slices.ContainsFunc(a.Options, func(o option) bool { return o.Chosen })
}

// timeAsks are the questions about the times, by their fields.
func (f termsForm) timeAsks() map[string]timeAsk {
	asks := map[string]timeAsk{}
	for name, value := range map[string]string{"opens": f.Opens, "closes": f.Closes, "event": f.Event} {
		which, instead := f.timeAnswers(name)
		if list := twiceOptions(value, f.zoneOf(name), which); list != nil {
			asks[name] = timeAsk{name + "_which", "Clocks go back over this time, so it comes twice. Which one is meant?", list}
		}
		if list := insteadOptions(value, f.zoneOf(name), instead); list != nil {
			asks[name] = timeAsk{name + "_take", "Clocks jump over this time, so it never comes. Which one in its place?", list}
		}
	}
	return asks
}

// timeSaid says a time back: its weekday, its zone, and what it is in UTC.
func timeSaid(local, zone, which, instead string) string {
	r := formReader{}
	m := r.moment("", taken(local, instead, zone), zone, which)
	if m.UTC.IsZero() {
		return ""
	}
	words := timeWords(m)
	if m.Zone == "UTC" {
		return words + "."
	}
	utc := m.UTC.Format("15:04 UTC")
	if local, err := giveaway.LoadZone(m.Zone); err == nil && m.UTC.In(local).Weekday() != m.UTC.Weekday() {
		utc += " on " + m.UTC.Format("Monday 2 January")
	}
	return words + "; that is " + utc + "."
}

func twiceOptions(local, zone, which string) []option {
	var twice giveaway.RepeatedError
	if _, err := giveaway.ParseMoment(wallTime(local), zone, 0); !errors.As(err, &twice) {
		return nil
	}
	return []option{
		{"1", "the first, before clocks go back: " + twice.First.Format("15:04 UTC"), which == "1"},
		{"2", "the second, after clocks went back: " + twice.Second.Format("15:04 UTC"), which == "2"},
	}
}

func insteadOptions(local, zone, instead string) []option {
	var skipped giveaway.SkippedError
	if _, err := giveaway.ParseMoment(wallTime(local), zone, 0); !errors.As(err, &skipped) {
		return nil
	}
	var list []option
	for _, one := range []string{skipped.Before, skipped.After} {
		if said := timeSaid(one, zone, "", ""); said != "" {
			list = append(list, option{one, strings.TrimSuffix(said, "."), instead == one})
		}
	}
	return list
}
