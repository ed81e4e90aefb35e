package store

import (
	"fmt"
	"reflect"
	"strings"
	"sync"
	"testing"

	"evenhand/draw"
	"evenhand/giveaway"
)

// whats are the lines of a log, the newest first.
func (s *suite) whats(h giveaway.Host) (all []string) {
	s.t.Helper()
	lines, err := h.Logged(bg(), "trail-boots")
	s.must(err)
	for _, l := range lines {
		all = append(all, l.What)
	}
	return all
}

// Lines of one second stand in the order in which they were written.
func TestLogKeepsItsOrder(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.draft("trail-boots")
		var want []string
		for i := range 12 {
			what := fmt.Sprint("line ", i)
			s.must(h.Log(bg(), at(i%2), "trail-boots", what))
			want = append([]string{what}, want...)
		}
		if got := s.whats(h); !reflect.DeepEqual(got, want) {
			t.Errorf("got %q", got)
		}
		s.must(h.Log(bg(), at(5), "trail-boots", "two\nlines\x00 "+strings.Repeat("é", 600)))
		if got := s.whats(h)[0]; !strings.HasPrefix(got, "two lines éé") || len([]rune(got)) != 500 || !strings.HasSuffix(got, "…") {
			t.Errorf("got %q", got)
		}
		s.want(h.Log(bg(), at(1), "nowhere", "x"), giveaway.ErrNotFound)
	})
}

// Fifty write at once on two servers: no line is lost, and each has a number
// of its own.
func TestLogAtOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		s.draft("trail-boots")
		var wg sync.WaitGroup
		for n := range 50 {
			wg.Go(func() {
				if err := hosts[n%2].Log(bg(), at(1), "trail-boots", "x"); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		var numbers int
		s.must(s.read1(`SELECT COUNT(DISTINCT n) FROM log`, &numbers))
		if got := s.whats(hosts[0]); len(got) != 50 || numbers != 50 {
			t.Errorf("%d lines with %d numbers", len(got), numbers)
		}
	})
}

func TestKeepTheSheet(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.draft("trail-boots")
		s.want(h.Keep(bg(), at(1), "trail-boots"), giveaway.ErrState)
		s.must(s.DB.Open(bg(), s.opened("trail-boots")))
		s.must(h.Keep(bg(), at(1), "trail-boots"))
		s.must(h.Keep(bg(), at(9), "trail-boots"))
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if !g.Kept.Equal(at(1)) {
			t.Errorf("kept %v, want the first time", g.Kept)
		}
		if got, want := s.whats(h), []string{"recovery sheet kept", "opened"}; !reflect.DeepEqual(got, want) {
			t.Errorf("the log is %q", got)
		}
		s.want(h.Keep(bg(), at(1), "nowhere"), giveaway.ErrNotFound)
	})
}

// A reading counts for one text; the first stands, and the log says why.
func TestCautionsRead(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.draft("trail-boots")
		stop, note := draw.Hash([]byte("a text")), draw.Hash([]byte("another text"))
		s.must(h.ReadCaution(bg(), at(1), "trail-boots", note, "L-B1", ""))
		s.must(h.ReadCaution(bg(), at(2), "trail-boots", stop, "L-A9a", "We asked\na lawyer."))
		s.must(h.ReadCaution(bg(), at(3), "trail-boots", stop, "L-A9a", "Other words."))
		got, err := h.CautionsRead(bg(), "trail-boots")
		s.must(err)
		want := map[draw.Digest]giveaway.CautionRead{
			note: {At: at(1), Code: "L-B1"}, stop: {At: at(2), Code: "L-A9a", Why: "We asked a lawyer."},
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("got  %+v\nwant %+v", got, want)
		}
		if got, want := s.whats(h), []string{"caution L-A9a read; why to go on: We asked a lawyer.", "caution L-B1 read"}; !reflect.DeepEqual(got, want) {
			t.Errorf("the log is %q", got)
		}
		if other, err := h.CautionsRead(bg(), "other"); err != nil || len(other) != 0 {
			t.Errorf("another giveaway has %v: %v", other, err)
		}
		s.want(h.ReadCaution(bg(), at(1), "nowhere", stop, "x", ""), giveaway.ErrNotFound)
	})
}
