package store

import (
	"errors"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

func TestBeginFreeze(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		begin := func(now time.Time) error { _, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", now); return err }
		s.want(begin(at(100)), giveaway.ErrNotFound)
		s.draft("trail-boots")
		s.want(begin(at(100)), giveaway.ErrState)
		s.must(s.DB.Open(bg(), s.opened("trail-boots")))
		n, _ := s.enter("trail-boots", "ann@example.org", at(30))

		var early giveaway.ErrTooEarly
		if err := begin(closes.Add(-time.Second)); !errors.As(err, &early) || !early.Until.Equal(closes) {
			t.Fatalf("error %v, want ErrTooEarly until %v", err, closes)
		}
		s.want(begin(event), giveaway.ErrTooLate)
		s.enter("trail-boots", "bea@example.org", at(31)) // both left it open

		stamp, g, err := s.BeginFreeze(bg(), "trail-boots", "a1", closes)
		s.must(err)
		if !stamp.Equal(closes) || g.State != giveaway.StateFreezing || !g.Frozen.Equal(closes) || g.OpeningHash.IsZero() {
			t.Errorf("stamp %v, row %+v", stamp, g)
		}
		_, err = s.AddEntry(bg(), "trail-boots", at(32), person("cal@example.org"))
		s.want(err, entries.ErrClosed)
		_, err = s.ChangeEntry(bg(), "trail-boots", at(90), entries.Change{LinkHash: n.LinkHash})
		s.want(err, entries.ErrLocked)
		s.want(s.Withdraw(bg(), "trail-boots", at(90), n.LinkHash), entries.ErrLocked)
	})
}

// Frozen is later than every stamp, whatever the clock of this server says.
func TestFrozenIsLaterThanEveryStamp(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		n, _ := s.enter("trail-boots", "ann@example.org", at(30))
		stamp, err := s.ChangeEntry(bg(), "trail-boots", at(75), change(n))
		s.must(err)
		s.must(s.Withdraw(bg(), "trail-boots", at(76), n.LinkHash))
		frozen, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", at(70))
		s.must(err)
		if want := at(76); !frozen.Equal(want) || !frozen.After(stamp.Entered) {
			t.Errorf("frozen %v, want the second after the last stamp, %v", frozen, want)
		}
	})
}

func TestTakeOver(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.enter("trail-boots", "ann@example.org", at(30))
		begin := func(attempt string, now int) (giveaway.Giveaway, time.Time, error) {
			stamp, g, err := s.BeginFreeze(bg(), "trail-boots", attempt, at(now))
			return g, stamp, err
		}
		write := func(attempt string, chunk, now int, b string) error {
			return s.WriteList(bg(), "trail-boots", attempt, draw.RollFile, chunk, []byte(b), at(now))
		}
		_, _, err := begin("a1", 100)
		s.must(err)
		_, _, err = begin("a2", 119)
		s.want(err, giveaway.ErrBusy)
		s.must(write("a1", 0, 115, "lost")) // a sign of life
		_, _, err = begin("a2", 134)
		s.want(err, giveaway.ErrBusy)
		g, stamp, err := begin("a2", 135)
		s.must(err)
		if !stamp.Equal(at(135)) || g.State != giveaway.StateFreezing {
			t.Errorf("taken over with stamp %v, %s", stamp, g.State)
		}

		// The old attempt wakes up: nothing of it counts any more.
		s.want(write("a1", 1, 136, "late"), giveaway.ErrState)
		s.want(s.AbandonFreeze(bg(), "trail-boots", "a1"), giveaway.ErrState)
		s.want(s.Freeze(bg(), s.frozen(g, "a1", stamp, []byte("lost"), nil)), giveaway.ErrState)
		var left int
		s.must(s.write.QueryRow(`SELECT COUNT(*) FROM file_chunks WHERE version LIKE '%a1'`).Scan(&left))
		if left != 0 {
			t.Errorf("%d chunks of the dead attempt are left", left)
		}
		if got := s.published("trail-boots"); len(got) != 2 {
			t.Errorf("%d files are published while freezing, want 2", len(got))
		}
		roll, excluded := s.lists("trail-boots")
		s.writeLists("trail-boots", "a2", roll, excluded, at(136))
		s.must(s.Freeze(bg(), s.frozen(g, "a2", stamp, roll, excluded)))
		if got := s.read("trail-boots", draw.RollFile); got != string(roll) || len(roll) != 82 {
			t.Errorf("roll.txt has %d bytes, want the 82 of one line", len(got))
		}
	})
}

// A dead attempt found at the event leaves the giveaway open, for a revision.
func TestTakeOverTooLate(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", event.Add(-30*time.Second))
		s.must(err)
		_, _, err = s.BeginFreeze(bg(), "trail-boots", "a2", event)
		s.want(err, giveaway.ErrTooLate)
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if g.State != giveaway.StateOpen || !g.Frozen.IsZero() {
			t.Errorf("row %s, frozen %v, want open", g.State, g.Frozen)
		}
		s.must(s.Revise(bg(), "trail-boots", 1, func(last time.Time) (giveaway.Revised, error) {
			r := s.revision(o.Opening, event.Add(-time.Second), last)
			r.Opening.Event = event.Add(time.Hour)
			return r, nil
		}))
		s.freeze("trail-boots", "a3", event.Add(time.Minute))
	})
}

