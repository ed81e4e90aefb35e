package store

import (
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

func TestReplaceEntry(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		old, _ := s.enter("trail-boots", "ann@example.org", at(1))
		other, _ := s.enter("trail-boots", "bea@example.org", at(2))
		replace := func(now time.Time, link [32]byte, n entries.New) error {
			_, err := s.ReplaceEntry(bg(), "trail-boots", now, link, n)
			return err
		}
		// Whoever is refused keeps what they have.
		taken := person("new@example.org")
		taken.Ticket = other.Ticket
		s.want(replace(at(3), old.LinkHash, person("bea@example.org")), entries.ErrAlreadyIn)
		s.want(replace(at(3), old.LinkHash, taken), entries.ErrTicketTaken)
		s.want(replace(closes, old.LinkHash, person("new@example.org")), entries.ErrClosed)
		s.want(replace(at(3), person("x").LinkHash, person("new@example.org")), entries.ErrNoSuchLink)
		got, err := s.EntryByLink(bg(), "trail-boots", old.LinkHash)
		s.must(err)
		if got.Withdrawn || got.Reason != "" || got.Entry.Name != old.Entry.Name {
			t.Errorf("the old ticket is %+v", got)
		}

		n := person("new@example.org")
		stamp, err := s.ReplaceEntry(bg(), "trail-boots", at(4), old.LinkHash, n)
		s.must(err)
		was, err := s.EntryByLink(bg(), "trail-boots", old.LinkHash)
		s.must(err)
		is, err := s.EntryByLink(bg(), "trail-boots", n.LinkHash)
		s.must(err)
		if !was.Withdrawn || was.Reason != draw.Withdrawn || was.Entry.Name != "" || is.Withdrawn || !is.Stamp.Entered.Equal(at(4)) || stamp != is.Stamp {
			t.Errorf("the old ticket is %+v, the new one %+v", was, is)
		}
		s.want(replace(at(5), old.LinkHash, person("third@example.org")), entries.ErrWithdrawn)
		s.must(replace(at(6), n.LinkHash, person("new@example.org"))) // its own address again
		s.enter("trail-boots", "ann@example.org", at(7))              // the old address is free
		s.freeze("trail-boots", "a1", closes.Add(time.Second))
		s.want(replace(at(5), other.LinkHash, person("late@example.org")), entries.ErrClosed)
	})
}

// Fifty replace one ticket at once on two servers, with their own addresses and
// with one another's, while others look: at no moment does the person have two
// tickets, or none.
func TestReplaceAtOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		dbs := []*DB{s.DB, s.server()}
		link := person("ann0@example.org")
		_, err := s.AddEntry(bg(), "trail-boots", at(1), link)
		s.must(err)
		var done atomic.Bool
		var looked, bad atomic.Int64
		var look sync.WaitGroup
		for n := range 2 {
			look.Go(func() {
				for !done.Load() {
					counts, err := dbs[n].EntryCounts(bg(), "trail-boots")
					if err != nil || counts.In != 1 {
						bad.Add(1)
					}
					looked.Add(1)
				}
			})
		}
		for round := range 5 {
			link = s.replaceOnce(dbs, link, round)
		}
		done.Store(true)
		look.Wait()
		counts, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		if counts.In != 1 || counts.Issued != 6 || bad.Load() != 0 || looked.Load() == 0 {
			t.Errorf("counts %+v; of %d looks %d saw another number of tickets than one", counts, looked.Load(), bad.Load())
		}
	})
}

// replaceOnce has fifty replace one ticket, and returns the one that did.
func (s *suite) replaceOnce(dbs []*DB, old entries.New, round int) (won entries.New) {
	s.t.Helper()
	var mu sync.Mutex
	wins := 0
	var wg sync.WaitGroup
	for n := range 50 {
		wg.Go(func() {
			mine := person(fmt.Sprintf("ann%d@example.org", n%5))
			_, err := dbs[n%2].ReplaceEntry(bg(), "trail-boots", at(2+round), old.LinkHash, mine)
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				wins++
				won = mine
			} else if !errors.Is(err, entries.ErrWithdrawn) {
				s.t.Errorf("replace: %v", err)
			}
		})
	}
	wg.Wait()
	if wins != 1 {
		s.t.Fatalf("%d replaced one ticket", wins)
	}
	return won
}

// Two people take one another's wrong address: each ends with one ticket, or
// keeps the old one; nobody waits for ever.
func TestReplaceCrosswise(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		dbs := []*DB{s.DB, s.server()}
		var links [2][32]byte
		keys := [2]string{"ann@example.org", "bea@example.org"}
		for i, key := range keys {
			n, _ := s.enter("trail-boots", key, at(1))
			links[i] = n.LinkHash
		}
		for range 20 {
			var wg sync.WaitGroup
			for i := range 2 {
				wg.Go(func() {
					n := person(keys[1-i])
					_, err := dbs[i].ReplaceEntry(bg(), "trail-boots", at(2), links[i], n)
					if err == nil {
						links[i] = n.LinkHash
					} else if !errors.Is(err, entries.ErrAlreadyIn) {
						t.Error(err)
					}
				})
			}
			wg.Wait()
			if counts, err := s.EntryCounts(bg(), "trail-boots"); err != nil || counts.In != 2 {
				t.Fatalf("counts %+v: %v", counts, err)
			}
		}
	})
}

// One form that puts an address right, sent twenty times at once to two
// servers: all get the one new entry, and so does who sends it again after the
// lock.
func TestSameFixAtOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		g := s.hostOpen(hosts[0], s.hostTerms("trail-boots"))
		first := s.entrants(g, 1)[0]
		once, err := entries.NewOnce(rand.Reader)
		s.must(err)
		form := entries.Form{Email: "right@example.org", Live: "US", State: "CO", Rules: "on", Once: once}
		replace := func(n int, g giveaway.Giveaway) (entries.Entered, error) {
			intake := entries.Intake{Store: hosts[n%2].Store.(*DB), Signer: s.signer, Rand: rand.Reader, LinkKey: [32]byte{1}}
			return intake.Replace(bg(), at(5), g, first.Link, form)
		}
		links := make([]string, 20)
		var wg sync.WaitGroup
		for n := range links {
			wg.Go(func() {
				e, err := replace(n, g)
				if err != nil {
					t.Error(err)
				}
				links[n] = e.Link
			})
		}
		wg.Wait()
		g, err = hosts[0].Lock(bg(), closesAt, "trail-boots")
		s.must(err)
		e, err := replace(0, g)
		s.must(err)
		for _, l := range append(links, e.Link) {
			if l != links[0] || l == "" {
				t.Errorf("link %q, want %q", l, links[0])
			}
		}
		if report := s.verified("trail-boots"); report.Tickets != 1 || report.Excluded != 1 {
			t.Errorf("%d tickets and %d excluded", report.Tickets, report.Excluded)
		}
	})
}
