package store

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/internal/pgtest"
	"evenhand/sizing"
	"evenhand/vault"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// backends are the two databases. Every test of the suite runs on both, each
// time in a fresh one.
var backends = []struct {
	name string
	at   func(t testing.TB) Config
}{
	{"sqlite", func(t testing.TB) Config { return Config{File: filepath.Join(t.TempDir(), "evenhand.db")} }},
	{"postgres", func(t testing.TB) Config { return Config{URL: pgtest.Database(t)} }},
}

// each runs a test on both databases.
func each(t *testing.T, test func(t *testing.T, s *suite)) {
	t.Helper()
	for _, b := range backends {
		t.Run(b.name, func(t *testing.T) {
			t.Parallel()
			test(t, newSuite(t, b.at(t)))
		})
	}
}

// A suite is a test's database with one server on it.
type suite struct {
	*DB
	t      testing.TB
	config Config
	signer draw.Signer
	other  *DB // another server; nil until press needs it
}

func newSuite(t testing.TB, c Config) *suite {
	t.Helper()
	c.Vault = newVault(t)
	s := &suite{t: t, config: c}
	s.DB = s.server()
	var err error
	s.signer, err = s.Installation(t.Context(), "slowmiles.example", rand.Reader)
	s.must(err)
	return s
}

