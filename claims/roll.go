package claims

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sort"

	"evenhand/draw"
)

// A line of roll.txt is a ticket, a blank, a commitment and LF (draw
// protocol, "roll.txt and excluded.txt"), in bytes.
const (
	ticketLen = 16
	rollLine  = ticketLen + 1 + 64 + 1
)

// inRoll returns the commitment that the published list has beside a ticket,
// zero if the ticket isn't in it. Lines are sorted and of one length, so a
// few reads find it; the file must be an io.ReaderAt.
func inRoll(files fs.FS, t draw.Ticket) (draw.Digest, error) {
	var none draw.Digest
	f, err := files.Open(draw.RollFile)
	if err != nil {
		return none, fmt.Errorf("open %s: %w", draw.RollFile, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return none, fmt.Errorf("open %s: %w", draw.RollFile, err)
	}
	at, ok := f.(io.ReaderAt)
	if !ok {
		return none, errors.New("read " + draw.RollFile + ": the file can't be read from its middle")
	}
	line := make([]byte, rollLine)
	read := func(n int) string {
		if err != nil {
			return ""
		}
		_, err = at.ReadAt(line, int64(n)*rollLine)
		if err == io.EOF { // only allowed by io.ReaderAt where the line is whole
			err = nil
		}
		return string(line[:ticketLen])
	}
	count := int(info.Size() / rollLine)
	n := sort.Search(count, func(n int) bool { return read(n) >= t.String() })
	found := n < count && read(n) == t.String()
	if err != nil {
		return none, fmt.Errorf("read %s: %w", draw.RollFile, err)
	}
	if !found {
		return none, nil
	}
	return draw.ParseDigest(string(line[ticketLen+1 : rollLine-1]))
}
