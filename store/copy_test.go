package store

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// A copy that is made while entries come in is whole: SQLite finds no fault in
// it (https://www.sqlite.org/pragma.html#pragma_integrity_check), and a server
// that starts on it has every entry that was answered before.
func TestCopyIsWholeWhileEntriesComeIn(t *testing.T) {
	s := newSuite(t, backends[0].at(t))
	s.open("trail-boots")
	for i := range 20 {
		s.enter("trail-boots", string(rune('a'+i))+"@example.org", at(1))
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := range 20 {
			s.enter("trail-boots", string(rune('a'+i))+"@example.com", at(2))
		}
	}()
	c, err := s.copy(bg())
	<-done
	s.must(err)
	if info, err := c.Stat(); err != nil || info.Mode().Perm() != 0o600 || filepath.Dir(c.Name()) != filepath.Dir(s.config.File) {
		t.Errorf("the copy is %s, mode %v, %v", c.Name(), info.Mode(), err)
	}
	kept := filepath.Join(t.TempDir(), "kept.db")
	b, err := os.ReadFile(c.Name())
	s.must(err)
	s.must(os.WriteFile(kept, b, 0o600))
	s.must(c.Close())
	if _, err := os.Stat(c.Name()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a closed copy is still there: %v", err)
	}
	from := s.config
	from.File = kept
	other, err := Open(bg(), from)
	s.must(err)
	defer func() { s.must(other.Close()) }()
	var sound string
	s.must(other.read.QueryRow(`PRAGMA integrity_check`).Scan(&sound))
	n, err := other.EntryCounts(bg(), "trail-boots")
	s.must(err)
	if sound != "ok" || n.In < 20 || n.In > 40 {
		t.Errorf("the copy is %q with %d entries, want ok with 20 to 40", sound, n.In)
	}
}

// A copy that fails leaves no file.
func TestCopyThatFailsLeavesNothing(t *testing.T) {
	s := newSuite(t, backends[0].at(t))
	ended, end := context.WithCancel(bg())
	end()
	if c, err := s.copy(ended); err == nil {
		t.Fatalf("a copy was made after all: %s", c.Name())
	}
	if left, err := filepath.Glob(filepath.Join(filepath.Dir(s.config.File), "copy-*")); err != nil || len(left) > 0 {
		t.Errorf("left %v, %v", left, err)
	}
}

// PostgreSQL has tools of its own for it.
func TestPostgresMakesNoCopyHere(t *testing.T) {
	if newSuite(t, backends[1].at(t)).Copies() != nil {
		t.Error("a copy is offered")
	}
}