func TestAbandonFreeze(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		n, _ := s.enter("trail-boots", "ann@example.org", at(30))
		s.want(s.AbandonFreeze(bg(), "trail-boots", "a1"), giveaway.ErrState)
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", at(100))
		s.must(err)
		s.must(s.WriteList(bg(), "trail-boots", "a1", draw.RollFile, 0, []byte("x"), at(100)))
		s.must(s.AbandonFreeze(bg(), "trail-boots", "a1"))
		_, err = s.ChangeEntry(bg(), "trail-boots", at(101), change(n))
		s.must(err)
		s.freeze("trail-boots", "a1", at(101)) // even the name is free again
	})
}

func TestWriteListRefuses(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		write := func(id, attempt, name string, chunk int, b string) error {
			return s.WriteList(bg(), id, attempt, name, chunk, []byte(b), at(100))
		}
		s.want(write("no-such", "a1", draw.RollFile, 0, "x"), giveaway.ErrNotFound)
		s.want(write("trail-boots", "a1", draw.RollFile, 0, "x"), giveaway.ErrState)
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", at(100))
		s.must(err)
		for _, name := range []string{draw.FreezeFile, "opening.txt", "", "roll.1.txt"} {
			if write("trail-boots", "a1", name, 0, "x") == nil {
				t.Errorf("%q was written as a list", name)
			}
		}
		if write("trail-boots", "a1", draw.RollFile, 0, strings.Repeat("x", giveaway.ChunkSize+1)) == nil {
			t.Error("a chunk too long was written")
		}
		s.must(write("trail-boots", "a1", draw.RollFile, 0, "x"))
		s.must(write("trail-boots", "a1", draw.RollFile, 0, "x")) // the answer was lost
		if write("trail-boots", "a1", draw.RollFile, 0, "y") == nil {
			t.Error("a chunk was written over")
		}
	})
}

// What is published for ever is what freeze.txt says.
func TestFreezeRefusesOtherLists(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		for _, key := range []string{"ann@example.org", "bea@example.org"} {
			s.enter("trail-boots", key, at(30))
		}
		stamp, g, err := s.BeginFreeze(bg(), "trail-boots", "a1", at(100))
		s.must(err)
		roll, excluded := s.lists("trail-boots")
		s.writeLists("trail-boots", "a1", roll, excluded, at(100))
		good := s.frozen(g, "a1", stamp, roll, excluded)
		for name, spoil := range map[string]func(f *draw.Freeze){
			"roll":     func(f *draw.Freeze) { f.RollHash = draw.Hash([]byte("x")) },
			"excluded": func(f *draw.Freeze) { f.ExcludedHash = draw.Hash([]byte("x")) },
			"opening":  func(f *draw.Freeze) { f.Opening = draw.Hash([]byte("x")) },
			"frozen":   func(f *draw.Freeze) { f.Frozen = f.Frozen.Add(time.Second) },
		} {
			bad := good
			spoil(&bad.Freeze)
			if err := s.Freeze(bg(), bad); err == nil {
				t.Fatalf("a freeze with another %s was published", name)
			}
		}
		s.must(s.WriteList(bg(), "trail-boots", "a1", draw.RollFile, 2, []byte("after a gap"), at(100)))
		s.must(s.Freeze(bg(), good)) // what lies behind a gap belongs to no list
		if got := s.read("trail-boots", draw.RollFile); got != string(roll) {
			t.Errorf("roll.txt is %q, want %q", got, roll)
		}
		s.want(s.Freeze(bg(), good), giveaway.ErrState)
	})
}

func TestTicketsPageByKey(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		want := map[draw.Ticket]draw.Digest{}
		for i := range 7 {
			n, _ := s.enter("trail-boots", string(rune('a'+i))+"@example.org", at(i))
			want[n.Ticket] = n.Commitment
			if i == 3 {
				s.must(s.Withdraw(bg(), "trail-boots", at(9), n.LinkHash))
			}
		}
		var last draw.Ticket
		withdrawn := 0
		for {
			page, err := s.Tickets(bg(), "trail-boots", last, 2)
			s.must(err)
			if len(page) > 2 {
				t.Fatalf("a page of %d, want 2 at most", len(page))
			}
			for _, l := range page {
				if !last.Less(l.Ticket) || want[l.Ticket] != l.Commitment {
					t.Errorf("ticket %s after %s, or its commitment is another", l.Ticket, last)
				}
				if l.Reason == draw.Withdrawn {
					withdrawn++
				} else if l.Reason != "" {
					t.Errorf("reason %q", l.Reason)
				}
				delete(want, l.Ticket)
				last = l.Ticket
			}
			if len(page) == 0 {
				break
			}
		}
		if len(want) != 0 || withdrawn != 1 {
			t.Errorf("%d tickets were left out, %d withdrawn", len(want), withdrawn)
		}
	})
}
