package store

import (
	"sync"
	"testing"
	"time"

	"evenhand/giveaway"
)

// A result that is held back is released by the earliest time that anybody
// named, whoever comes last, and never before the draw.
func TestRelease(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.want(s.Release(bg(), "trail-boots", event), giveaway.ErrNotFound)
		s.open("trail-boots")
		s.enter("trail-boots", "robin@example.com", at(1))
		s.freeze("trail-boots", "one", at(90))
		s.want(s.Release(bg(), "trail-boots", event), giveaway.ErrState)
		drawn := event.Add(time.Minute)
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), drawn, drawn.Add(giveaway.HoldAtMost)))
		released := func(want time.Time) {
			t.Helper()
			g, err := s.Giveaway(bg(), "trail-boots")
			s.must(err)
			if !g.Released.Equal(want) {
				t.Errorf("released %v, want %v", g.Released, want)
			}
		}
		released(drawn.Add(giveaway.HoldAtMost))
		s.must(s.Release(bg(), "trail-boots", drawn.Add(time.Hour)))
		released(drawn.Add(giveaway.HoldAtMost))

		other := s.server()
		var all sync.WaitGroup
		for n := range 20 {
			all.Go(func() {
				db := s.DB
				if n%2 == 1 {
					db = other
				}
				if err := db.Release(bg(), "trail-boots", drawn.Add(time.Duration(100+(n*7)%20)*time.Second)); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		released(drawn.Add(100 * time.Second))
		s.must(s.Release(bg(), "trail-boots", event))
		released(drawn)
	})
}

// The databases refuse a result that is released before its draw.
func TestReleasedBeforeTheDraw(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.freeze("trail-boots", "one", at(90))
		if err := s.Record(bg(), "trail-boots", []byte("note\n"), event.Add(time.Second), event); err == nil {
			t.Error("a result was released before its draw")
		}
		if g, err := s.Giveaway(bg(), "trail-boots"); err != nil || g.State != giveaway.StateFrozen {
			t.Errorf("it is %s, %v", g.State, err)
		}
	})
}
