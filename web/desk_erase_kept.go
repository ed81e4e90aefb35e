package web

import (
	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// keptOf says which place a ticket has, "" for none, and what is kept with it:
// the kinds, and none of the values.
func (d *desk) keptOf(c echo.Context, g giveaway.Giveaway, t draw.Ticket, e entries.Entry) (place string, kept []string, err error) {
	kept = entryKinds(e)
	if d.cfg.Claims == nil || g.State != giveaway.StateDrawn {
		return "", kept, nil
	}
	all, err := d.cfg.Claims.Places(c.Request().Context(), now(c), g.ID)
	for _, p := range all {
		if p.Ticket == t {
			return placeWords(p.N, g.Opening.Winners), append(kept, placeKinds(p)...), err
		}
	}
	return "", kept, err
}

// entryKinds are the kinds of what was entered.
func entryKinds(e entries.Entry) []string {
	var kinds []string
	add := func(is bool, kind string) {
		if is {
			kinds = append(kinds, kind)
		}
	}
	add(e.Typed != "", "the e-mail address")
	add(!e.Size.IsZero(), "the size")
	add(e.Live.Country != "", "where they live, and where the parcel would go")
	add(e.AgeRange != "", "the age range")
	add(e.Name != "", "a name to be said on the show")
	add(len(e.Answers) > 0, "answers to your questions")
	return kinds
}

// placeKinds are the kinds of what was asked and answered about a prize.
func placeKinds(p claims.Place) []string {
	var kinds []string
	switch {
	case p.Answer != nil && p.Answer.Declined:
		kinds = append(kinds, "that they would rather not have the prize")
	case p.Answer != nil:
		kinds = append(kinds, "name, postal address and phone number for the parcel")
	}
	if p.Skill.Outcome != "" {
		kinds = append(kinds, "how the skill question went")
	}
	if len(p.Shipping.Marks) > 0 {
		kinds = append(kinds, "what the sponsor wrote about the parcel, and what was answered")
	}
	return kinds
}
