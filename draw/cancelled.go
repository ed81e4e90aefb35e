package draw

import "time"

// A Cancelled explains a draw that will never be made. It stands only where
// there is no record.
type Cancelled struct {
	Draw      string
	Opening   Digest // of the opening's text
	At        time.Time
	Reason    string // a short code such as prize-withdrawn
	Successor string // the draw that replaces this one, or ""
}

// Text is the text that is signed.
func (c Cancelled) Text() []byte {
	var p printer
	p.line("evenhand/cancelled/v1")
	p.line("draw", c.Draw)
	p.line("opening", c.Opening.String())
	p.line("cancelled", FormatTime(c.At))
	p.line("reason", c.Reason)
	if c.Successor != "" {
		p.line("successor", c.Successor)
	}
	return p.Bytes()
}

// ParseCancelled reads the text of a cancellation.
func ParseCancelled(file string, text []byte) (Cancelled, error) {
	p := newParser(file, text)
	p.literal("evenhand/cancelled/v1")
	c := Cancelled{Draw: p.id("draw")}
	c.Opening = p.digest("opening", "H of opening.txt")
	c.At = p.time("cancelled")
	c.Reason = p.role(p.value("reason", "code"), "a reason's code")
	if p.at("successor") {
		c.Successor = p.id("successor")
		if p.err == nil && c.Successor == c.Draw {
			p.fail("want a successor with another draw id")
		}
	}
	p.end()
	return c, p.err
}
