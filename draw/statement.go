package draw

import (
	_ "embed" // statement.json
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"evenhand/draw/beacon"
)

// Sources are the facts of a publication that decide what it proves.
type Sources struct {
	Signer   string   // whose key signed, by name
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
	s := Sources{Signer: c.Signer, Broken: c.Count(Fault) > 0, Stage: c.Stage, Imported: c.late, LeftOut: c.Excluded > 0}
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

// StatementTable is the table that Statement and InWords read, JSON. The check
// page reads the same one, so that all say the same of the same cases.
//
//go:embed statement.json
var StatementTable []byte

// statement is the table, read once.
var statement = func() (t struct {
	Who  map[string]string
	Rows []struct {
		When, Say string
		Same, End bool
	}
	Pages, Remarks []struct{ Was, Say string }
}) {
	if err := json.Unmarshal(StatementTable, &t); err != nil {
		panic("draw: statement.json: " + err.Error())
	}
	return t
}()

// Statement says in plain sentences what these sources prove and what they
// don't: the protocol, "What it protects against" and "What it can not show".
// A clause appears only when a file gives cause.
func (s Sources) Statement() []string {
	facts, who := s.facts(), s.who()
	words := strings.NewReplacer("{signer}", s.Signer, "{who}", list(who), "{shut}", list(s.Withheld), "{results}", fmt.Sprint(1<<len(s.Withheld)))
	var out []string
	for _, row := range statement.Rows {
		if !holds(facts, row.When) {
			continue
		}
		say := words.Replace(row.Say)
		switch {
		case say == "":
		case row.Same && len(out) > 0:
			out[len(out)-1] += " " + say
		default:
			out = append(out, say)
		}
		if row.End {
			break
		}
	}
	return out
}

// facts are what the rows of the table ask for.
func (s Sources) facts() map[string]bool {
	return map[string]bool{
		"broken": s.Broken, "cancelled": s.Cancelled, "late": s.CancelledLate,
		"alone": len(s.who()) == 1, "made": s.Stage == StageDrawn || s.Stage == StageOutcome, "locked": s.Stage != StageOpen,
		"beacon": s.Beacon != "", "other-chain": s.Beacon == "other",
		"shut": len(s.Withheld) > 0, "many-shut": len(s.Withheld) > 1,
		"revised": s.Revised, "revised-after-close": s.RevisedAfterClose, "revised-after-event": s.RevisedAfterEvent,
		"imported": s.Imported, "left-out": s.LeftOut, "skipped": s.Skipped,
	}
}

// holds tells whether all facts that a row names hold.
func holds(facts map[string]bool, when string) bool {
	for _, word := range strings.Fields(when) {
		name, not := strings.CutPrefix(word, "!")
		is, known := facts[name]
		if !known {
			panic("draw: statement.json asks for " + name)
		}
		if is == not {
			return false
		}
	}
	return true
}

// who holds a part of the draw number, the host first.
func (s Sources) who() []string {
	who := []string{statement.Who["host"]}
	for _, r := range s.Opened {
		if r != hostRole {
			who = append(who, strings.Replace(statement.Who["holder"], "{role}", r, 1))
		}
	}
	if s.Beacon != "" {
		who = append(who, statement.Who[s.Beacon])
	}
	return who
}

// list joins with commas and "and".
func list(s []string) string {
	if len(s) < 2 {
		return strings.Join(s, "")
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}
