package draw

import "time"

// A Receipt is the host's signed word that it took an entry, or a change of
// one. The entrant alone gets it.
type Receipt struct {
	Draw       string
	Opening    Digest // of the opening that stood when the entry was made
	Ticket     Ticket
	Entered    time.Time
	Commitment Digest // of the entry's text
}

// Text is the text that is signed.
func (r Receipt) Text() []byte {
	var p printer
	p.line("evenhand/receipt/v1")
	p.line("draw", r.Draw)
	p.line("opening", r.Opening.String())
	p.line("ticket", r.Ticket.String())
	p.line("entered", FormatTime(r.Entered))
	p.line("commitment", r.Commitment.String())
	return p.Bytes()
}

// ParseReceipt reads the text of a receipt.
func ParseReceipt(file string, text []byte) (Receipt, error) {
	p := newParser(file, text)
	p.literal("evenhand/receipt/v1")
	r := Receipt{Draw: p.id("draw")}
	r.Opening = p.digest("opening", "H of the opening")
	r.Ticket = convert(p, p.value("ticket", "ticket"), ParseTicket)
	r.Entered = p.time("entered")
	r.Commitment = p.digest("commitment", "64 hex")
	p.end()
	return r, p.err
}
