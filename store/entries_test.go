package store

import (
	"context"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// change is another size for an entry, with new salt and commitment.
func change(n entries.New) entries.Change {
	other := person("")
	e := n.Entry
	e.Size = sizing.Size{System: sizing.Womens, Size: 17, Width: "2A"}
	return entries.Change{LinkHash: n.LinkHash, Salt: other.Salt, Commitment: other.Commitment, Entry: e}
}

func TestAddEntryWindow(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		add := func(now time.Time) error {
			_, err := s.AddEntry(bg(), "trail-boots", now, person(now.Format("150405")+"@example.org"))
			return err
		}
		s.want(add(at(0)), giveaway.ErrNotFound)
		s.draft("trail-boots")
		s.want(add(at(0)), entries.ErrNotOpen)
		s.must(s.DB.Open(bg(), s.opened("trail-boots")))
		// Protocol, opening.txt: the window is half-open, [opens, closes).
		s.want(add(day.Add(-time.Nanosecond)), entries.ErrNotOpen)
		s.must(add(day))
		s.must(add(closes.Add(-time.Nanosecond)))
		s.want(add(closes), entries.ErrClosed)
		s.freeze("trail-boots", "a1", at(100))
		s.want(add(at(1)), entries.ErrClosed)
	})
}

func TestEntryComesBack(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		n := person("ann@example.org")
		stamp, err := s.AddEntry(bg(), "trail-boots", at(5).Add(700*time.Millisecond).In(time.FixedZone("", 3600)), n)
		s.must(err)
		want := entries.Stored{New: n, Stamp: entries.Stamp{Opening: draw.Hash(o.Opening.Text()), Entered: at(5)}}
		if !reflect.DeepEqual(stamp, want.Stamp) {
			t.Errorf("stamp %v, want %v", stamp, want.Stamp)
		}
		got, err := s.EntryByLink(bg(), "trail-boots", n.LinkHash)
		s.must(err)
		if !reflect.DeepEqual(got, want) {
			t.Errorf("got  %+v\nwant %+v", got, want)
		}
		bare := entries.New{Ticket: person("").Ticket, LinkHash: person("").LinkHash, Entry: entries.Entry{Key: "b@example.org"}}
		_, err = s.AddEntry(bg(), "trail-boots", at(6), bare)
		s.must(err)
		got, err = s.EntryByLink(bg(), "trail-boots", bare.LinkHash)
		s.must(err)
		if !got.Entry.Size.IsZero() || !reflect.DeepEqual(got.Entry, bare.Entry) {
			t.Errorf("without size or answers: %+v", got.Entry)
		}

		s.open("other")
		_, err = s.EntryByLink(bg(), "other", n.LinkHash)
		s.want(err, entries.ErrNoSuchLink)
		_, err = s.EntryByLink(bg(), "trail-boots", [32]byte{1})
		s.want(err, entries.ErrNoSuchLink)
	})
}

func TestOneEntryForEachAddress(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.open("other")
		n, _ := s.enter("trail-boots", "ann@example.org", at(1))
		_, err := s.AddEntry(bg(), "trail-boots", at(2), person("ann@example.org"))
		s.want(err, entries.ErrAlreadyIn)
		s.enter("other", "ann@example.org", at(2))
		s.enter("trail-boots", "Ann@example.org", at(2)) // the key decides, letter by letter

		s.must(s.Withdraw(bg(), "trail-boots", at(3), n.LinkHash))
		again, _ := s.enter("trail-boots", "ann@example.org", at(4))
		_, err = s.AddEntry(bg(), "trail-boots", at(5), person("ann@example.org"))
		s.want(err, entries.ErrAlreadyIn)

		taken := person("cal@example.org")
		taken.Ticket = again.Ticket
		_, err = s.AddEntry(bg(), "trail-boots", at(5), taken)
		s.want(err, entries.ErrTicketTaken)
		taken = person("cal@example.org")
		taken.LinkHash = again.LinkHash
		_, err = s.AddEntry(bg(), "trail-boots", at(5), taken)
		s.want(err, entries.ErrTicketTaken)
		_, err = s.AddEntry(bg(), "trail-boots", at(5), again)
		s.want(err, entries.ErrAlreadyIn)
	})
}

