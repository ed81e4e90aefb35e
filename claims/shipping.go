package claims

import (
	"slices"
	"strings"
	"time"

	"evenhand/giveaway"
)

// A Wait is why a confirmed prize can't be sent yet.
type Wait string

const (
	WaitNone   Wait = ""       // it can be sent, or was
	WaitWinner Wait = "winner" // a question to the winner is open
	WaitOffer  Wait = "offer"  // the size can't be had, and the sponsor offers no other
	WaitSuits  Wait = "suits"  // the size can't be had, and nothing on offer suits the winner
)

// Waits says what a confirmed prize waits for.
func (p Place) Waits() Wait {
	if p.Confirmed == nil || p.Shipping.Sent() {
		return WaitNone
	}
	if len(p.OpenAsks()) > 0 {
		return WaitWinner
	}
	return p.sizeWaits()
}

// sizeWaits looks at the last mark about the size. An answer that the creator
// wrote down later settles it.
func (p Place) sizeWaits() Wait {
	wait, asked := WaitNone, 0
	for _, m := range p.Shipping.Marks {
		if m.asks() {
			asked++
		}
		later := p.Sent != nil && p.Sent.At.After(m.At)
		switch {
		case m.Kind == MarkInStock, m.Kind == MarkCantHave && later:
			wait = WaitNone
		case m.Kind == MarkCantHave && !m.asks():
			wait = WaitOffer
		case m.Kind == MarkCantHave:
			wait = WaitNone
			if asked <= len(p.Asks) && p.Asks[asked-1].Reply != nil && p.Asks[asked-1].Reply.Declined {
				wait = WaitSuits
			}
		}
	}
	return wait
}

// OpenAsks are the sponsor's questions that the winner can still answer.
func (p Place) OpenAsks() []Ask {
	var open []Ask
	for _, a := range p.Asks {
		if a.Open() {
			open = append(open, a)
		}
	}
	return open
}

// Stocked reports whether the sponsor has in stock what is to be sent now.
func (p Place) Stocked() bool {
	m, ok := p.stocked()
	return ok && p.sizeSettled() && p.saidOf(m)
}

// saidOf reports whether a mark was said of the size that is to be sent now. A
// mark that does not say of which falls with the next answer.
func (p Place) saidOf(m Mark) bool {
	if p.Answer == nil || m.Size == p.Answer.Size {
		return true
	}
	return m.Size.IsZero() && !slices.ContainsFunc(p.changes(), func(c Change) bool { return c.At.After(m.At) })
}

// sizeSettled reports whether the size to be sent is known.
func (p Place) sizeSettled() bool { return !p.asking(AskSize) && p.sizeWaits() == WaitNone }

// asking reports whether a question of a kind is open.
func (p Place) asking(kind string) bool {
	return slices.ContainsFunc(p.OpenAsks(), func(a Ask) bool { return a.Kind == kind })
}

// ShippingWords says in a sentence or a few where the parcel is; "" before the
// place is confirmed. It bears no address, and suits winner, creator and
// sponsor.
func (p Place) ShippingWords(t giveaway.Terms) string {
	if p.Confirmed == nil || !p.Erased.IsZero() {
		return ""
	}
	if p.Shipping.Sent() {
		last, _ := p.Shipping.Latest()
		return sentWords(last, t)
	}
	var words []string
	for _, a := range p.OpenAsks() {
		words = append(words, a.words(t))
	}
	words = append(words, p.settledWords(t)...)
	if len(words) == 0 {
		return "The prize is confirmed; " + t.Sponsor + " has not written anything about the parcel yet."
	}
	return strings.Join(words, " ")
}

// words say what an open question is about.
func (a Ask) words(t giveaway.Terms) string {
	if a.Kind == AskSize {
		return t.Sponsor + " can’t get this size and offers " + sizeList(a.Offers) + ". That waits for the winner’s answer."
	}
	return t.Sponsor + " has a question about the address. It waits for the winner’s answer."
}

// settledWords say what came of the questions, and what is in stock.
func (p Place) settledWords(t giveaway.Terms) []string {
	var words []string
	switch p.sizeWaits() {
	case WaitOffer:
		words = append(words, t.Sponsor+" can’t get this size and has no other to offer.")
	case WaitSuits:
		words = append(words, t.Sponsor+" can’t get this size, and nothing that it offered suits.")
	}
	if p.agreed() && p.sizeSettled() {
		words = append(words, "Agreed instead: "+p.Answer.Size.String()+".")
	}
	if asked := slices.ContainsFunc(p.Asks, func(a Ask) bool { return a.Kind == AskAddress }); asked && !p.asking(AskAddress) {
		words = append(words, t.Sponsor+" had a question about the address; it was answered.")
	}
	switch m, ok := p.stocked(); {
	case !ok || !p.sizeSettled():
	case p.saidOf(m):
		words = append(words, t.Sponsor+" has it in stock ("+dayWords(m.At, t)+").")
	case !m.Size.IsZero():
		words = append(words, t.Sponsor+" had "+m.Size.String()+" in stock ("+dayWords(m.At, t)+"); the size is "+p.Answer.Size.String()+" now.")
	}
	return words
}

// agreed reports whether another size was agreed on because one can't be had:
// by an answer to a question, or by what the creator wrote down since.
func (p Place) agreed() bool {
	for _, a := range p.Asks {
		if a.Reply != nil && a.Reply.Counts && !a.Reply.Size.IsZero() {
			return true
		}
	}
	return slices.ContainsFunc(p.Shipping.Marks, func(m Mark) bool {
		return m.Kind == MarkCantHave && p.Sent != nil && p.Sent.At.After(m.At)
	})
}

// stocked is the sponsor's latest mark that a size is in stock; false where it
// said since that one can't be had.
func (p Place) stocked() (last Mark, ok bool) {
	for _, m := range p.Shipping.Marks {
		switch m.Kind {
		case MarkInStock:
			last, ok = m, true
		case MarkCantHave:
			ok = false
		}
	}
	return last, ok
}

func sentWords(m Mark, t giveaway.Terms) string {
	day := dayWords(m.At, t)
	if m.Kind == MarkDelivered {
		return "Delivered; noted on " + day + "."
	}
	words := "Shipped on " + day + " with " + m.Carrier
	if m.Number != "" {
		words += ", number " + m.Number
	}
	return words + "."
}

// WinnerWords are ShippingWords for the winner, with what to expect next.
func (p Place) WinnerWords(t giveaway.Terms) string {
	words := p.ShippingWords(t)
	switch p.Waits() {
	case WaitWinner:
		words += " So " + t.Sponsor + " has a question for you; " + t.Channel + " sends you a link to a page where you can answer it."
	case WaitOffer, WaitSuits:
		words += " " + t.Channel + " writes to you about it."
	}
	return words
}

// dayWords is a day in the giveaway's zone.
func dayWords(at time.Time, t giveaway.Terms) string {
	loc, err := giveaway.LoadZone(t.Event.Zone)
	if err != nil {
		loc = time.UTC
	}
	return strings.TrimSpace(at.In(loc).Format("2 January 2006"))
}
