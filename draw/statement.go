package draw

import (
	"fmt"
	"slices"
	"strings"

	"evenhand/draw/beacon"
)

// Sources are the facts of a publication that decide what it proves.
type Sources struct {
	Beacon   string   // "", "quicknet" or "other"
	Opened   []string // roles of the seals; before the draw, all of them
	Withheld []string
	Stage    Stage
	// Revised: the posted terms were changed, and when at the latest.
	Revised, RevisedAfterClose, RevisedAfterEvent bool
	Imported                                      bool // a receipt was given outside the entry time
	Cancelled                                     bool
}

func (c *checker) sources() Sources {
	s := Sources{Stage: c.Stage, Imported: c.late, Cancelled: c.Cancelled != nil}
	switch b := c.Opening.Beacon; {
	case b == nil:
	case *b == Digest(beacon.Quicknet().Hash):
		s.Beacon = "quicknet"
	default:
		s.Beacon = "other"
	}
	for _, seal := range c.Opening.Seals {
		shut := c.Record != nil && slices.ContainsFunc(c.Record.Secrets, func(x Secret) bool { return x.Role == seal.Role && x.Withheld })
		if shut {
			s.Withheld = append(s.Withheld, seal.Role)
		} else {
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
// don't. A clause appears only when a file gives cause.
func (s Sources) Statement() []string {
	if s.Cancelled {
		return []string{"This draw was cancelled. It will never be made; nothing here chooses a winner."}
	}
	out := []string{s.cheats()}
	if s.Beacon == "other" {
		out = append(out, "The public number comes from a chain that is not the one this tool trusts by itself (quicknet). "+
			"If the people who named it also run it, it protects nobody.")
	}
	if len(s.Withheld) > 0 {
		out = append(out, fmt.Sprintf("The secret of %s was left shut. Whoever held it, or the host by claiming it, "+
			"could look at both results and choose; the result shown is one of the two.", names(s.Withheld)))
		if len(s.Withheld) > 1 {
			out[len(out)-1] = fmt.Sprintf("The secrets of %s were left shut. Whoever held them, or the host by claiming them, "+
				"could look at %d results and choose; the result shown is one of these.", names(s.Withheld), 1<<len(s.Withheld))
		}
	}
	out = append(out, s.revisions()...)
	if s.Imported {
		out = append(out, "Entries were brought in from a file: their receipts were written by the host, after the fact. "+
			"They show what the host wrote, not when a person entered.")
	}
	return append(out, s.limits()...)
}

// cheats names who would have had to work together.
func (s Sources) cheats() string {
	who := make([]string, 0, len(s.Opened)+1)
	for _, r := range s.Opened {
		if r == hostRole {
			who = append([]string{"the host"}, who...)
		} else {
			who = append(who, "the holder of the secret of "+r)
		}
	}
	switch s.Beacon {
	case "quicknet":
		who = append(who, "enough of the independent operators of the quicknet beacon")
	case "other":
		who = append(who, "whoever runs the public number's chain")
	}
	verb := "To cheat on who is drawn, "
	switch {
	case len(who) == 1:
		return verb + "nobody else was needed: the host alone could have known the result before the list was locked, and added tickets to fit."
	case s.Beacon == "":
		return verb + "these would have had to work together: " + list(who) + ". No file shows that they are different people."
	case s.Stage == StageOpen:
		return verb + "these would have to work together: " + list(who) + ", once others have seen the list's fingerprint before the event."
	}
	return verb + "these would have had to work together: " + list(who) + ", if others saw the list's fingerprint before the event."
}

func (s Sources) revisions() []string {
	switch {
	case s.RevisedAfterEvent:
		return []string{"The posted terms were changed at or after the hour set for the event. A result may have been tried and dropped before; " +
			"the files can't show that it wasn't."}
	case s.RevisedAfterClose:
		return []string{"The posted terms were changed after entries had closed, before the event. What changed stands in the remarks; " +
			"everybody who entered did so under the terms before."}
	case s.Revised:
		return []string{"The posted terms were changed while entries were open. What changed stands in the remarks; " +
			"each proof of entry names the terms it was given under."}
	}
	return nil
}

// limits is what no publication can show.
func (s Sources) limits() []string {
	out := []string{"The files can't show that each ticket is a different real person, that the host did not enter under another name, " +
		"or that everyone who wanted to enter was let in."}
	if s.Stage == StageFrozen || s.Stage == StageDrawn || s.Stage == StageOutcome {
		out = append(out, "They can't show that a ticket left out was rightly left out, or that a time the host wrote is true; "+
			"the list's fingerprint, seen in public before the event, shows the second.")
	}
	if s.Stage == StageOutcome {
		out = append(out, "They can't show that a skipped place was rightly skipped: its holder can read the reason and object.")
	}
	return out
}

func names(roles []string) string { return list(roles) }

// list joins with commas and "and".
func list(s []string) string {
	if len(s) < 2 {
		return strings.Join(s, "")
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}
