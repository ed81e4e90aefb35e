package entries

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
)

// A table reads a CSV file row by row and knows each row's number in a
// spreadsheet.
type table struct {
	csv    *csv.Reader
	input  *rowInput
	header []string
	number int // of the last row
	line   int // the line after the last row
}

// A tableRow is one row, or what was wrong with it.
type tableRow struct {
	number  int
	cells   []string
	problem string
}

func readTable(r io.Reader, comma rune) (*table, error) {
	b := bufio.NewReader(r)
	if err := skipMark(b); err != nil {
		return nil, err
	}
	in := &rowInput{from: b}
	t := &table{csv: csv.NewReader(in), input: in, line: 1}
	t.csv.FieldsPerRecord = -1
	if comma != 0 {
		t.csv.Comma = comma
	}
	t.csv.TrimLeadingSpace = t.csv.Comma != '\t' // a stray blank before a quote
	row, err := t.next()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the file is empty")
	}
	if err == nil && row.problem != "" {
		err = errors.New("the header can't be read: " + row.problem)
	}
	if err != nil {
		return nil, err
	}
	t.header = row.cells
	if len(t.header) == 1 && t.csv.Comma == ',' && strings.ContainsAny(t.header[0], ";\t") {
		return nil, errors.New("the header has a single column; its cells seem to be parted by something else than a comma")
	}
	return t, nil
}

// skipMark drops a byte-order mark and refuses UTF-16, which spreadsheets also
// write.
func skipMark(b *bufio.Reader) error {
	start, _ := b.Peek(3)
	switch {
	case bytes.HasPrefix(start, []byte("\ufeff")):
		_, err := b.Discard(3)
		return err
	case bytes.HasPrefix(start, []byte{0xff, 0xfe}), bytes.HasPrefix(start, []byte{0xfe, 0xff}):
		return errors.New("the file is UTF-16; save it as UTF-8")
	}
	return nil
}

// next reads a row. Its error is io.EOF or one after which nothing can be
// trusted.
func (t *table) next() (tableRow, error) {
	begin := t.csv.InputOffset()
	t.input.allow(begin)
	cells, err := t.csv.Read()
	var bad *csv.ParseError
	switch {
	case t.input.over || t.csv.InputOffset()-begin > maxRowBytes:
		return tableRow{}, fmt.Errorf("row %d is longer than 64 kB, or a quote in it is never closed; correct it and choose the file again", t.number+1)
	case len(cells) > maxColumns:
		return tableRow{}, fmt.Errorf("row %d has more than %d cells; leave out the columns that aren’t needed, and choose the file again", t.number+1, maxColumns)
	case errors.As(err, &bad):
		row := t.place(bad.StartLine, bad.Line)
		if bad.StartLine != bad.Line {
			return row, fmt.Errorf("row %d opens a quote that isn't closed where it should be, at line %d at the latest; correct it and import again", row.number, bad.Line)
		}
		row.problem = "its quotation marks are wrong"
		return row, nil
	case err != nil:
		return tableRow{}, err
	}
	start, _ := t.csv.FieldPos(0)
	breaks := 0
	for _, c := range cells {
		breaks += strings.Count(c, "\n")
	}
	row := t.place(start, start+breaks)
	row.cells = cells
	return row, nil
}

// What a row may hold. Common practice, no source: a form with the longest
// answers that it takes comes to less than a tenth of it.
const (
	maxRowBytes = 64 << 10
	maxColumns  = 500
)

// A rowInput lets no more through than one row may hold, and what the reader
// holds in store: so a file of one endless row ends soon, and takes no room.
type rowInput struct {
	from io.Reader
	read int64 // bytes so far
	most int64 // how many may be
	over bool  // more were wanted
}

// allow begins a row at an offset.
func (in *rowInput) allow(begin int64) { in.most = begin + maxRowBytes + 8<<10 }

// Read implements io.Reader.
func (in *rowInput) Read(b []byte) (int, error) {
	if in.read >= in.most {
		in.over = true
		return 0, errLongRow
	}
	n, err := in.from.Read(b[:min(int64(len(b)), in.most-in.read)])
	in.read += int64(n)
	return n, err
}

var errLongRow = errors.New("a row is too long")

// place numbers a row that lies on the lines start to end. The reader skips
// empty lines; a spreadsheet shows each as a row. Line breaks within a cell
// make no new row.
func (t *table) place(start, end int) tableRow {
	t.number += start - t.line + 1
	t.line = end + 1
	return tableRow{number: t.number}
}

// cell returns a cell, outer blanks off, "" where the row is too short.
func (r tableRow) cell(i int) string {
	if i >= len(r.cells) {
		return ""
	}
	return strings.Trim(r.cells[i], " \t\r\n\u00a0")
}

func (r tableRow) empty() bool {
	for i := range r.cells {
		if r.cell(i) != "" {
			return false
		}
	}
	return true
}

// spilled reports whether the row has something behind the header's columns.
func (r tableRow) spilled(columns int) bool {
	for i := columns; i < len(r.cells); i++ {
		if r.cell(i) != "" {
			return true
		}
	}
	return false
}

// A Head is what a CSV file begins with, and how long it is.
type Head struct {
	Columns []string   // as the header names them
	First   [][]string // the first rows, without those whose quotes are wrong
	Rows    int        // all, without the header
}

// ReadHead reads a CSV file as [Import] does and returns its header and its
// first rows, most at most. Errors are those of a file that can't be imported.
func ReadHead(r io.Reader, comma rune, most int) (Head, error) {
	table, err := readTable(r, comma)
	if err != nil {
		return Head{}, err
	}
	h := Head{Columns: table.header}
	for {
		row, err := table.next()
		if errors.Is(err, io.EOF) {
			return h, nil
		}
		if err != nil {
			return Head{}, err
		}
		h.Rows++
		if row.problem == "" && len(h.First) < most {
			h.First = append(h.First, row.cells)
		}
	}
}
