package web

import (
	"io/fs"
	"slices"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// The rows of the day-book about drawn places. They name nobody.
const (
	rowLetter    = "Letter sent"
	rowSkill     = "Skill question"
	rowAnswer    = "Answer"
	rowSkipped   = "Skipped"
	rowBack      = "Given back"
	rowConfirmed = "Confirmed"
	rowAsked     = "The sponsor asks"
	rowStock     = "In stock"
	rowParcel    = "Parcel"
)

// placed adds what became of the drawn places, from the letter to the parcel.
// What was written down stands in the log: it stays when an answer is corrected,
// a prize comes back, or personal data is deleted. Confirmed are the times at
// which places were confirmed, also those that were skipped since.
func (p *dayPage) placed(all []claims.Place, log []giveaway.LogLine, confirmed map[int]time.Time) {
	lines := map[int][]claims.PlaceLine{}
	for _, l := range log {
		if one, ok := claims.ReadPlaceLine(l); ok {
			lines[one.Place] = append(lines[one.Place], one)
		}
	}
	for _, one := range all {
		who := placeWords(one.N, p.G.Opening.Winners) + ": "
		if s := one.Skill; s.Outcome != "" {
			p.add(rowSkill, who+skillWords(s)+".", s.At())
		}
		for _, l := range withOlder(lines[one.N], one) {
			if row := rowsByLine[l.What]; row[0] != "" {
				p.add(row[0], who+placeLineText(l, one, row[1]), l.At)
			}
		}
		p.add(rowConfirmed, who+"gets the prize.", confirmed[one.N])
		if one.Passed == nil {
			continue
		}
		switch again := !confirmed[one.N].IsZero(); {
		case again && (one.Passed.Reason == draw.Declined || one.Passed.Reason == draw.Withdrawn):
			p.add(rowBack, who+skippedWhy(one)+".", one.Passed.At)
		default:
			p.add(rowSkipped, who+skippedWhy(one)+".", one.Passed.At)
		}
	}
	p.newestFirst()
}

// rowsByLine are the name and the words of a row, by what the log says.
var rowsByLine = map[string][2]string{
	claims.LineLetter:     {rowLetter, "you said that the letter is sent."},
	claims.LineAnswer:     {rowAnswer, "an answer came."},
	claims.LineChange:     {rowAnswer, "you wrote down another answer, which took the place of the one before."},
	claims.LineReply:      {rowAnswer, "answered the sponsor’s question."},
	claims.MarkInStock:    {rowStock, "the sponsor has it in stock."},
	claims.MarkCantHave:   {rowAsked, "the sponsor can’t get the size."},
	claims.MarkAskAddress: {rowAsked, "the sponsor has a question about the address."},
	claims.MarkShipped:    {rowParcel, "the parcel is on its way."},
	claims.MarkDelivered:  {rowParcel, "the parcel was delivered."},
}

// placeLineText says more where it is still known: that an answer was a No.
func placeLineText(l claims.PlaceLine, p claims.Place, words string) string {
	if p.Sent != nil && p.Sent.Declined && p.Sent.At.Equal(l.At) && rowsByLine[l.What][0] == rowAnswer {
		return "would rather not have the prize."
	}
	return words
}

// withOlder adds what is known of a place though the log has no line of it: it
// was written down by an older version.
func withOlder(lines []claims.PlaceLine, p claims.Place) []claims.PlaceLine {
	missing := func(what string, at time.Time) bool {
		return !slices.ContainsFunc(lines, func(l claims.PlaceLine) bool { return l.At.Equal(at) && rowsByLine[l.What][0] == rowsByLine[what][0] })
	}
	for _, n := range []*claims.Notice{p.Lapsed, p.Notice} {
		if n != nil && missing(claims.LineLetter, n.At) {
			lines = append(lines, claims.PlaceLine{Place: p.N, What: claims.LineLetter, At: n.At})
		}
	}
	if p.Sent != nil && missing(claims.LineAnswer, p.Sent.At) {
		lines = append(lines, claims.PlaceLine{Place: p.N, What: claims.LineAnswer, At: p.Sent.At})
	}
	for _, m := range p.Shipping.Marks {
		if missing(m.Kind, m.At) {
			lines = append(lines, claims.PlaceLine{Place: p.N, What: m.Kind, At: m.At})
		}
	}
	return lines
}

// confirmedTimes are when places were confirmed, by every outcome that was
// published. What can't be read is left out.
func confirmedTimes(files fs.FS, all []claims.Place) map[int]time.Time {
	times := map[int]time.Time{}
	for n := 1; ; n++ {
		name, text, err := keptText(files, draw.OutcomeFile, n)
		if err != nil {
			break
		}
		before, err := draw.ParseOutcome(name, text)
		if err != nil {
			continue
		}
		for _, one := range before.Confirmed {
			times[one.Place] = one.At
		}
	}
	for _, one := range all {
		if one.Confirmed != nil {
			times[one.N] = one.Confirmed.At
		}
	}
	return times
}
