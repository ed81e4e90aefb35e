package show

import (
	"strconv"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Sentence is the one sentence of a picture that can be read aloud. It holds
// nothing that is not in f.
func (f Facts) Sentence(st State, now time.Time) string {
	if f.G.State == giveaway.StateCancelled {
		return "This giveaway was called off."
	}
	switch st.Step {
	case Soon:
		return "Soon it is drawn who gets " + f.G.Terms.PrizeWithin() + "."
	case Tickets:
		if f.Tickets == 1 {
			return "One ticket is in the draw."
		}
		return number(f.Tickets) + " tickets are in the draw."
	case Locked:
		return "The list is locked: nothing can be added or taken away any more."
	case Number:
		return f.numberSentence(now)
	case Opened:
		return f.openedSentence()
	case Line:
		return "Every ticket has its own number now. The smallest comes first."
	case First:
		return f.placeSentence(st.Place)
	case Alternates:
		return f.alternatesSentence()
	}
	if f.Tickets == 0 {
		return "The list was empty, so nobody is drawn."
	}
	return "Is it your ticket? Open the page that came with it: it says what to do now."
}

func (f Facts) numberSentence(now time.Time) string {
	if f.G.Opening.Beacon == nil {
		return "This draw waits for no public number: the locked numbers alone decide."
	}
	verb := " appeared, made by a network that nobody here runs."
	if f.waiting(now) {
		verb = " appears, made by a network that nobody here runs."
	}
	return "At " + f.clock(f.G.DrawAt()) + " a public number" + verb
}

func (f Facts) openedSentence() string {
	text := "The secret number that was locked in advance is opened: the draw is made."
	if len(f.G.Opening.Seals) > 1 {
		text = "The secret numbers that were locked in advance are opened: the draw is made."
	}
	for _, who := range f.Missing {
		text += " The number of " + who + " did not arrive; the draw holds without it."
	}
	return text
}

func (f Facts) placeSentence(n int) string {
	if n < 1 || n > len(f.Places) {
		return ""
	}
	t := f.Places[n-1].Ticket
	if name := f.Names[t]; name != "" {
		return capital(ordinal(n)) + " is " + name + ", with the ticket that ends in " + ending(t) + ": it wins."
	}
	return capital(ordinal(n)) + " is the ticket that ends in " + ending(t) + ": it wins."
}

func (f Facts) alternatesSentence() string {
	var ends []string
	for _, p := range f.Next[:min(maxNext, len(f.Next))] {
		ends = append(ends, ending(p.Ticket))
	}
	switch len(ends) {
	case 0:
		return "Nobody is next in line."
	case 1:
		return "If the prize can’t be given, it goes to the ticket that ends in " + ends[0] + "."
	}
	return "If the prize can’t be given, it goes to the tickets that end in " + strings.Join(ends, ", then ") + "."
}

// maxNext is how many of those next in line the stage shows.
const maxNext = 5

// Button is the label of the button that goes on; "" where nothing follows.
func (f Facts) Button(st State) string {
	switch st.Step {
	case Soon:
		return "Show how many tickets"
	case Tickets:
		return "Show the list"
	case Locked:
		if f.G.Opening.Beacon == nil {
			return "Show what decides"
		}
		return "Show the public number"
	case Number:
		if len(f.G.Opening.Seals) > 1 {
			return "Open the numbers"
		}
		return "Open the number"
	case Opened:
		return "Show the line"
	case Line, First:
		if n := st.Place + 1; n <= f.shown() {
			return "Show the " + ordinal(n)
		}
		return "Show what to do now"
	}
	return ""
}

// Heed is what whoever holds the remote has to know before the next press; "" for
// nothing.
func (f Facts) Heed(st State) string {
	switch {
	case st.Held:
		return "On hold: no press goes on until you let it. Nothing else is held."
	case st.Step == Soon && (f.G.State == giveaway.StateOpen || f.G.State == giveaway.StateFreezing):
		return "Lock the list on the desk before you go on."
	case st.Step == Number && f.G.State == giveaway.StateFrozen:
		return "The next press makes the draw. It is made once and can’t be taken back."
	case (st.Step == Opened || st.Step == Line) && f.G.State == giveaway.StateDrawn:
		return "The draw is made. Whatever is pressed, everybody can see the result from " + f.clock(f.G.Released) + " on."
	case (st.Step == Next || st.Step == Alternates) && len(f.Places) > 0:
		return "That was the last picture. Go to the desk and write to the winner."
	case st.Step == Next || st.Step == Alternates:
		return "That was the last picture."
	}
	return ""
}

// shown is how many places the show has, from what everybody knows before the
// draw: a place needs a prize and a ticket.
func (f Facts) shown() int {
	return int(min(int64(f.G.Opening.Winners), f.Tickets))
}

// Coming is the sentence of the picture that follows, as far as it can be
// known: the remote shows it, so that it can be read ahead. A place's sentence
// leaves open which ticket it is.
func (f Facts) Coming(st State, now time.Time) string {
	step, place, ok := st.ahead(f.shown())
	if !ok {
		return ""
	}
	switch {
	case step == Tickets && f.Print == (draw.Digest{}):
		return "How many tickets there are, once the list is locked."
	case step == First:
		return capital(ordinal(place)) + " is the ticket that ends in …"
	}
	f.Missing, f.Places, f.Next, f.Names = nil, nil, nil, nil
	return f.Sentence(State{Draw: st.Draw, Step: step, Place: place}, now)
}

// clock is a time of day in the event's zone, to the second: "8:30:00 pm New
// York time".
func (f Facts) clock(at time.Time) string {
	zone, place := time.UTC, "UTC"
	if loc, err := giveaway.LoadZone(f.G.Terms.Event.Zone); err == nil && f.G.Terms.Event.Zone != "UTC" {
		name := f.G.Terms.Event.Zone
		zone, place = loc, strings.ReplaceAll(name[strings.LastIndexByte(name, '/')+1:], "_", " ")+" time"
	}
	return at.In(zone).Format("3:04:05 pm ") + place
}

// ending are the last four characters of a ticket.
func ending(t draw.Ticket) string { s := t.String(); return s[len(s)-4:] }

var ordinals = []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}

func ordinal(n int) string {
	if n > 0 && n < len(ordinals) {
		return ordinals[n]
	}
	return "number " + number(int64(n))
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// number writes 3206 as "3,206".
func number(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
