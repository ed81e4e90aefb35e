package draw

import "time"

// Reasons for which a place is passed.
const (
	NoReply  = "no-reply"
	Declined = "declined"
	// Ineligible and Withdrawn are reasons for a pass, too.
)

// A Passed is a place that does not get the prize.
type Passed struct {
	Place  int
	Reason string // no-reply, declined, ineligible or withdrawn
	At     time.Time
}

// A Confirmed is a place that gets the prize.
type Confirmed struct {
	Place int
	At    time.Time
}

// An Outcome is what became of the places, replaced as things happen.
type Outcome struct {
	Draw      string
	Record    Digest // of the record's text
	Revision  int
	Replaces  Digest      // only where Revision > 1
	Passed    []Passed    // by place
	Confirmed []Confirmed // by place
}

// Text is the text that is signed.
func (o Outcome) Text() []byte {
	var p printer
	p.line("evenhand/outcome/v1")
	p.line("draw", o.Draw)
	p.line("record", o.Record.String())
	p.line("revision", itoa(int64(o.Revision)))
	if o.Revision > 1 {
		p.line("replaces", o.Replaces.String())
	}
	for _, q := range o.Passed {
		p.line("passed", itoa(int64(q.Place)), q.Reason, FormatTime(q.At))
	}
	for _, q := range o.Confirmed {
		p.line("confirmed", itoa(int64(q.Place)), FormatTime(q.At))
	}
	return p.Bytes()
}

// ParseOutcome reads the text of an outcome. Turns are for [Check].
func ParseOutcome(file string, text []byte) (Outcome, error) {
	p := newParser(file, text)
	p.literal("evenhand/outcome/v1")
	o := Outcome{Draw: p.id("draw")}
	o.Record = p.digest("record", "H of record.txt")
	o.Revision = int(p.number("revision", 1))
	if o.Revision > 1 {
		o.Replaces = p.digest("replaces", "H of the outcome before")
	}
	gone, last := map[int]bool{}, 0
	for p.at("passed") {
		v := p.fields("passed", "place", "reason", "time")
		q := Passed{p.nextPlace(v[0], &last), p.reason(v[1]), convert(p, v[2], ParseTime)}
		o.Passed, gone[q.Place] = append(o.Passed, q), true
	}
	last = 0
	for p.at("confirmed") {
		v := p.fields("confirmed", "place", "time")
		q := Confirmed{p.nextPlace(v[0], &last), convert(p, v[1], ParseTime)}
		if p.err == nil && gone[q.Place] {
			p.fail("want place %d either passed or confirmed", q.Place)
		}
		o.Confirmed = append(o.Confirmed, q)
	}
	p.end()
	return o, p.err
}

// nextPlace reads a place that stands after the last one.
func (p *parser) nextPlace(s string, last *int) int {
	n := p.least(s, 1)
	switch {
	case p.err != nil:
	case n > maxPlaces:
		p.fail("want a place of %d at most", maxPlaces)
	case n <= int64(*last):
		p.fail("want the places in ascending order, each once")
	}
	*last = int(n)
	return int(n)
}

func (p *parser) reason(s string) string {
	switch s {
	case NoReply, Declined, Ineligible, Withdrawn:
	default:
		p.fail("want a reason of no-reply, declined, ineligible, withdrawn")
	}
	return s
}
