package draw

import (
	"errors"
	"fmt"
)

// A Level says how much a finding weighs.
type Level string

// The levels, as they are printed.
const (
	OK     Level = "ok"
	Remark Level = "remark"
	Fault  Level = "FAULT"
)

// A Finding is one line of a check's answer.
type Finding struct {
	Level Level  `json:"level"`
	File  string `json:"file,omitempty"`
	Line  int    `json:"line,omitempty"` // from 1; 0 is the file as a whole
	Text  string `json:"text"`
}

func (f Finding) String() string {
	where := f.File
	if f.Line > 0 {
		where = fmt.Sprintf("%s line %d", f.File, f.Line)
	}
	if where != "" {
		where += ": "
	}
	return fmt.Sprintf("%-6s  %s%s", f.Level, where, f.Text)
}

// A Stage is how far a draw has come, by the files alone.
type Stage string

// The stages.
const (
	StageOpen    Stage = "open"
	StageFrozen  Stage = "frozen"
	StageDrawn   Stage = "drawn"
	StageOutcome Stage = "outcome"
)

// The verdicts; ", weak" follows where the draw is.
const (
	ValidSoFar  = "valid so far"
	Valid       = "valid"
	IsCancelled = "cancelled"
	NotValid    = "not valid"
)

// Exit statuses of a check.
const (
	StatusValid   = 0 // valid, weak or with remarks too, and cancelled
	StatusFault   = 1
	StatusNotRead = 2 // not read as a publication, or something not checked
)

// A Report is the answer of [Check]. The same value serves the command line,
// web pages and JSON.
type Report struct {
	Findings  []Finding `json:"findings"`
	Status    int       `json:"status"`
	Verdict   string    `json:"verdict"` // "" where Status is 2
	Weak      bool      `json:"weak"`
	Stage     Stage     `json:"stage,omitempty"`
	Draw      string    `json:"draw,omitempty"`
	Signer    string    `json:"signer,omitempty"` // name
	Key       string    `json:"key,omitempty"`    // verifier key
	Tickets   int64     `json:"tickets"`          // lines of roll.txt
	Excluded  int64     `json:"excluded"`         // lines of excluded.txt
	FreezeAt  *Digest   `json:"freeze,omitempty"` // hash of the freeze's text
	Seed      *Digest   `json:"seed,omitempty"`
	Places    []Place   `json:"places,omitempty"`
	Found     []Find    `json:"found,omitempty"`     // answers to Options.Find
	Statement []string  `json:"statement,omitempty"` // what these sources prove, and what not

	Opening   *Opening   `json:"-"`
	Freeze    *Freeze    `json:"-"`
	Record    *Record    `json:"-"`
	Outcome   *Outcome   `json:"-"`
	Cancelled *Cancelled `json:"-"`

	notRead bool // something could not be read or checked
}

func (r *Report) add(l Level, file string, line int, format string, args ...any) {
	r.Findings = append(r.Findings, Finding{l, file, line, fmt.Sprintf(format, args...)})
}

func (r *Report) ok(file, format string, args ...any)     { r.add(OK, file, 0, format, args...) }
func (r *Report) remark(file, format string, args ...any) { r.add(Remark, file, 0, format, args...) }
func (r *Report) fault(file, format string, args ...any)  { r.add(Fault, file, 0, format, args...) }

// err reports an error of reading or parsing a file.
func (r *Report) err(file string, err error) {
	var s *SyntaxError
	if errors.As(err, &s) {
		r.add(Fault, s.File, s.Line, "%s", s.Want)
		return
	}
	r.unread(file, "%v", err)
}

// unread says that something could not be read, or not checked.
func (r *Report) unread(file, format string, args ...any) {
	r.notRead = true
	r.remark(file, "not checked: "+format, args...)
}

// Count is the number of findings of a level.
func (r *Report) Count(l Level) int {
	n := 0
	for _, f := range r.Findings {
		if f.Level == l {
			n++
		}
	}
	return n
}

// conclude turns the findings into status and verdict. A fault always wins.
func (r *Report) conclude() {
	switch {
	case r.Count(Fault) > 0:
		r.Status, r.Verdict = StatusFault, NotValid
		return
	case r.notRead:
		r.Status, r.Verdict = StatusNotRead, ""
		return
	case r.Cancelled != nil:
		r.Verdict = IsCancelled
	case r.Record != nil:
		r.Verdict = Valid
	default:
		r.Verdict = ValidSoFar
	}
	if r.Weak {
		r.Verdict += ", weak"
	}
}
