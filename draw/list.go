package draw

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
)

// Reasons for which a ticket stands in excluded.txt.
const (
	Duplicate   = "duplicate"
	Unconfirmed = "unconfirmed"
	Region      = "region"
	Withdrawn   = "withdrawn"
	Ineligible  = "ineligible"
)

// rollLine is the length of a line of roll.txt: ticket, space, 64 hex, LF.
const rollLine = ticketLen + 1 + 64 + 1

// maxExcludedLine is the longest line of excluded.txt.
const maxExcludedLine = ticketLen + 1 + len(Unconfirmed) + 1

// reasonOf is the constant that these bytes spell, or "".
func reasonOf(b []byte) string {
	switch string(b) {
	case Duplicate:
		return Duplicate
	case Unconfirmed:
		return Unconfirmed
	case Region:
		return Region
	case Withdrawn:
		return Withdrawn
	case Ineligible:
		return Ineligible
	}
	return ""
}

// A List is what the freeze says of one list.
type List struct {
	Count int64
	Hash  Digest
}

// A ListWriter writes roll.txt or excluded.txt, counting and hashing as it
// goes. Tickets come in strictly ascending order.
type ListWriter struct {
	w     io.Writer
	hash  hash.Hash
	last  Ticket
	count int64
	line  []byte
}

// NewListWriter writes to w.
func NewListWriter(w io.Writer) *ListWriter {
	return &ListWriter{w: w, hash: sha256.New(), line: make([]byte, 0, rollLine)}
}

// Add writes a line of roll.txt.
func (l *ListWriter) Add(t Ticket, commitment Digest) error {
	return l.add(t, commitment.String())
}

// AddReason writes a line of excluded.txt.
func (l *ListWriter) AddReason(t Ticket, reason string) error {
	if reasonOf([]byte(reason)) == "" {
		return errors.New("write list: want a reason of duplicate, unconfirmed, region, withdrawn, ineligible")
	}
	return l.add(t, reason)
}

func (l *ListWriter) add(t Ticket, rest string) error {
	if !t.canonical() {
		return errors.New("write list: a ticket is malformed")
	}
	if l.count > 0 && !l.last.Less(t) {
		return fmt.Errorf("write list: ticket %s after %s: want strictly ascending order", t, l.last)
	}
	l.line = append(append(append(append(l.line[:0], t[:]...), ' '), rest...), '\n')
	if _, err := l.w.Write(l.line); err != nil {
		return fmt.Errorf("write list: %w", err)
	}
	l.hash.Write(l.line)
	l.last, l.count = t, l.count+1
	return nil
}

// List is the count and hash of what was written.
func (l *ListWriter) List() List { return List{l.count, Digest(l.hash.Sum(nil))} }

// Count is the number of lines written.
func (l *ListWriter) Count() int64 { return l.count }

// Hash is the SHA-256 of the lines written.
func (l *ListWriter) Hash() Digest { return l.List().Hash }

// RollLine reads one line of roll.txt with its LF.
func RollLine(line []byte) (Ticket, Digest, error) {
	var t Ticket
	var d Digest
	if why := rollLineFault(line); why != "" {
		return t, d, errors.New(why)
	}
	copy(t[:], line)
	d, err := ParseDigest(string(line[ticketLen+1 : rollLine-1]))
	return t, d, err
}

// rollForm says what a line of the roll looks like.
const rollForm = `want "<ticket> <commitment>": 16 characters, a space, 64 lower-case hex digits, LF`

// rollLineFault says what is wrong with a line, or "".
func rollLineFault(line []byte) string {
	if len(line) != rollLine || line[ticketLen] != ' ' || line[rollLine-1] != '\n' {
		return rollForm
	}
	for _, c := range line[:ticketLen] {
		if !base32[c] {
			return rollForm
		}
	}
	for _, c := range line[ticketLen+1 : rollLine-1] {
		if !hexDigit[c] {
			return rollForm
		}
	}
	return ""
}

// rollUpTo ends a roll after n lines: a list may go on without end.
func rollUpTo(r io.Reader, n int64) io.Reader { return io.LimitReader(r, n*rollLine) }

// linesUpTo ends a list after n lines.
func linesUpTo(r io.Reader, n int64) io.Reader { return &lineLimit{r, n} }

type lineLimit struct {
	r    io.Reader
	left int64 // lines
}

func (l *lineLimit) Read(b []byte) (int, error) {
	if l.left <= 0 {
		return 0, io.EOF
	}
	n, err := l.r.Read(b)
	for i := 0; i < n; i++ {
		end := bytes.IndexByte(b[i:n], '\n')
		if end < 0 {
			break
		}
		i += end
		if l.left--; l.left == 0 {
			return i + 1, io.EOF
		}
	}
	return n, err
}

var hexDigit = func() (ok [256]bool) {
	for _, c := range []byte("0123456789abcdef") {
		ok[c] = true
	}
	return ok
}()
