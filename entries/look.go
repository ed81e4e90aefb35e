package entries

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sort"

	"evenhand/draw"
)

// A Standing is what anybody may know of a ticket.
type Standing struct {
	Locked bool   // the lists are published; before that nothing else is said
	In     bool   // it stands in roll.txt
	Reason string // why it stands in excluded.txt, "" if it doesn't

	Drawn   bool // the record is published
	Place   int  // its place in the record, from 1; 0: none of the places
	Wins    bool // the place is one of the winners'
	Winners int  // as the posted terms say
}

// Known reports whether the ticket stands in either list.
func (s Standing) Known() bool { return s.In || s.Reason != "" }

// Look says where a ticket stands, from the published files alone: whoever
// asks learns what they could have read there. Both lists are sorted, so the
// ticket is found by binary search; files must be an io.ReaderAt or an
// io.ReadSeeker.
func Look(files fs.FS, t draw.Ticket) (Standing, error) {
	var s Standing
	in, err := find(files, draw.RollFile, t)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return s, fmt.Errorf("look a ticket up: %w", err)
	}
	out, err := find(files, draw.ExcludedFile, t)
	if err != nil {
		return s, fmt.Errorf("look a ticket up: %w", err)
	}
	s.Locked, s.In, s.Reason = true, in != "", out
	return s, s.places(files, t)
}

// places adds what the record says of the ticket.
func (s *Standing) places(files fs.FS, t draw.Ticket) error {
	note, err := fs.ReadFile(files, draw.RecordFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("look a ticket up: %w", err)
	}
	opening, err := readOpening(files)
	if err != nil {
		return fmt.Errorf("look a ticket up: %w", err)
	}
	record, err := draw.ParseRecord(draw.RecordFile, noteText(note))
	if err != nil {
		return fmt.Errorf("look a ticket up: %w", err)
	}
	s.Drawn, s.Winners = true, opening.Winners
	for _, p := range record.Places {
		if p.Ticket == t {
			s.Place, s.Wins = p.N, p.N <= opening.Winners
		}
	}
	return nil
}

func readOpening(files fs.FS) (draw.Opening, error) {
	note, err := fs.ReadFile(files, draw.OpeningFile)
	if err != nil {
		return draw.Opening{}, err
	}
	return draw.ParseOpening(draw.OpeningFile, noteText(note))
}

// noteText is the text of a note from our own store, whose signature was made
// here and is checked by whoever reads the publication.
func noteText(note []byte) []byte {
	if i := bytes.LastIndex(note, []byte("\n\n")); i >= 0 {
		return note[:i+1]
	}
	return note
}

const ticketLen = 16

// find returns what stands beside the ticket in a sorted list, "" if it isn't
// there. Lines are "<ticket> <something>\n".
func find(files fs.FS, name string, t draw.Ticket) (string, error) {
	f, err := files.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return "", err
	}
	at, err := readerAt(f)
	if err != nil {
		return "", err
	}
	list := sortedList{at: at, size: info.Size()}
	// The first offset whose line is not before the ticket. All offsets of one
	// line give that line, so the search works on bytes and lines may differ
	// in length.
	i := sort.Search(int(info.Size()), func(offset int) bool {
		line := list.lineAt(int64(offset))
		return len(line) < ticketLen || string(line[:ticketLen]) >= t.String()
	})
	line := list.lineAt(int64(i))
	if list.err != nil {
		return "", fmt.Errorf("read %s: %w", name, list.err)
	}
	if len(line) > ticketLen && string(line[:ticketLen]) == t.String() {
		return line[ticketLen+1:], nil
	}
	return "", nil
}

// maxListLine is more than a line of either list has, in bytes.
const maxListLine = 128

type sortedList struct {
	at   io.ReaderAt
	size int64
	err  error // the first one met
}

// lineAt returns the line that an offset lies in, without its end, "" behind
// the last one.
func (l *sortedList) lineAt(offset int64) string {
	from := max(0, offset-maxListLine)
	buf := make([]byte, min(2*maxListLine, l.size-from))
	if _, err := l.at.ReadAt(buf, from); err != nil && err != io.EOF && l.err == nil {
		l.err = err
	}
	here := int(offset - from)
	if here >= len(buf) {
		return ""
	}
	start := bytes.LastIndexByte(buf[:here], '\n') + 1
	end := bytes.IndexByte(buf[here:], '\n')
	if end < 0 {
		return ""
	}
	return string(buf[start : here+end])
}

// readerAt returns the file's own ReadAt, or one made of seeking and reading.
func readerAt(f fs.File) (io.ReaderAt, error) {
	switch f := f.(type) {
	case io.ReaderAt:
		return f, nil
	case io.ReadSeeker:
		return seekerAt{f}, nil
	}
	return nil, errors.New("the file can't be read from its middle")
}

type seekerAt struct{ io.ReadSeeker }

func (s seekerAt) ReadAt(b []byte, offset int64) (int, error) {
	if _, err := s.Seek(offset, io.SeekStart); err != nil {
		return 0, err
	}
	return io.ReadFull(s, b)
}