func TestChangeEntry(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		n, _ := s.enter("trail-boots", "ann@example.org", at(10))
		c := change(n)
		c.Entry.Key, c.Entry.Name = "eve@example.org", "Eve Example" // size alone can change
		for _, now := range []time.Time{at(9), at(10), at(10).Add(999 * time.Millisecond)} {
			_, err := s.ChangeEntry(bg(), "trail-boots", now, c)
			s.want(err, entries.ErrTooSoon)
		}
		stamp, err := s.ChangeEntry(bg(), "trail-boots", at(11), c)
		s.must(err)
		want := entries.Stored{New: n, Stamp: entries.Stamp{Opening: draw.Hash(o.Opening.Text()), Entered: at(11)}}
		want.Salt, want.Commitment, want.Entry.Size = c.Salt, c.Commitment, c.Entry.Size
		got, err := s.EntryByLink(bg(), "trail-boots", n.LinkHash)
		s.must(err)
		if !reflect.DeepEqual(got, want) || stamp != want.Stamp {
			t.Errorf("got  %+v\nwant %+v", got, want)
		}
		_, err = s.ChangeEntry(bg(), "trail-boots", at(100), c) // after closes, before the lock
		s.must(err)

		s.open("other")
		for _, id := range []string{"other", "no-such"} {
			_, err = s.ChangeEntry(bg(), id, at(12), c)
			s.want(err, entries.ErrNoSuchLink)
			s.want(s.Withdraw(bg(), id, at(12), n.LinkHash), entries.ErrNoSuchLink)
		}
		s.must(s.Withdraw(bg(), "trail-boots", at(101), n.LinkHash))
		_, err = s.ChangeEntry(bg(), "trail-boots", at(102), c)
		s.want(err, entries.ErrWithdrawn)
		s.must(s.Withdraw(bg(), "trail-boots", at(103), n.LinkHash))
		m, _ := s.enter("trail-boots", "bea@example.org", at(20))
		s.freeze("trail-boots", "a1", at(110))
		_, err = s.ChangeEntry(bg(), "trail-boots", at(111), change(m))
		s.want(err, entries.ErrLocked)
		s.want(s.Withdraw(bg(), "trail-boots", at(111), m.LinkHash), entries.ErrLocked)
		s.must(s.Withdraw(bg(), "trail-boots", at(111), n.LinkHash)) // twice is no error
		kept, err := s.EntryByLink(bg(), "trail-boots", m.LinkHash)
		s.must(err)
		if kept.Withdrawn || kept.Commitment != m.Commitment {
			t.Error("the locked entry changed")
		}
	})
}

func TestEntryCounts(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.open("other")
		for i, key := range []string{"a@example.org", "b@example.org", "c@example.org", "d@example.org"} {
			n, _ := s.enter("trail-boots", key, at(i))
			if i == 1 {
				s.must(s.Withdraw(bg(), "trail-boots", at(9), n.LinkHash))
			}
			if i == 2 {
				_, err := s.ChangeEntry(bg(), "trail-boots", at(9), change(n))
				s.must(err)
			}
		}
		c, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		mens, womens := person("").Entry.Size.String(), change(entries.New{}).Entry.Size.String()
		want := entries.Counts{Issued: 4, In: 3, ByReason: map[string]int64{"withdrawn": 1}, BySize: map[string]int64{mens: 2, womens: 1}, ByOrigin: map[string]int64{"form": 4}}
		if !reflect.DeepEqual(c, want) {
			t.Errorf("got %+v, want %+v", c, want)
		}
		c, err = s.EntryCounts(bg(), "other")
		s.must(err)
		if c.Issued != 0 || c.In != 0 {
			t.Errorf("another giveaway's entries were counted: %+v", c)
		}
	})
}

