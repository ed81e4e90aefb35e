package store

import (
	"crypto/rand"
	"errors"
	"fmt"
	"reflect"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// hostTerms are terms that a host may post: an hour for entries, an hour more
// to the event.
func (s *suite) hostTerms(id string) giveaway.Terms {
	t := s.terms(id)
	for at, m := range map[time.Time]*giveaway.Moment{day.Add(time.Hour): &t.Closes, day.Add(2 * time.Hour): &t.Event} {
		var err error
		*m, err = giveaway.MomentAt(at, "America/New_York")
		s.must(err)
	}
	t.Region = eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}}
	return t
}

// pressAll presses a button from 50 goroutines on two servers: each gets the
// same page.
func (s *suite) pressAll(button string, hosts []giveaway.Host, do func(h giveaway.Host) (giveaway.Giveaway, error)) giveaway.Giveaway {
	s.t.Helper()
	pages := make([]giveaway.Giveaway, 50)
	start := make(chan struct{})
	var wg sync.WaitGroup
	for n := range pages {
		wg.Go(func() {
			<-start
			var err error
			if pages[n], err = do(hosts[n%2]); err != nil {
				s.t.Errorf("%s: %v", button, err)
			}
		})
	}
	close(start)
	wg.Wait()
	for _, page := range pages {
		if !reflect.DeepEqual(page, pages[0]) {
			s.t.Fatalf("%s: pages differ:\n%+v\n%+v", button, page, pages[0])
		}
	}
	return pages[0]
}

// The whole line on a real database: terms, opening, entries, lock, draw, and
// the check that a viewer makes.
func TestHostOnADatabase(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		host := func(db *DB) giveaway.Host { return giveaway.Host{Store: db, Desk: db, Keys: db, Rand: rand.Reader} }
		other := s.server()
		_, err := other.Installation(bg(), "slowmiles.example", rand.Reader)
		s.must(err)
		hosts := []giveaway.Host{host(s.DB), host(other)}
		_, err = hosts[0].Draft(bg(), at(-60), s.hostTerms("trail-boots"))
		s.must(err)
		g := s.pressAll("open", hosts, func(h giveaway.Host) (giveaway.Giveaway, error) { return h.Open(bg(), at(-30), "trail-boots") })

		intake := entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}
		var opt draw.Options
		var links []string
		for i := range 30 {
			form := entries.Form{Email: fmt.Sprintf("robin%d@example.org", i/2*2), Live: "US", State: "CO", Rules: "on"}
			e, err := intake.Enter(bg(), at(i), g, form)
			if i%2 == 1 {
				s.want(err, entries.ErrAlreadyIn)
				continue
			}
			s.must(err)
			opt.Receipts = append(opt.Receipts, draw.Attachment{Name: fmt.Sprint("receipt ", i), Data: e.Receipt})
			opt.Entries = append(opt.Entries, draw.Attachment{Name: fmt.Sprint("entry ", i), Data: e.EntryText})
			if i%6 == 0 {
				links = append(links, e.Link)
			}
		}
		for _, link := range links {
			s.must(intake.Withdraw(bg(), at(40), "trail-boots", link))
		}
		closes := day.Add(time.Hour)
		_, err = hosts[0].Lock(bg(), closes.Add(-time.Second), "trail-boots")
		if early := (giveaway.ErrTooEarly{}); !errors.As(err, &early) {
			t.Fatalf("lock before closes: %v", err)
		}
		s.pressAll("lock", hosts, func(h giveaway.Host) (giveaway.Giveaway, error) { return h.Lock(bg(), closes, "trail-boots") })
		s.pressAll("draw", hosts, func(h giveaway.Host) (giveaway.Giveaway, error) {
			return h.Draw(bg(), day.Add(2*time.Hour), "trail-boots", nil)
		})
		report := draw.Check(bg(), other.Publication("trail-boots"), opt)
		if report.Status != 0 || report.Verdict != "valid, weak" || report.Tickets != 10 || report.Excluded != 5 || len(report.Places) != 3 {
			t.Errorf("the check answers %d, %q, %d + %d tickets, %d places: %v", report.Status, report.Verdict,
				report.Tickets, report.Excluded, len(report.Places), report.Findings)
		}
	})
}
