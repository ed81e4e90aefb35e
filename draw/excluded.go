package draw

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
)

// excludedReader goes through excluded.txt beside the roll.
type excludedReader struct {
	in      *bufio.Reader // nil where there is no such list
	hash    hash.Hash
	line    int64
	last    Ticket
	pending excludedLine // read, but later than what was asked for; no reason: none
	ended   bool
}

type excludedLine struct {
	ticket Ticket
	reason string
}

func newExcludedReader(r io.Reader) *excludedReader {
	e := &excludedReader{hash: sha256.New(), ended: r == nil}
	if r != nil {
		e.in = bufio.NewReaderSize(r, 64<<10)
	}
	return e
}

const excludedForm = `want "<ticket> <reason>": 16 characters, a space, ` +
	`one of duplicate, unconfirmed, region, withdrawn, ineligible, LF`

// upTo goes through the lines up to a ticket, "" for all. b is the block of
// the roll that ends there.
func (e *excludedReader) upTo(last string, wanted []Ticket, out *scanned, b *block) error {
	for !e.ended {
		if e.pending.reason == "" {
			if err := e.read(out); err != nil {
				return err
			}
		}
		if e.pending.reason == "" || last != "" && string(e.pending.ticket[:]) > last {
			return nil
		}
		e.take(wanted, out, b)
	}
	return nil
}

// take counts the pending line.
func (e *excludedReader) take(wanted []Ticket, out *scanned, b *block) {
	l := e.pending
	e.pending = excludedLine{}
	out.excluded.Count++
	if b != nil && b.find(l.ticket) >= 0 {
		e.fault(out, "want each ticket in one list; "+l.ticket.String()+" stands in roll.txt too")
		return
	}
	if _, ok := slices.BinarySearchFunc(wanted, l.ticket, compareTickets); ok {
		out.found[l.ticket] = Standing{Line: e.line, Reason: l.reason}
	}
}

func compareTickets(a, b Ticket) int { return bytes.Compare(a[:], b[:]) }

// read reads the next line into pending, or ends the list.
func (e *excludedReader) read(out *scanned) error {
	row, err := e.in.ReadSlice('\n')
	e.line++
	switch {
	case errors.Is(err, io.EOF) && len(row) == 0:
		out.excluded.Hash = Digest(e.hash.Sum(nil))
		e.ended = true
		return nil
	case errors.Is(err, io.EOF), errors.Is(err, bufio.ErrBufferFull):
		e.fault(out, rowFault(row, excludedForm))
		return nil
	case err != nil:
		return fmt.Errorf("read %s: %w", ExcludedFile, err)
	}
	e.hash.Write(row)
	l := excludedLine{}
	if len(row) <= maxExcludedLine && len(row) > ticketLen+1 && row[ticketLen] == ' ' {
		copy(l.ticket[:], row)
		l.reason = reasonOf(row[ticketLen+1 : len(row)-1])
	}
	switch {
	case !l.ticket.canonical() || l.reason == "":
		e.fault(out, rowFault(row, excludedForm))
	case e.line > 1 && !e.last.Less(l.ticket):
		e.fault(out, wantAscending)
	default:
		e.last, e.pending = l.ticket, l
	}
	return nil
}

func (e *excludedReader) fault(out *scanned, want string) {
	out.excludedFault = &SyntaxError{ExcludedFile, int(e.line), want}
	e.pending, e.ended = excludedLine{}, true
}
