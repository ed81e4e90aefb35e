package web

import (
	"time"

	"evenhand/claims"
	"evenhand/giveaway"
)

// A turnWords says after the draw whose turn it is, until when, and which press
// comes next: on the day-book, the result and the desk's first page.
type turnWords struct {
	Head  string // what is so, where "The draw is made." is too little
	Lead  string
	When  Stamp
	Until *leftTime
	Then  string
	Next  step // zero: nothing waits
}

// turnNow looks first for what waits for the creator, then for the letter whose
// time ends first, then for a parcel. Sponsor says whether the sponsor has a page.
func turnNow(g giveaway.Giveaway, all []claims.Place, sponsor bool, at time.Time) turnWords {
	var chosen *claims.Place
	var w turnWords
	for i, one := range all {
		if next := waitsForYou(one, g.ID, sponsor); next.Text != "" {
			chosen, w = &all[i], turnWords{Lead: placed1(g, one), Next: next}
			break
		}
	}
	if chosen == nil {
		if chosen = firstToEnd(all); chosen != nil {
			w = letterOut(g, *chosen, all, at)
		}
	}
	if chosen == nil {
		w.Lead = parcelLead(g, all)
	}
	for i, one := range all {
		if one.Open() && &all[i] != chosen {
			w.Then += " " + placed1(g, one)
		}
	}
	w.ungiven(g, all)
	return w
}

// placed1 says how one place stands: "Winner: the letter is ready."
func placed1(g giveaway.Giveaway, p claims.Place) string {
	return placeWords(p.N, g.Opening.Winners) + ": " + standWords(p) + "."
}

// firstToEnd is the open place whose time to answer ends first; nil for none.
func firstToEnd(all []claims.Place) (first *claims.Place) {
	for i, one := range all {
		if one.Open() && one.Notice != nil && (first == nil || one.Notice.Until.Before(first.Notice.Until)) {
			first = &all[i]
		}
	}
	return first
}

// letterOut says until when a winner can answer, and what comes then.
func letterOut(g giveaway.Giveaway, p claims.Place, all []claims.Place, at time.Time) turnWords {
	lost := "the next in line has its turn."
	if !anyLeft(all) {
		lost = "the prize is not given, since nobody is next in line any more."
	}
	return turnWords{
		Lead: placed1(g, p), When: stamp("There is time to answer until", p.Notice.Until, g.Terms.Event.Zone), Until: leftUntil(p.Notice.Until, at),
		Then: "When an answer comes, you read it and confirm. If none comes by then, you skip this place, and " + lost,
		Next: step{"Go to this place", placePath(g.ID, p.N)},
	}
}

// anyLeft reports whether somebody is still next in line.
func anyLeft(all []claims.Place) bool {
	for _, one := range all {
		if one.Turn == nil {
			return true
		}
	}
	return false
}

// parcelLead says where the first parcel is that has not arrived, or the last.
func parcelLead(g giveaway.Giveaway, all []claims.Place) (words string) {
	for _, one := range all {
		if one.Confirmed == nil {
			continue
		}
		words = placeWords(one.N, g.Opening.Winners) + ": " + one.ShippingWords(g.Terms)
		if last, _ := one.Shipping.Latest(); last.Kind != claims.MarkDelivered {
			break
		}
	}
	return words
}

// ungiven says which prizes nobody can get any more.
func (w *turnWords) ungiven(g giveaway.Giveaway, all []claims.Place) {
	standing := 0
	for _, one := range all {
		if one.Passed == nil {
			standing++
		}
	}
	none := g.Opening.Winners - standing
	switch {
	case len(all) == 0 || none <= 0:
	case standing == 0:
		w.Head, w.Lead = wholeUngiven(g.Opening.Winners), "Every place that was drawn was skipped, and nobody is next in line any more. Nothing more is drawn."
	default:
		w.Then += " " + capitalized(many(int64(none), "prize was", "prizes were")) + " not given: nobody is next in line any more."
	}
}

// wholeUngiven is the heading where no prize was given.
func wholeUngiven(winners int) string {
	if winners > 1 {
		return "The prizes were not given."
	}
	return "The prize was not given."
}

// sayTurn is the day-book's head after the draw.
func (p *dayPage) sayTurn(w turnWords, at time.Time) {
	if w.Head != "" {
		p.Head = w.Head
	}
	if w.Lead != "" {
		p.Lead, p.Turned = w.Lead, true
	}
	p.When, p.Until, p.Then = w.When, w.Until, w.Then
	if w.Until != nil { // the page says something else then
		p.Turn = &nextLook{At: w.When.UTC, Now: at.UTC().Format(time.RFC3339), When: w.When}
	}
	if w.Next.Text != "" {
		p.Next, p.More = w.Next, append([]step{{"See the result", p.path("result")}}, p.More...)
	}
}
