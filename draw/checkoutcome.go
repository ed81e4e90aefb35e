package draw

import "time"

// checkOutcomes is checks 1, 2, 7 and 8 for outcome.txt and those kept.
func (c *checker) checkOutcomes() {
	faults := c.Count(Fault)
	last, ok := c.outcome(OutcomeFile, 0)
	if !ok {
		return
	}
	c.Outcome = &last
	kept, whole := c.keptOutcomes(last.Revision)
	if c.Record == nil || c.Freeze == nil {
		return
	}
	var before *Outcome
	for _, o := range append(kept, last) {
		c.checkOutcome(before, o)
		before = &o
	}
	if whole && c.Count(Fault) == faults {
		c.ok(OutcomeFile, "revision %d: %d passed, %d confirmed, each in its turn", last.Revision, len(last.Passed), len(last.Confirmed))
	}
}

// keptOutcomes are the outcomes before the last one. Where one is missing or
// broken there are none, and the last one is checked by itself.
func (c *checker) keptOutcomes(last int) (kept []Outcome, whole bool) {
	for n := 1; n < last; n++ {
		name := KeptFile(OutcomeFile, n)
		o, ok := c.outcome(name, n)
		if c.look(name) == absent {
			c.fault(name, "want the outcome of revision %d kept here", n)
		}
		if !ok {
			return nil, false
		}
		kept = append(kept, o)
	}
	return kept, true
}

// outcome reads one outcome note; n is the revision that it must have, 0 for any.
func (c *checker) outcome(name string, n int) (Outcome, bool) {
	o, ok := readNote(c, name, ParseOutcome)
	if !ok {
		return o, false
	}
	if n != 0 && o.Revision != n {
		c.add(Fault, name, 4, "want revision %d", n)
		return o, false
	}
	c.chained(name, o.Draw, "record", o.Record, RecordFile)
	return o, true
}

// checkOutcome checks an outcome against the one before; nil is none.
func (c *checker) checkOutcome(before *Outcome, o Outcome) {
	name := OutcomeFile
	if o.Revision < c.Outcome.Revision {
		name = KeptFile(OutcomeFile, o.Revision)
	}
	if err := o.CheckTurns(*c.Record, c.Opening.Winners); err != nil {
		c.broken(name, err)
		return
	}
	switch {
	case before == nil && o.Revision > 1: // the one before has been reported
	case before == nil:
		c.remarkActs(name, Outcome{}, o)
	default:
		if err := CheckOutcome(*before, o); err != nil {
			c.broken(name, err)
			return
		}
		c.remarkActs(name, *before, o)
	}
}

// remarkActs looks at the lines that a revision adds.
func (c *checker) remarkActs(name string, before, o Outcome) {
	t := Turns{c.Opening.Winners, len(c.Record.Places), c.Record.Drawn, o.Passed}
	earlier := t
	earlier.Passed = before.Passed
	new := map[int]bool{}
	for _, a := range added(before, o) {
		new[a.Place] = a.Reason != ""
	}
	for _, a := range added(before, o) {
		turn, _ := t.Of(a.Place)
		if a.Reason == NoReply && a.At.Sub(turn.At) < 24*time.Hour {
			c.remark(name, "place %d passed for no reply %s after its turn, less than 24 hours", a.Place, a.At.Sub(turn.At))
		}
		if _, had := earlier.Of(a.Place); !had && new[turn.By] {
			c.remark(name, "place %d passed and moved on in one step, to place %d: its holder could not object", turn.By, a.Place)
		}
	}
}
