package entries

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"evenhand/draw"
)

const publications = "../testdata/vectors/publications"

// Every line of every sample publication that is valid is found where it
// stands. Source: the samples, made by another implementation.
func TestLookAtTheSamples(t *testing.T) {
	folders, err := filepath.Glob(publications + "/*")
	if err != nil || len(folders) < 10 {
		t.Fatalf("got %d samples, %v", len(folders), err)
	}
	looked := 0
	for _, folder := range folders {
		if strings.HasPrefix(filepath.Base(folder), "bad-") {
			continue
		}
		files := os.DirFS(folder)
		for _, name := range []string{draw.RollFile, draw.ExcludedFile} {
			list, err := fs.ReadFile(files, name)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			for line := range strings.Lines(string(list)) {
				looked++
				lookAtLine(t, files, name, strings.TrimSuffix(line, "\n"))
			}
		}
	}
	if looked < 20 {
		t.Errorf("looked at %d lines only", looked)
	}
}

func lookAtLine(t *testing.T, files fs.FS, name, line string) {
	t.Helper()
	ticket, err := draw.ParseTicket(line[:16])
	if err != nil {
		t.Fatal(err)
	}
	s, err := Look(files, ticket)
	if err != nil || !s.Locked || !s.Known() || s.In != (name == draw.RollFile) {
		t.Errorf("%s: got %+v, %v", line, s, err)
	}
	if !s.In && s.Reason != line[17:] {
		t.Errorf("%s: got reason %q", line, s.Reason)
	}
	place := 0
	if record, err := fs.ReadFile(files, draw.RecordFile); err == nil {
		for l := range strings.Lines(string(record)) {
			var n int
			var at, score string
			if k, _ := fmt.Sscanf(l, "place %d %s %s", &n, &at, &score); k == 3 && at == line[:16] {
				place = n
			}
		}
	}
	if s.Place != place || s.Wins != (place > 0 && place <= s.Winners) {
		t.Errorf("%s: got place %d, want %d; wins %v of %d", line, s.Place, place, s.Wins, s.Winners)
	}
}

// lists are a publication with n tickets, every third excluded, and all
// tickets that stand in it.
func lists(n int) (fstest.MapFS, []draw.Ticket) {
	chance := rand.NewChaCha8([32]byte{9})
	tickets := make([]draw.Ticket, n)
	for i := range tickets {
		tickets[i], _ = draw.NewTicket(chance)
	}
	slices.SortFunc(tickets, func(a, b draw.Ticket) int { return strings.Compare(a.String(), b.String()) })
	var roll, excluded bytes.Buffer
	in, out := draw.NewListWriter(&roll), draw.NewListWriter(&excluded)
	reasons := []string{draw.Region, draw.Unconfirmed, draw.Duplicate, draw.Withdrawn, draw.Ineligible}
	for i, t := range tickets {
		if i%3 == 2 {
			out.AddReason(t, reasons[i%5])
		} else {
			in.Add(t, draw.Hash(t[:]))
		}
	}
	return fstest.MapFS{
		draw.RollFile:     {Data: roll.Bytes()},
		draw.ExcludedFile: {Data: excluded.Bytes()},
	}, tickets
}

// Lists of every small length, and what stands just beside each ticket.
func TestLookFindsEach(t *testing.T) {
	for n := range 40 {
		files, tickets := lists(n)
		for i, ticket := range tickets {
			s, err := Look(files, ticket)
			if err != nil || s.In != (i%3 != 2) || !s.Known() {
				t.Fatalf("%d tickets, number %d: got %+v, %v", n, i, s, err)
			}
			beside := ticket
			beside[15] = map[bool]byte{true: '1', false: '0'}[beside[15] == '0']
			if s, err := Look(files, beside); err != nil || s.Known() || !s.Locked {
				t.Fatalf("%d tickets, beside number %d: got %+v, %v", n, i, s, err)
			}
		}
	}
}

func TestLookBeforeTheLock(t *testing.T) {
	s, err := Look(fstest.MapFS{draw.OpeningFile: {Data: []byte("x")}}, draw.Ticket{})
	if err != nil || s != (Standing{}) {
		t.Errorf("got %+v, %v", s, err)
	}
}

// seekOnly hides ReadAt; noSeek hides Seek too.
type seekOnly struct {
	fs.File
	io.ReadSeeker
}

func (s seekOnly) Read(b []byte) (int, error) { return s.ReadSeeker.Read(b) }

type noSeek struct{ fs.File }

type wrapped struct {
	fstest.MapFS
	seek bool
}

func (w wrapped) Open(name string) (fs.File, error) {
	f, err := w.MapFS.Open(name)
	if err != nil || !w.seek {
		return noSeek{f}, err
	}
	return seekOnly{f, bytes.NewReader(w.MapFS[name].Data)}, nil
}

func TestLookThroughSeek(t *testing.T) {
	files, tickets := lists(100)
	for i, ticket := range tickets {
		if s, err := Look(wrapped{files, true}, ticket); err != nil || s.In != (i%3 != 2) || !s.Known() {
			t.Fatalf("number %d: got %+v, %v", i, s, err)
		}
	}
	if _, err := Look(wrapped{files, false}, tickets[0]); err == nil {
		t.Error("a file that can't seek gives no error")
	}
}
