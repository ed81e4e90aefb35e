package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sync"

	"evenhand/draw"
	"evenhand/giveaway"
)

// checks keeps the newest check of each publication, with and without its
// result: the desk knows a result that is held back, and others do not.
type checks struct {
	mu     sync.Mutex // guards byDraw
	byDraw map[checkedOf]*checked
}

// A checkedOf tells one check from another.
type checkedOf struct {
	id    string
	drawn bool // with the result
}

// A checked publication. Whoever holds mu makes the check; others wait for it.
type checked struct {
	mu     sync.Mutex // guards what follows
	key    draw.Digest
	report draw.Report
}

// notes are the files whose hashes tell one publication from another: the
// lists' and the rules' hashes stand in them.
var notes = []string{draw.OpeningFile, draw.FreezeFile, draw.RecordFile, draw.OutcomeFile, draw.CancelledFile}

// check returns the check of a giveaway's publication, made once for the
// notes as they stand. It knows a result only where g says that it is drawn.
func (s *Site) check(ctx context.Context, g giveaway.Giveaway) (draw.Report, error) {
	pub, of := s.known(g), checkedOf{g.ID, g.State == giveaway.StateDrawn}
	key, err := notesKey(pub)
	if err != nil {
		return draw.Report{}, fmt.Errorf("check publication: %w", err)
	}
	s.checks.mu.Lock()
	one := s.checks.byDraw[of]
	if one == nil {
		one = &checked{}
		s.checks.byDraw[of] = one
	}
	s.checks.mu.Unlock()

	one.mu.Lock()
	defer one.mu.Unlock()
	if one.key != key {
		// The check is for everybody: it does not end with this one request.
		r := draw.Check(context.WithoutCancel(ctx), pub, draw.Options{Host: s.cfg.PublicURL.Hostname()})
		if r.Status == draw.StatusNotRead {
			return r, nil // may be read next time
		}
		one.key, one.report = key, r
	}
	return one.report, nil
}

// notesKey hashes the hashes of the notes that are there.
func notesKey(pub fs.FS) (draw.Digest, error) {
	h := sha256.New()
	for _, name := range notes {
		d, err := fileDigest(pub, name)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return draw.Digest{}, err
		}
		fmt.Fprintf(h, "%s %s\n", name, d)
	}
	return draw.Digest(h.Sum(nil)), nil
}

// fileDigest is the hash of a published file; a store knows it already.
func fileDigest(pub fs.FS, name string) (draw.Digest, error) {
	f, err := pub.Open(name)
	if err != nil {
		return draw.Digest{}, err
	}
	defer f.Close()
	if known, ok := f.(interface{ Digest() draw.Digest }); ok {
		return known.Digest(), nil
	}
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return draw.Digest{}, err
	}
	return draw.Digest(h.Sum(nil)), nil
}