func newVault(t testing.TB) *vault.Vault {
	t.Helper()
	v, err := vault.Load(filepath.Join(t.TempDir(), "master.key"), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// server starts another server on the same database.
func (s *suite) server() *DB {
	s.t.Helper()
	db, err := Open(s.t.Context(), s.config)
	s.must(err)
	s.t.Cleanup(func() {
		if err := db.Close(); err != nil {
			s.t.Errorf("close: %v", err)
		}
	})
	return db
}

func (s *suite) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// want asks for an error.
func (s *suite) want(err, want error) {
	s.t.Helper()
	if !errors.Is(err, want) {
		s.t.Fatalf("error %v, want %v", err, want)
	}
}

// day is when the giveaways of the tests open; they close a minute later, and
// the event is an hour later.
var day = time.Date(2026, 12, 11, 20, 0, 0, 0, time.UTC)

var (
	closes = day.Add(time.Minute)
	event  = day.Add(time.Hour)
)

// at is a time, in seconds after opening.
func at(seconds int) time.Time { return day.Add(time.Duration(seconds) * time.Second) }

func bg() context.Context { return context.Background() }

// terms are as much of terms as a store needs.
func (s *suite) terms(id string) giveaway.Terms {
	moment := func(t time.Time) giveaway.Moment {
		m, err := giveaway.MomentAt(t, "America/New_York")
		s.must(err)
		return m
	}
	return giveaway.Terms{
		Draw: id, Channel: "Slow Miles", Title: "Trail boots", Prize: "a pair of hiking boots",
		Sponsor: "Larkspur Trail Supply", Opens: moment(day), Closes: moment(closes), Event: moment(event),
		Winners: 1, Alternates: 2, AnswerDays: 7, LockMinutes: 30, Beacon: giveaway.BeaconNone, Rules: "One entry each.\n",
		Questions: []giveaway.Question{{Key: "trail", Label: "Which trail?", Kind: giveaway.KindText}},
	}
}

func (s *suite) draft(id string) giveaway.Giveaway {
	s.t.Helper()
	g := giveaway.Giveaway{ID: id, Terms: s.terms(id), State: giveaway.StateDraft, Created: at(-100)}
	s.must(s.AddDraft(bg(), g))
	return g
}

// opened is what opens a draft.
func (s *suite) opened(id string) giveaway.Opened {
	s.t.Helper()
	terms := s.terms(id)
	seal := draw.Seal{Draw: id, Signer: s.signer.Name(), Role: "host"}
	_, err := io.ReadFull(rand.Reader, seal.Secret[:])
	s.must(err)
	o := draw.Opening{
		Draw: id, Revision: 1, Signer: s.signer.VerifierKey(), Opens: day, Closes: closes, Event: event,
		Winners: 1, Alternates: 2, Rules: draw.Hash([]byte(terms.Rules)), Seals: []draw.SealHash{{Role: "host", Hash: seal.Hash()}},
	}
	return giveaway.Opened{ID: id, From: terms.Mark(), Terms: terms, Opening: o, Note: s.sign(o.Text()), Rules: []byte(terms.Rules), HostSecret: seal.Secret, At: at(-50)}
}

func (s *suite) sign(text []byte) []byte {
	s.t.Helper()
	note, err := s.signer.Sign(text)
	s.must(err)
	return note
}

// open makes an open giveaway.
func (s *suite) open(id string) giveaway.Opened {
	s.t.Helper()
	s.draft(id)
	o := s.opened(id)
	s.must(s.DB.Open(bg(), o))
	return o
}

// revision is a revision that moves closes and event by a second each, and is
// stamped now or the second after the last stamp.
func (s *suite) revision(o draw.Opening, now, last time.Time) giveaway.Revised {
	next := o
	next.Revision, next.Replaces, next.Revised = o.Revision+1, draw.Hash(o.Text()), now
	if !now.After(last) {
		next.Revised = last.Add(time.Second)
	}
	next.Closes, next.Event = o.Closes.Add(time.Second), o.Event.Add(time.Second)
	return giveaway.Revised{Terms: s.terms(o.Draw), Opening: next, Note: s.sign(next.Text())}
}

// person makes an entry for an address.
func person(key string) entries.New {
	n := entries.New{Origin: entries.OriginForm, Entry: entries.Entry{
		Key: key, Typed: "Typed." + key, Size: sizing.Size{System: sizing.Mens, Size: 21, Width: "D"},
		Live: eligibility.Place{Country: "US", State: "OR"}, Ship: eligibility.Place{Country: "CA"},
		Friend: true, Name: "Zoë Example", AgeRange: "25-34", Step: true, Answers: map[string]string{"trail": "the long way"},
	}}
	n.Ticket, _ = draw.NewTicket(rand.Reader)
	for _, b := range [][]byte{n.Salt[:], n.Commitment[:], n.LinkHash[:]} {
		_, _ = rand.Read(b) // never fails, as its documentation says
	}
	return n
}

// enter takes an entry that must be taken.
func (s *suite) enter(id, key string, now time.Time) (entries.New, entries.Stamp) {
	s.t.Helper()
	n := person(key)
	stamp, err := s.AddEntry(bg(), id, now, n)
	s.must(err)
	return n, stamp
}

// lists are the lists of a freeze, made in one go.
func (s *suite) lists(id string) (roll, excluded []byte) {
	s.t.Helper()
	var after draw.Ticket
	for {
		page, err := s.Tickets(bg(), id, after, 3)
		s.must(err)
		for _, l := range page {
			if l.Reason == "" {
				roll = append(roll, l.Ticket.String()+" "+l.Commitment.String()+"\n"...)
			} else {
				excluded = append(excluded, l.Ticket.String()+" "+l.Reason+"\n"...)
			}
			after = l.Ticket
		}
		if len(page) == 0 {
			return roll, excluded
		}
	}
}

// writeLists writes both lists of an attempt.
func (s *suite) writeLists(id, attempt string, roll, excluded []byte, now time.Time) {
	s.t.Helper()
	for name, b := range map[string][]byte{draw.RollFile: roll, draw.ExcludedFile: excluded} {
		for n := 0; n == 0 || len(b) > 0; n++ {
			piece := b[:min(len(b), giveaway.ChunkSize)]
			s.must(s.WriteList(bg(), id, attempt, name, n, piece, now))
			b = b[len(piece):]
		}
	}
}

// frozen is what ends a freeze.
func (s *suite) frozen(g giveaway.Giveaway, attempt string, stamp time.Time, roll, excluded []byte) giveaway.Frozen {
	f := draw.Freeze{Draw: g.ID, Opening: g.OpeningHash, Frozen: stamp, RollHash: draw.Hash(roll), ExcludedHash: draw.Hash(excluded)}
	f.Roll, f.Excluded = int64(bytes.Count(roll, []byte("\n"))), int64(bytes.Count(excluded, []byte("\n")))
	f.Issued = f.Roll + f.Excluded
	return giveaway.Frozen{ID: g.ID, Attempt: attempt, Freeze: f, Note: s.sign(f.Text())}
}

// freeze locks a giveaway's list.
func (s *suite) freeze(id, attempt string, now time.Time) giveaway.Frozen {
	s.t.Helper()
	stamp, g, err := s.BeginFreeze(bg(), id, attempt, now)
	s.must(err)
	roll, excluded := s.lists(id)
	s.writeLists(id, attempt, roll, excluded, now)
	f := s.frozen(g, attempt, stamp, roll, excluded)
	s.must(s.Freeze(bg(), f))
	return f
}

// read is a published file; "" where there is none.
func (s *suite) read(id, name string) string {
	s.t.Helper()
	b, err := fs.ReadFile(s.Publication(id), name)
	if errors.Is(err, os.ErrNotExist) {
		return ""
	}
	s.must(err)
	return string(b)
}

// published is the whole publication.
func (s *suite) published(id string) map[string]string {
	s.t.Helper()
	files := map[string]string{}
	s.must(fs.WalkDir(s.Publication(id), ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files[path] = s.read(id, path)
		}
		return err
	}))
	return files
}
