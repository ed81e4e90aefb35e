package web

import (
	"slices"
	"strings"
	"time"

	"evenhand/giveaway"
)

// An ask is something that may be meant and may be a slip. It is asked once and
// refused never: with the same value sent again it counts. Its id holds the
// value, so that another value is asked about anew.
type ask struct{ ID, Field, Text string }

// The ids of what the form itself filled in.
const (
	askName  = "draw"
	askTable = "table"
)

// farAhead is how far a draw lies ahead before its year is asked about; common
// practice, no source.
const farAhead = 366 * 24 * time.Hour

// asks are all that are due now. What can't be read is a fault, and not asked.
func (f termsForm) asks(now time.Time) []ask {
	r := formReader{}
	t, _ := f.onto(giveaway.Terms{})
	var list []ask
	add := func(field, text string) {
		list = append(list, ask{field + ":" + wallTime(map[string]string{"closes": f.Closes, "event": f.Event}[field]), field, text})
	}
	if f.DisclosureKind == "" && f.Disclosure == "" {
		add("disclosure_kind", "Nothing is said yet about who gave the prize. Choose a sentence, or leave it and go on.")
	}
	if r.zone(f.Zone) != f.Zone {
		return list
	}
	if at := t.Closes.UTC; !at.IsZero() && !at.After(now) {
		add("closes", "This time is over, so nobody could enter. Choose a later one, or leave it for now: it can be changed until you post.")
	}
	if at := t.Event.UTC; !at.IsZero() && at.Sub(now) > farAhead {
		add("event", "The draw would be in "+at.Format("2006")+", more than a year from now. Is that the year? Change it, or leave it and go on.")
	}
	return list
}

// askText says what the form filled in by itself.
func askText(id string) ask {
	switch id {
	case askName:
		return ask{id, "draw", "This name is proposed. It can’t be changed later; change it now or leave it, and go on."}
	case askTable:
		return ask{id, "run_0_from", "These sizes were read from your table. Change them until they are right, or leave them, and go on."}
	}
	return ask{}
}

// askOnce notes what was not asked before, and reports whether there is any.
func (f *termsForm) askOnce(filled []string, now time.Time) bool {
	was, fresh := strings.Fields(f.Asked), filled
	var due []string
	for _, one := range f.asks(now) {
		due = append(due, one.ID)
		if !slices.Contains(was, one.ID) {
			fresh = append(fresh, one.ID)
		}
	}
	f.Asked, f.AskedNow = strings.Join(due, " "), strings.Join(fresh, " ")
	return len(fresh) > 0
}

// askedNow are the questions that the last try to finish has raised.
func (f termsForm) askedNow(now time.Time) giveaway.Problems {
	r := formReader{}
	due := f.asks(now)
	for _, id := range strings.Fields(f.AskedNow) {
		one := askText(id)
		if i := slices.IndexFunc(due, func(a ask) bool { return a.ID == id }); i >= 0 {
			one = due[i]
		}
		if one.Field != "" {
			r.add(one.Field, "%s", one.Text)
		}
	}
	return r.problems
}
