package draw

import "time"

// checkOutcomes is checks 1, 2, 7 and 8 for outcome.txt and those kept. Of
// the kept ones two are held at a time.
func (c *checker) checkOutcomes() {
	faults := c.Count(Fault)
	last, ok := c.outcome(OutcomeFile, 0)
	if !ok {
		return
	}
	c.Outcome = &last
	before, whole := c.keptOutcomes(last.Revision)
	c.checkOutcome(before, last)
	c.remarkMore()
	if whole && c.Record != nil && c.Freeze != nil && c.Count(Fault) == faults {
		c.ok(OutcomeFile, "revision %d: %d passed, %d confirmed, each in its turn", last.Revision, len(last.Passed), len(last.Confirmed))
	}
}

// keptOutcomes checks the outcomes before the last one, and returns the one
// just before it. Where one is missing or broken, those after it but the last
// are not read, and the last one is checked by itself.
func (c *checker) keptOutcomes(last int) (before *Outcome, whole bool) {
	places := 0
	if c.Record != nil {
		places = len(c.Record.Places)
	}
	most := mostOutcomes(places)
	for n := 1; n < last; n++ {
		if c.stopped() {
			return nil, false
		}
		if n >= most {
			c.unread(OutcomeFile, tooMany, last, most)
			return nil, false
		}
		name := KeptFile(OutcomeFile, n)
		o, ok := c.outcome(name, n)
		if c.look(name) == absent {
			c.fault(name, "want the outcome of revision %d kept here", n)
		}
		if !ok {
			return nil, false
		}
		c.checkOutcome(before, o)
		before = &o
		delete(c.texts, name)
	}
	return before, true
}

// mostOutcomes is MaxRevisions, or more where the places need more: each may
// be confirmed, and passed later, in a revision of its own.
func mostOutcomes(places int) int { return max(MaxRevisions, 2*places+1) }

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
	if c.Record == nil || c.Freeze == nil {
		return
	}
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

// mostAlike is how many remarks of one kind on an outcome's lines are given
// one by one; the rest is counted.
const mostAlike = 20

// remarkMore says how many remarks of each kind were not given one by one.
func (c *checker) remarkMore() {
	if n := c.tooSoon - mostAlike; n > 0 {
		c.remark(OutcomeFile, "and %d more passes for no reply less than 24 hours after the place's turn", n)
	}
	if n := c.oneStep - mostAlike; n > 0 {
		c.remark(OutcomeFile, "and %d more places passed and moved on in one step", n)
	}
}

// remarkActs looks at the lines that a revision adds; every one is of a place
// that has its turn.
func (c *checker) remarkActs(name string, before, o Outcome) {
	t := Turns{c.Opening.Winners, len(c.Record.Places), c.Record.Drawn, o.Passed}
	turns := t.All()
	t.Passed = before.Passed
	had := len(t.All()) // places that had their turn before
	acts, new := added(before, o), map[int]bool{}
	for _, a := range acts {
		new[a.Place] = a.Reason != ""
	}
	for _, a := range acts {
		turn := turns[a.Place-1]
		if a.Reason == NoReply && a.At.Sub(turn.At) < 24*time.Hour {
			c.alike(&c.tooSoon, name, "place %d passed for no reply %s after its turn, less than 24 hours", a.Place, a.At.Sub(turn.At))
		}
		if a.Place > had && new[turn.By] {
			c.alike(&c.oneStep, name, "place %d passed and moved on in one step, to place %d: its holder could not object", turn.By, a.Place)
		}
	}
}

// alike is a remark of a kind that is given mostAlike times; n counts them.
func (c *checker) alike(n *int, name, format string, args ...any) {
	if *n++; *n <= mostAlike {
		c.remark(name, format, args...)
	}
}
