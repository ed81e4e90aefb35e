package draw

import (
	"fmt"
	"time"
)

// checkOutcomes is checks 1, 2, 7 and 8 for outcome.txt and those kept.
func (c *checker) checkOutcomes() {
	last, ok := c.outcome(OutcomeFile, 0)
	if !ok {
		return
	}
	c.Outcome = &last
	for n := 1; n < last.Revision; n++ {
		name := KeptFile(OutcomeFile, n)
		if !c.has(name) {
			c.fault(name, "want the outcome of revision %d kept here", n)
			return
		}
		o, ok := c.outcome(name, n)
		if !ok {
			return
		}
		c.outcomes = append(c.outcomes, o)
	}
	c.outcomes = append(c.outcomes, last)
	if c.Record == nil || c.Freeze == nil {
		return
	}
	faults := c.Count(Fault)
	before := Outcome{}
	for _, o := range c.outcomes {
		c.checkOutcome(before, o)
		before = o
	}
	if c.Count(Fault) == faults {
		c.ok(OutcomeFile, "revision %d: %d passed, %d confirmed, each in its turn", last.Revision, len(last.Passed), len(last.Confirmed))
	}
}

// outcome reads one outcome note; n is the revision that it must have, 0 for any.
func (c *checker) outcome(name string, n int) (Outcome, bool) {
	text := c.note(name)
	if text == nil {
		return Outcome{}, false
	}
	o, err := ParseOutcome(name, text)
	if err == nil && n != 0 && o.Revision != n {
		err = &SyntaxError{name, 4, fmt.Sprintf("want revision %d", n)}
	}
	if err != nil {
		c.err(name, err)
		return o, false
	}
	c.chained(name, o.Draw, "record", o.Record, RecordFile)
	return o, true
}

func (c *checker) checkOutcome(before, o Outcome) {
	name := OutcomeFile
	if o.Revision < c.Outcome.Revision {
		name = KeptFile(OutcomeFile, o.Revision)
	}
	if err := o.CheckTurns(*c.Record, c.Opening.Winners); err != nil {
		c.fault(name, "%v", err)
		return
	}
	if o.Revision > 1 {
		if err := CheckOutcome(before, o); err != nil {
			c.fault(name, "%v", err)
			return
		}
	}
	c.remarkActs(name, before, o)
}

// remarkActs looks at the lines that a revision adds.
func (c *checker) remarkActs(name string, before, o Outcome) {
	t := Turns{c.Opening.Winners, len(c.Record.Places), c.Record.Drawn, o.Passed}
	new := map[int]bool{}
	for _, a := range added(before, o) {
		new[a.Place] = a.Reason != ""
	}
	for _, a := range added(before, o) {
		turn, _ := t.Of(a.Place)
		if a.Reason == NoReply && a.At.Sub(turn.At) < 24*time.Hour {
			c.remark(name, "place %d passed for no reply %s after its turn, less than 24 hours", a.Place, a.At.Sub(turn.At))
		}
		if turn.By != 0 && new[turn.By] {
			c.remark(name, "place %d passed and moved on in one step, to place %d: its holder could not object", turn.By, a.Place)
		}
	}
}
