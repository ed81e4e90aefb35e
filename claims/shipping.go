package claims

import (
	"slices"
	"strings"
	"time"

	"evenhand/giveaway"
)

// ShippingWords says in one sentence where the parcel is; "" before the place
// is confirmed. It bears no address, and suits winner, creator and sponsor.
func (p Place) ShippingWords(t giveaway.Terms) string {
	if p.Confirmed == nil {
		return ""
	}
	last, ok := p.Shipping.Latest()
	if !ok {
		return "The prize is confirmed; " + t.Sponsor + " has not written anything about the parcel yet."
	}
	day := dayWords(last.At, t)
	switch last.Kind {
	case MarkInStock:
		return t.Sponsor + " has it in stock (" + day + ")."
	case MarkCantHave:
		return t.Sponsor + " can’t get this size" + p.askWords(AskSize, " and offers others.")
	case MarkAskAddress:
		return t.Sponsor + " has a question about the address" + p.askWords(AskAddress, ".")
	case MarkShipped:
		words := "Shipped on " + day + " with " + last.Carrier
		if last.Number != "" {
			words += ", number " + last.Number
		}
		return words + "."
	case MarkDelivered:
		return "Delivered; noted on " + day + "."
	}
	return ""
}

// askWords says what came of the last question of a kind.
func (p Place) askWords(kind, open string) string {
	asks := slices.DeleteFunc(slices.Clone(p.Asks), func(a Ask) bool { return a.Kind != kind })
	if len(asks) == 0 {
		return "."
	}
	switch r := asks[len(asks)-1].Reply; {
	case r == nil:
		return open + " It waits for the winner’s answer."
	case r.Declined:
		return "; none of those offered suits."
	case kind == AskSize:
		return "; agreed instead: " + r.Size.String() + "."
	}
	return "; it was answered."
}

// dayWords is a day in the giveaway's zone.
func dayWords(at time.Time, t giveaway.Terms) string {
	loc, err := giveaway.LoadZone(t.Event.Zone)
	if err != nil {
		loc = time.UTC
	}
	return strings.TrimSpace(at.In(loc).Format("2 January 2006"))
}
