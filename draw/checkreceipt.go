package draw

import (
	"cmp"
	"slices"
)

// A held receipt is one that the person who checks gave.
type held struct {
	Receipt
	name string
	text []byte
}

// checkReceipts is what the protocol says of receipts and entry texts.
func (c *checker) checkReceipts() {
	byTicket := map[Ticket][]held{}
	var order []Ticket
	for _, a := range c.opt.Receipts {
		if c.stopped() {
			return
		}
		h, err := c.receipt(a)
		if err != nil {
			c.err(a.Name, err)
			continue
		}
		if byTicket[h.Ticket] == nil {
			order = append(order, h.Ticket)
		}
		byTicket[h.Ticket] = append(byTicket[h.Ticket], h)
	}
	for _, t := range order {
		c.checkHeld(t, byTicket[t])
	}
	c.checkEntries(byTicket)
}

func (c *checker) receipt(a Attachment) (held, error) {
	text, err := OpenNote(a.Name, a.Data, c.verifier)
	if err != nil {
		return held{}, err
	}
	r, err := ParseReceipt(a.Name, text)
	if err == nil && r.Draw != c.Draw {
		err = &SyntaxError{a.Name, 2, "want a receipt of draw " + c.Draw}
	}
	return held{r, a.Name, text}, err
}

// checkHeld goes through the receipts of one ticket, the latest last.
func (c *checker) checkHeld(t Ticket, list []held) {
	slices.SortStableFunc(list, func(a, b held) int { return a.Entered.Compare(b.Entered) })
	list = slices.CompactFunc(list, func(a, b held) bool { return string(a.text) == string(b.text) })
	for i, h := range list {
		if i > 0 && h.Entered.Equal(list[i-1].Entered) {
			c.fault(h.name, "two different receipts of one ticket with one time: proof of two faces")
		}
		c.checkGiven(h)
	}
	latest := list[len(list)-1]
	switch standing, ok := c.lists.found[t]; {
	case c.look(FreezeFile) == absent:
		c.remark(latest.name, "ticket %s is not yet in a list", t.Grouped())
	case !c.listsSound():
	case !ok:
		c.fault(latest.name, "ticket %s stands in neither list", t.Grouped())
	case !standing.In:
		c.ok(latest.name, "ticket %s stands in %s, line %d: %s", t.Grouped(), ExcludedFile, standing.Line, standing.Reason)
	case standing.Commitment == latest.Commitment:
		c.ok(latest.name, "ticket %s stands in %s, line %d, with this commitment", t.Grouped(), RollFile, standing.Line)
	case len(list) > 1:
		c.fault(latest.name, "want commitment %s in %s, line %d; there is %s", latest.Commitment, RollFile, standing.Line, standing.Commitment)
	default:
		c.remark(latest.name, "in %s, line %d, with another commitment: changed after that, or a fault: "+
			"ask for the later receipt and its entry text", RollFile, standing.Line)
	}
}

func (c *checker) listsSound() bool {
	return c.lists.rollFault == nil && c.lists.excludedFault == nil && (c.lists.roll.Hash != Digest{})
}

// checkGiven compares a receipt with the opening that it names.
func (c *checker) checkGiven(h held) {
	i := slices.IndexFunc(c.openings, func(o Opening) bool { return Hash(o.Text()) == h.Opening })
	if i < 0 && c.openings == nil {
		return // a kept one is missing or unread, and has been reported
	}
	if i < 0 {
		c.fault(h.name, "names opening %s, which is not published", h.Opening)
		return
	}
	o := c.openings[i]
	switch {
	case c.Freeze != nil && !h.Entered.Before(c.Freeze.Frozen):
		c.fault(h.name, "want entered before frozen, %s; this is %s", FormatTime(c.Freeze.Frozen), FormatTime(h.Entered))
	case i+1 < len(c.openings) && !h.Entered.Before(c.openings[i+1].Revised):
		c.fault(h.name, "want entered before %s, when the opening it names was revised", FormatTime(c.openings[i+1].Revised))
	case h.Entered.Before(o.Opens) || !h.Entered.Before(o.Closes):
		c.late = true
		c.remark(h.name, "imported or changed outside the entry time: %s", FormatTime(h.Entered))
	}
}

// checkEntries compares entry texts with receipts and the roll.
func (c *checker) checkEntries(receipts map[Ticket][]held) {
	email := map[Ticket]string{}
	for _, a := range c.opt.Entries {
		if c.stopped() {
			return
		}
		e, err := ParseEntry(a.Name, a.Data)
		if err != nil {
			c.err(a.Name, err)
			continue
		}
		fits := slices.ContainsFunc(receipts[e.Ticket], func(h held) bool { return h.Commitment == e.Commitment() })
		standing, ok := c.lists.found[e.Ticket]
		inRoll := ok && standing.In && standing.Commitment == e.Commitment()
		switch before := email[e.Ticket]; {
		case e.Draw != c.Draw:
			c.remark(a.Name, "is the entry of another draw, %s", e.Draw)
		case !fits && !inRoll:
			c.remark(a.Name, "fits neither a receipt given here nor the list: its hash is %s", e.Commitment())
		case fits && before != "" && before != e.Email:
			c.fault(a.Name, "names another address than the other entry text of ticket %s", e.Ticket.Grouped())
		default:
			c.ok(a.Name, "is the entry of ticket %s: its hash is the commitment of %s", e.Ticket.Grouped(), fitted(fits, inRoll))
		}
		if fits {
			email[e.Ticket] = cmp.Or(email[e.Ticket], e.Email)
		}
	}
}

func fitted(receipt, roll bool) string {
	if receipt && roll {
		return "the receipt and the list"
	}
	return map[bool]string{true: "a receipt", false: "the list"}[receipt]
}