// One entry that the database itself refuses spoils none of its batch, and a
// batch whose answer was lost after it was durable is not written twice.
func TestBatchAnswersEachEntry(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		arrive := func(id string, n entries.New) *arrival {
			return &arrival{ctx: bg(), draw: id, now: at(1), entry: n, answer: make(chan struct{}, 1)}
		}
		kept := arrive("trail-boots", person("kept@example.org"))
		s.intake.write([]*arrival{kept})
		s.must(kept.err)
		lost := arrive("trail-boots", kept.entry)
		lost.now, lost.again = at(2), true
		ended, cancel := context.WithCancel(bg())
		cancel()
		gone := arrive("trail-boots", person("gone@example.org"))
		gone.ctx = ended
		batch := []*arrival{
			arrive("trail-boots", person("ann@example.org")), arrive("trail-boots", person("ann@example.org")),
			arrive("no-such", person("bea@example.org")), arrive("trail-boots", person("cal@example.org")), lost, gone,
		}
		s.intake.write(batch)
		byKey := map[string][]error{}
		for _, a := range batch {
			<-a.answer
			byKey[a.entry.Entry.Key] = append(byKey[a.entry.Entry.Key], a.err)
		}
		first, second := byKey["ann@example.org"][0], byKey["ann@example.org"][1]
		s.must(first)
		s.want(second, entries.ErrAlreadyIn)
		s.want(byKey["bea@example.org"][0], giveaway.ErrNotFound)
		s.must(byKey["cal@example.org"][0])
		s.want(byKey["gone@example.org"][0], context.Canceled)
		if s.must(lost.err); !lost.stamp.Entered.Equal(at(1)) || lost.stamp.Opening != draw.Hash(o.Opening.Text()) {
			t.Errorf("stamp %v, want the one first written", lost.stamp)
		}
		c, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		if c.Issued != 3 {
			t.Errorf("%d tickets, want 3", c.Issued)
		}
	})
}

// PostgreSQL takes no zero byte in a text, so this entry's statement fails and
// the batch with it; the others must be written all the same.
func TestOneBadEntrySpoilsNoBatch(t *testing.T) {
	s := newSuite(t, backends[1].at(t))
	s.open("trail-boots")
	var batch []*arrival
	for _, key := range []string{"a@example.org", "b\x00@example.org", "c@example.org"} {
		batch = append(batch, &arrival{ctx: bg(), draw: "trail-boots", now: at(1), entry: person(key), answer: make(chan struct{}, 1)})
	}
	s.intake.write(batch)
	s.must(batch[0].err)
	s.must(batch[2].err)
	if err := batch[1].err; err == nil || strings.Contains(err.Error(), "example.org") {
		t.Errorf("error %v, want one without the address", err)
	}
}

// No error shows an entry's values.
func TestErrorsBearNoPersonalData(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		n, _ := s.enter("trail-boots", "ann@example.org", at(1))
		ended, cancel := context.WithCancel(bg())
		cancel()
		_, again := s.AddEntry(bg(), "trail-boots", at(2), n)
		_, gone := s.AddEntry(ended, "trail-boots", at(2), person("ann@example.org"))
		_, changed := s.ChangeEntry(ended, "trail-boots", at(2), change(n))
		_, byDatabase := s.write.Exec(`INSERT INTO entries SELECT * FROM entries`)
		_, notThere := s.EntryByLink(bg(), "trail-boots", [32]byte{})
		for i, err := range []error{again, gone, changed, byDatabase, notThere} {
			if err == nil {
				t.Fatalf("error %d is nil", i)
			}
			for _, word := range []string{"ann@", "Zoë", "Typed", "long way"} {
				if strings.Contains(err.Error(), word) {
					t.Errorf("%v shows %q", err, word)
				}
			}
		}
	})
}

func TestCloseAnswersEverybody(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		db := s.server()
		var wg sync.WaitGroup
		for i := range 50 {
			wg.Go(func() {
				_, err := db.AddEntry(bg(), "trail-boots", at(1), person(string(rune('A'+i))+"@example.org"))
				if err != nil && !strings.Contains(err.Error(), errClosed.Error()) {
					t.Error(err)
				}
			})
		}
		s.must(db.Close())
		wg.Wait()
	})
}
