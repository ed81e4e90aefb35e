package store

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"testing/fstest"
	"testing/iotest"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// long publishes a roll of two and a half chunks, whatever it says.
func (s *suite) long(id string) []byte {
	s.t.Helper()
	s.open(id)
	stamp, g, err := s.BeginFreeze(bg(), id, "a1", at(100))
	s.must(err)
	source := rand.NewChaCha8([32]byte{1})
	roll := make([]byte, 2*giveaway.ChunkSize+giveaway.ChunkSize/2)
	_, _ = source.Read(roll) // never fails
	s.writeLists(id, "a1", roll, nil, at(100))
	s.must(s.Freeze(bg(), s.frozen(g, "a1", stamp, roll, nil)))
	return roll
}

// Contract of io/fs, io.ReaderAt and io.Seeker: the checks of Go's own
// testing/fstest and testing/iotest.
func TestPublicationIsAnFS(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		roll := s.long("trail-boots")
		p := s.Publication("trail-boots")
		s.must(fstest.TestFS(p, draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile, draw.FreezeFile))
		f, err := p.Open(draw.RollFile)
		s.must(err)
		defer f.Close()
		s.must(iotest.TestReader(f, roll))
		for _, name := range []string{"roll.txt@a1", "record.txt", "opening.1.txt", "Opening.txt", "opening", "../opening.txt", "/opening.txt", ""} {
			if _, err := p.Open(name); err == nil || (fs.ValidPath(name) && !errors.Is(err, fs.ErrNotExist)) {
				t.Errorf("open %q: %v, want ErrNotExist", name, err)
			}
		}
		if _, err := s.Publication("no-such").Open(draw.OpeningFile); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("unknown id: %v, want ErrNotExist", err)
		}
		if got := s.read("trail-boots", draw.ExcludedFile); got != "" {
			t.Errorf("an empty list has %d bytes", len(got))
		}
	})
}

func TestFilesHaveSizeAndHash(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		roll := s.long("trail-boots")
		for name, want := range map[string][]byte{draw.RollFile: roll, draw.ExcludedFile: nil, draw.RulesFile: []byte("One entry each.\n")} {
			f, err := s.Publication("trail-boots").Open(name)
			s.must(err)
			info, err := f.Stat()
			s.must(err)
			digest := f.(interface{ Digest() draw.Digest }).Digest()
			if info.Size() != int64(len(want)) || digest != draw.Hash(want) {
				t.Errorf("%s: %d bytes, hash %s", name, info.Size(), digest)
			}
		}
	})
}

// Many readers of one file do not disturb one another.
func TestReadAtFromManyGoroutines(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		roll := s.long("trail-boots")
		f, err := s.Publication("trail-boots").Open(draw.RollFile)
		s.must(err)
		r := f.(io.ReaderAt)
		var wg sync.WaitGroup
		for g := range uint64(8) {
			wg.Go(func() {
				source := rand.New(rand.NewPCG(1, g))
				for range 20 {
					from := source.IntN(len(roll))
					b := make([]byte, 1+source.IntN(2*giveaway.ChunkSize))
					n, err := r.ReadAt(b, int64(from))
					want := roll[from:min(len(roll), from+len(b))]
					if !bytes.Equal(b[:n], want) || (n < len(b)) != (err == io.EOF) {
						t.Errorf("read %d of %d at %d: %v", n, len(b), from, err)
					}
				}
			})
		}
		wg.Wait()
	})
}

// The server's own way to serve files, with a range (RFC 9110, section 14).
func TestFilesServeRanges(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		roll := s.long("trail-boots")
		f, err := s.Publication("trail-boots").Open(draw.RollFile)
		s.must(err)
		r := httptest.NewRequest("GET", "/roll.txt", nil)
		r.Header.Set("Range", "bytes=65530-65545")
		w := httptest.NewRecorder()
		http.ServeContent(w, r, draw.RollFile, time.Time{}, f.(io.ReadSeeker))
		if w.Code != http.StatusPartialContent || !bytes.Equal(w.Body.Bytes(), roll[65530:65546]) {
			t.Errorf("status %d, %d bytes", w.Code, w.Body.Len())
		}
	})
}

// The cache keeps what was read last, and not more than it may.
func TestChunkCache(t *testing.T) {
	c := newChunkCache()
	name := func(n int) chunkName { return chunkName{"trail-boots", "roll.txt@a1", n} }
	for n := range cachedChunks {
		c.put(name(n), []byte{byte(n)})
	}
	c.get(name(0))
	c.put(name(cachedChunks), nil)
	if b, found := c.get(name(0)); !found || b[0] != 0 {
		t.Error("what was read last is gone")
	}
	if _, found := c.get(name(1)); found || len(c.byName) != cachedChunks || c.order.Len() != cachedChunks {
		t.Errorf("%d chunks are kept, want %d without the oldest", len(c.byName), cachedChunks)
	}
}
