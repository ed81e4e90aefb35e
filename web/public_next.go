package web

import (
	"strconv"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// nextWords say on the private page of a winner, and of those next in line,
// what comes now. Nobody else sees them: the address stands in them. Stands says
// where the place stands; nothing where claims are not kept here.
func nextWords(g giveaway.Giveaway, mine entries.Private, st entries.Standing, r *draw.Report, stands []string) []string {
	if r == nil || r.Record == nil || st.Place == 0 || mine.Withdrawn {
		return nil
	}
	t := g.Terms
	out := []string{}
	switch settled, gets := settledAs(st.Place, r.Outcome); {
	case settled && !gets:
		return nil
	case settled:
		out = append(out, "The prize is yours.")
		out = append(out, stands...)
	case turn(st.Place, r.Outcome) <= r.Opening.Winners:
		if movedUp(st.Place, r.Opening.Winners, r.Outcome) {
			out = append(out, "It is your turn now: "+skippedBefore(st.Place, r.Outcome)+".")
		}
		if len(stands) == 0 {
			stands = []string{t.Channel + " writes to " + mine.Entry.Typed + ".", answerWithin(t.AnswerDays, lineLeft(r))}
		}
		out = append(out, stands...)
	default:
		n := strconv.Itoa(turn(st.Place, r.Outcome) - r.Opening.Winners)
		out = append(out, "You are next in line, number "+n+": if a winner doesn’t answer or can’t have the prize, it goes to the next in line. "+
			t.Channel+" then writes to "+mine.Entry.Typed+".")
	}
	if t.Host != "" {
		out = append(out, "Questions: "+t.Host)
	}
	return out
}

// turn is a place counted without the skipped ones before it: while it is at
// most the number of winners, the place wins.
func turn(place int, o *draw.Outcome) int {
	n := place
	if o != nil {
		for _, p := range o.Passed {
			if p.Place < place {
				n--
			}
		}
	}
	return n
}

// movedUp reports whether a place that was drawn as next in line has its turn,
// because places before it were skipped.
func movedUp(place, winners int, o *draw.Outcome) bool {
	return place > winners && turn(place, o) <= winners
}

// skippedBefore says how many places before one were skipped.
func skippedBefore(place int, o *draw.Outcome) string {
	return count(int64(place-turn(place, o)), "place before it was skipped", "places before it were skipped")
}

// answerWithin says how long there is, and what comes after it; left says
// whether anybody is next in line.
func answerWithin(days int, left bool) string {
	after := "the prize goes to the next in line"
	if !left {
		after = "the prize is not given"
	}
	return "Answer within " + count(int64(days), "day", "days") + " of that; after that " + after + ". Look among the unwanted mail too."
}

// lineLeft reports whether anybody is next in line, and has no turn yet.
func lineLeft(r *draw.Report) bool {
	passed := 0
	if r.Outcome != nil {
		passed = len(r.Outcome.Passed)
	}
	return len(r.Record.Places)-passed > r.Opening.Winners
}

// settledAs reports whether the newest outcome has a place, and whether it
// gets the prize.
func settledAs(place int, o *draw.Outcome) (settled, gets bool) {
	if o == nil {
		return false, false
	}
	for _, p := range o.Confirmed {
		if p.Place == place {
			return true, true
		}
	}
	for _, p := range o.Passed {
		if p.Place == place {
			return true, false
		}
	}
	return false, false
}
