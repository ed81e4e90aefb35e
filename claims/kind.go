package claims

import (
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// kind finds what the delivery lines are and asks what the carriers need to
// know (testdata/facts/postal.md, sections 5 and 6).
func (c *addressCheck) kind() {
	c.tidy.Kind = eligibility.LineStreet
	if c.postal != "US" && c.postal != "CA" {
		return
	}
	field, line := "line1", ""
	for i, l := range c.a.Lines {
		if k := lineKind(c.a.Lines[:i], l); k != eligibility.LineStreet {
			c.tidy.Kind, field, line = k, lineFields[i], l
			break
		}
	}
	c.reach(field, line)
	if c.tidy.Kind == eligibility.LineStreet {
		c.street()
	}
}

// lineKind is the kind of a line. A mailbox may stand on the line below its
// street.
func lineKind(before []string, line string) eligibility.LineKind {
	line = unitHash(line)
	if k := eligibility.KindOfLine(line); k != eligibility.LineStreet || len(before) == 0 {
		return k
	}
	k := eligibility.KindOfLine(before[len(before)-1] + " " + line)
	if k == eligibility.LinePrivateMailbox || k == eligibility.LineAmbiguousHash {
		return k
	}
	return eligibility.LineStreet
}

// unitHash drops a # that says nothing: in "APT # 4" the word before it says
// what it is, and "PO BOX # 5" is a box.
func unitHash(line string) string {
	words := strings.Fields(strings.ReplaceAll(line, "#", " # "))
	for i := 1; i+1 < len(words); i++ {
		if words[i] != "#" {
			continue
		}
		without := strings.Join(slices.Delete(slices.Clone(words), i, i+1), " ")
		switch eligibility.KindOfLine(without) {
		case eligibility.LinePOBox, eligibility.LineMilitary, eligibility.LineRuralRoute:
			return without
		}
		if unitWords[word(words[i-1])].abbr != "" {
			return without
		}
	}
	return line
}

// reach asks about lines that only some carriers can deliver to.
func (c *addressCheck) reach(field, line string) {
	private := c.terms.Carriers == giveaway.CarriersPrivate
	post := c.terms.Carriers == giveaway.CarriersPost
	about := []string{line, c.terms.Carriers}
	switch c.tidy.Kind {
	case eligibility.LineAmbiguousHash:
		c.askHash(field, line)
	case eligibility.LinePOBox, eligibility.LineGeneralDelivery:
		if post {
			return
		}
		text := "Only the post delivers to a PO Box or General Delivery; other carriers can’t."
		if private {
			text = c.terms.Sponsor + " sends with a carrier that can’t deliver to a PO Box or General Delivery."
		}
		c.ask(field, text+" Do you have a street address?", about)
	case eligibility.LineMilitary, eligibility.LineMilitaryShip:
		if private {
			c.ask(field, c.terms.Sponsor+" sends with a carrier that does not serve military post. Do you have another address?", about)
		}
	case eligibility.LineRuralRoute:
		if private {
			c.ask(field, "The sponsor’s carrier often needs a street name in place of a route and a box. Do you have one?", about)
		}
	}
}

// askHash asks what "# 4" is: Publication 28 allows it for a private mailbox,
// and people type it for a flat.
func (c *addressCheck) askHash(field, line string) {
	cut := strings.LastIndexByte(line, '#')
	if cut < 0 {
		return
	}
	street, number := strings.TrimSpace(line[:cut]), strings.TrimSpace(line[cut+1:])
	offer := func(what, word string) Offer {
		return Offer{Text: what, Values: map[string]string{field: strings.TrimSpace(street + " " + word + " " + number)}}
	}
	c.ask(field, "Is # "+number+" a flat, or a mailbox that you rent at a shop?", []string{line},
		offer("a flat: APT "+number, "APT"), offer("a rented mailbox: PMB "+number, "PMB"))
}

// street asks for a house number and for the number of a flat, where the
// lines seem to lack them.
func (c *addressCheck) street() {
	digits := func(s string) bool { return strings.ContainsAny(s, "0123456789") }
	if !slices.ContainsFunc(c.a.Lines, digits) {
		c.ask("line1", "There is no house number in this address. Is it whole?", c.a.Lines)
	}
	if c.postal != "US" {
		return
	}
	for i, line := range c.a.Lines {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		if i > 0 && i < len(lineFields) && len(words) == 1 && bareNumber(words[0]) {
			c.ask(lineFields[i], "What is "+words[0]+" the number of?", []string{line},
				c.numbered(i, "a flat", "APT "+words[0]), c.numbered(i, "a suite", "STE "+words[0]), c.numbered(i, "a unit", "UNIT "+words[0]))
			continue
		}
		last := unitWords[word(words[len(words)-1])]
		if last.asks {
			c.ask(lineFields[i], "The number after "+words[len(words)-1]+" is missing. Is the line whole?", []string{line})
		}
	}
}

// bareNumber reports what would number a unit but stands alone: 4, 4B, B4.
func bareNumber(w string) bool {
	return len(w) <= 5 && strings.ContainsAny(w, "0123456789") && !strings.ContainsFunc(w, func(r rune) bool {
		return !('0' <= r && r <= '9' || 'A' <= r && r <= 'Z' || 'a' <= r && r <= 'z' || r == '-')
	})
}

// numbered offers a word for the number that stands alone on line i.
func (c *addressCheck) numbered(i int, what, line string) Offer {
	return Offer{Text: what + ": " + line, Values: map[string]string{lineFields[i]: line}}
}
