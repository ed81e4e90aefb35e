package draw

import (
	"fmt"
	"slices"
	"strings"

	"evenhand/draw/beacon"
)

// Sources are the facts of a publication that decide what it proves.
type Sources struct {
	Broken   bool     // a file breaks the rules
	Beacon   string   // "", "quicknet" or "other"
	Opened   []string // roles of the seals; before the draw, all of them
	Withheld []string
	Stage    Stage
	// Revised: the posted terms were changed, and when at the latest.
	Revised, RevisedAfterClose, RevisedAfterEvent bool

	Imported      bool // a receipt was given outside the entry time
	LeftOut       bool // a ticket stands in excluded.txt
	Skipped       bool // a place was passed
	Cancelled     bool
	CancelledLate bool // beside a freeze, at or after the event
}

func (c *checker) sources() Sources {
	s := Sources{Broken: c.Count(Fault) > 0, Stage: c.Stage, Imported: c.late, LeftOut: c.Excluded > 0}
	s.Skipped = c.Outcome != nil && len(c.Outcome.Passed) > 0
	s.Cancelled = c.Cancelled != nil
	s.CancelledLate = s.Cancelled && c.cancelledLate()
	switch b := c.Opening.Beacon; {
	case b == nil:
	case *b == Digest(beacon.Quicknet().Hash):
		s.Beacon = "quicknet"
	default:
		s.Beacon = "other"
	}
	if c.Record != nil {
		s.Withheld = c.Record.withheld()
	}
	for _, seal := range c.Opening.Seals {
		if !slices.Contains(s.Withheld, seal.Role) {
			s.Opened = append(s.Opened, seal.Role)
		}
	}
	for i := range max(0, len(c.openings)-1) {
		old, new := c.openings[i], c.openings[i+1]
		s.Revised = true
		s.RevisedAfterClose = s.RevisedAfterClose || !new.Revised.Before(old.Closes)
		s.RevisedAfterEvent = s.RevisedAfterEvent || !new.Revised.Before(old.Event)
	}
	return s
}

// Statement says in plain sentences what these sources prove and what they
// don't: the protocol, "What it protects against" and "What it can not show".
// A clause appears only when a file gives cause.
func (s Sources) Statement() []string {
	if s.Broken {
		return []string{"At least one file breaks the rules: see the lines marked FAULT. " +
			"Nothing is proven about who is drawn. Keep a copy of these files and ask the host."}
	}
	if s.Cancelled {
		return s.cancellation()
	}
	out := []string{s.cheats()}
	if s.Beacon == "other" {
		out = append(out, "The public number comes from a chain that this tool does not know by itself. "+
			"If the host runs that chain, the number protects nobody.")
	}
	out = append(out, s.shut()...)
	out = append(out, s.revisions()...)
	if s.Imported {
		out = append(out, "A proof of entry that was given here bears an hour outside the time for entries: "+
			"the entry was brought in from elsewhere, or changed outside that time. When it was really made, only the host says.")
	}
	return append(out, s.limits()...)
}

func (s Sources) cancellation() []string {
	out := []string{"This draw was cancelled. It will never be made, and nothing here chooses a winner."}
	if s.CancelledLate {
		out = append(out, "It was cancelled when the host could already know the result. "+
			"A result may have been seen and dropped; the files can't show that it wasn't.")
	}
	return out
}

// made tells whether there is a result.
func (s Sources) made() bool { return s.Stage == StageDrawn || s.Stage == StageOutcome }

// cheats names who would have had to work together.
func (s Sources) cheats() string {
	who := s.who()
	if len(who) == 1 && s.made() {
		return "To choose who is drawn, the host needed nobody else: the host knew all that the draw is made from before the list was locked, " +
			"and could have added tickets until the result fitted."
	}
	if len(who) == 1 {
		return "To choose who is drawn, the host needs nobody else: the host knows all that the draw is made from before the list is locked, " +
			"and can add tickets until the result fits."
	}
	freely, had := "", "would have to work together"
	if len(s.Withheld) > 0 {
		freely = "freely " // between the results with and without the secret is the next clause
	}
	if s.made() {
		had = "would have had to work together"
	}
	out := "To choose " + freely + "who is drawn, all of these " + had + ": " + list(who) + ". "
	if s.Beacon == "" {
		out += "No file shows that they are different people. "
	}
	if s.made() {
		return out + "This holds only if other people saw the fingerprint of the locked list before the event."
	}
	return out + "This holds only if other people see the fingerprint of the locked list before the event."
}

// who holds a part of the draw number, the host first.
func (s Sources) who() []string {
	who := []string{"the host"}
	for _, r := range s.Opened {
		if r != hostRole {
			who = append(who, "whoever holds the secret number of "+r)
		}
	}
	switch s.Beacon {
	case "quicknet":
		who = append(who, "many of the independent operators of the public number (quicknet)")
	case "other":
		who = append(who, "whoever runs the chain of the public number")
	}
	return who
}

// shut is about the secrets that did not arrive.
func (s Sources) shut() []string {
	switch n := len(s.Withheld); n {
	case 0:
		return nil
	case 1:
		return []string{fmt.Sprintf("The secret number of %s did not arrive. Whoever holds it, or the host by saying so, "+
			"could look at two results and choose one. The result shown is one of the two.", s.Withheld[0])}
	default:
		return []string{fmt.Sprintf("The secret numbers of %s did not arrive. Whoever holds them, or the host by saying so, "+
			"could look at %d results and choose one. The result shown is one of these.", list(s.Withheld), 1<<n)}
	}
}

func (s Sources) revisions() []string {
	switch {
	case s.RevisedAfterEvent:
		return []string{"The posted terms were changed at or after the hour first set for the event. " +
			"A result may have been tried and dropped; the files can't show that it wasn't. The remarks say what changed."}
	case s.RevisedAfterClose:
		return []string{"The posted terms were changed after entries had closed, before the event. The remarks say what changed. " +
			"Who had entered by then did so under the terms before."}
	case s.Revised:
		return []string{"The posted terms were changed before entries closed. The remarks say what changed. " +
			"Each proof of entry names the terms under which it was given."}
	}
	return nil
}

// limits is what no publication can show.
func (s Sources) limits() []string {
	out := []string{"The files can't show that each ticket is a different real person, that the host did not enter under another name, " +
		"or that everyone who wanted to enter was let in."}
	if s.LeftOut {
		out = append(out, "They can't show that a ticket that is not in the draw was rightly left out. Its holder has the reason and can object.")
	}
	if s.Skipped {
		out = append(out, "They can't show that a skipped place was rightly skipped. Its holder can read the reason and object.")
	}
	if s.Stage != StageOpen {
		out = append(out, "They can't show that an hour written by the host is true. "+
			"That the list was locked in time shows only where its fingerprint was seen in public before the event.")
	}
	return append(out, "A page that the host serves can lie about this check. The command line, a copy from elsewhere or any SHA-256 page can't be changed by the host.")
}

// list joins with commas and "and".
func list(s []string) string {
	if len(s) < 2 {
		return strings.Join(s, "")
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}
