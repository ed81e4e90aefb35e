package web

import (
	"evenhand/claims"
)

// The rows of the day-book about drawn places. They name nobody.
const (
	rowLetter    = "Letter sent"
	rowSkill     = "Skill question"
	rowAnswer    = "Answer"
	rowSkipped   = "Skipped"
	rowConfirmed = "Confirmed"
	rowParcel    = "Parcel"
)

// placed adds what became of the drawn places, from the letter to the parcel.
func (p *dayPage) placed(all []claims.Place) {
	for _, one := range all {
		who := placeWords(one.N, p.G.Opening.Winners) + ": "
		if one.Notice != nil {
			p.add(rowLetter, who+"you said that the letter is sent.", one.Notice.At)
		}
		if s := one.Skill; s.Outcome != "" {
			p.add(rowSkill, who+skillWords(s)+".", s.At())
		}
		if one.Sent != nil {
			p.add(rowAnswer, who+answerSaid(*one.Sent), one.Sent.At)
		}
		if one.Passed != nil {
			p.add(rowSkipped, who+skippedWhy(one)+".", one.Passed.At)
		}
		if one.Confirmed != nil {
			p.add(rowConfirmed, who+"gets the prize.", one.Confirmed.At)
		}
		for _, m := range one.Shipping.Marks {
			if words := parcelSaid[m.Kind]; words != "" {
				p.add(rowParcel, who+words, m.At)
			}
		}
	}
	p.newestFirst()
}

var parcelSaid = map[string]string{claims.MarkShipped: "the parcel is on its way.", claims.MarkDelivered: "the parcel was delivered."}

// answerSaid says that an answer came, and nothing of what is in it.
func answerSaid(a claims.Answer) string {
	if a.Declined {
		return "would rather not have the prize."
	}
	return "an answer came."
}
