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
	"evenhand/entries"
	"evenhand/giveaway"
)

// outcome is a revision that passes its first places, with its note. The
// store does not read the note.
func (s *suite) outcome(id string, revision int) (draw.Outcome, []byte) {
	o := draw.Outcome{Draw: id, Revision: revision}
	for place := 1; place <= revision; place++ {
		o.Passed = append(o.Passed, draw.Passed{Place: place, Reason: draw.Declined, At: event.Add(time.Duration(place) * time.Minute)})
	}
	return o, s.sign(o.Text())
}

func TestOutcome(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		put := func(id string, from int) (string, error) {
			o, text := s.outcome(id, from+1)
			err := s.Outcome(bg(), id, from, o, text)
			if err == nil { // a crash: another server goes on
				s.DB = s.server()
			}
			return string(text), err
		}
		refused := func(id string, from int, want error) {
			t.Helper()
			_, err := put(id, from)
			s.want(err, want)
		}
		refused("trail-boots", 0, giveaway.ErrNotFound)
		s.draft("trail-boots")
		refused("trail-boots", 0, giveaway.ErrState)
		s.must(s.DB.Open(bg(), s.opened("trail-boots")))
		s.enter("trail-boots", "ann@example.org", at(1))
		s.freeze("trail-boots", "a1", at(100))
		refused("trail-boots", 0, giveaway.ErrState)
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		before := s.published("trail-boots")

		refused("trail-boots", 1, giveaway.ErrState) // replaces what is not there
		first, err := put("trail-boots", 0)
		s.must(err)
		refused("trail-boots", 0, giveaway.ErrState)
		unread, err := s.Publication("trail-boots").Open(draw.OutcomeFile)
		s.must(err)
		defer unread.Close()
		second, err := put("trail-boots", 1)
		s.must(err)
		third, err := put("trail-boots", 2)
		s.must(err)
		for from := range 3 {
			refused("trail-boots", from, giveaway.ErrState)
		}
		want := map[string]string{"outcome.txt": third, "outcome.1.txt": first, "outcome.2.txt": second}
		for name, text := range before {
			want[name] = text
		}
		if got := s.published("trail-boots"); !reflect.DeepEqual(got, want) {
			t.Errorf("published %q\nwant %q", got, want)
		}
		b := make([]byte, len(first))
		if n, err := unread.Read(b); string(b[:n]) != first {
			t.Errorf("an open file changed under its reader: %q, %v", b[:n], err)
		}
	})
}

func TestOutcomeRefusesWhatDoesNotFollow(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.enter("trail-boots", "ann@example.org", at(1))
		// The database keeps the rule too.
		if _, err := s.write.Exec(`UPDATE giveaways SET outcome_revision = 1`); err == nil {
			t.Error("an open giveaway has an outcome")
		}
		s.freeze("trail-boots", "a1", at(100))
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		for from, revision := range map[int]int{0: 2, 1: 1, -1: 0} {
			o, text := s.outcome("trail-boots", revision)
			if err := s.Outcome(bg(), "trail-boots", from, o, text); err == nil || errors.Is(err, giveaway.ErrState) {
				t.Errorf("revision %d from %d: %v", revision, from, err)
			}
		}
		o, text := s.outcome("other", 1)
		if err := s.Outcome(bg(), "trail-boots", 0, o, text); err == nil {
			t.Error("the outcome of another draw was published")
		}
		if got := s.read("trail-boots", draw.OutcomeFile); got != "" {
			t.Errorf("outcome.txt is %q", got)
		}
	})
}

func TestOneOutcomeWins(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.enter("trail-boots", "ann@example.org", at(1))
		s.freeze("trail-boots", "a1", at(100))
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		var last string
		for from := range 3 {
			o, _ := s.outcome("trail-boots", from+1)
			won := s.press("outcome", nil, func(db *DB, n int) error {
				return db.Outcome(bg(), "trail-boots", from, o, fmt.Append(nil, "outcome ", from+1, " of ", n, "\n"))
			})
			if from > 0 {
				if got := s.read("trail-boots", draw.KeptFile(draw.OutcomeFile, from)); got != last {
					t.Errorf("kept %q, want %q", got, last)
				}
			}
			last = fmt.Sprint("outcome ", from+1, " of ", won, "\n")
			if got := s.read("trail-boots", draw.OutcomeFile); got != last {
				t.Errorf("outcome.txt is %q, want the winner's %q", got, last)
			}
		}
	})
}

// hosts are the host on two servers.
func (s *suite) hosts() []giveaway.Host {
	s.t.Helper()
	other := s.server()
	_, err := other.Installation(bg(), "slowmiles.example", rand.Reader)
	s.must(err)
	host := func(db *DB) giveaway.Host {
		return giveaway.Host{Store: db, Desk: db, Data: db, Keys: db, Outcomes: db, Rand: rand.Reader}
	}
	return []giveaway.Host{host(s.DB), host(other)}
}

// drawn makes a drawn giveaway of a winner and two next in line.
func (s *suite) drawn(h giveaway.Host, id string) giveaway.Standing {
	s.t.Helper()
	_, err := h.Draft(bg(), at(-60), s.hostTerms(id))
	s.must(err)
	g, err := h.Open(bg(), at(-30), id)
	s.must(err)
	intake := entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}
	for i := range 5 {
		form := entries.Form{Email: fmt.Sprintf("robin%d@example.org", i), Live: "US", State: "CO", Rules: "on"}
		_, err := intake.Enter(bg(), at(i), g, form)
		s.must(err)
	}
	_, err = h.Lock(bg(), g.Opening.Closes, id)
	s.must(err)
	_, err = h.Draw(bg(), drawnAt, id, nil)
	s.must(err)
	standing, err := h.Outcome(bg(), id)
	s.must(err)
	return standing
}

// drawnAt is when the giveaways of hostTerms are drawn.
var drawnAt = day.Add(2 * time.Hour)

// verified lets the viewer's own check go over the publication.
func (s *suite) verified(id string) draw.Report {
	s.t.Helper()
	report := draw.Check(bg(), s.Publication(id), draw.Options{})
	if report.Status != draw.StatusValid {
		s.t.Fatalf("the check answers %d, %s: %v", report.Status, report.Verdict, report.Findings)
	}
	return report
}

// Fifty people confirm and pass the place whose turn it is, on two servers, at
// once: one of the two acts stands, whoever did the other one learns of it,
// and the outcome stays valid. Then the next place has its turn.
func TestConfirmAndPassAtOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		s.drawn(hosts[0], "trail-boots")
		revisions := 0
		for place := 1; place <= 3; place++ {
			now := drawnAt.Add(time.Duration(place) * time.Hour)
			s.settleAtOnce(hosts, now, place)
			revisions++
			standing, err := hosts[1].Outcome(bg(), "trail-boots")
			s.must(err)
			p, _ := standing.Of(place)
			if (p.Passed == nil) == (p.Confirmed == nil) || standing.Outcome.Revision != revisions {
				t.Fatalf("place %d: %+v after revision %d, want one act and revision %d", place, p, standing.Outcome.Revision, revisions)
			}
			s.verified("trail-boots")
			if p.Confirmed != nil { // given back, so that the next has a turn
				_, err := hosts[0].Pass(bg(), now, "trail-boots", giveaway.Passing{Place: place, Reason: draw.Declined, GivenBack: true})
				s.must(err)
				revisions++
			}
		}
		standing, err := hosts[0].Outcome(bg(), "trail-boots")
		s.must(err)
		if report := s.verified("trail-boots"); !standing.Exhausted() || report.Outcome == nil || report.Outcome.Revision != revisions {
			t.Errorf("three passes, and the standing is %+v", standing)
		}
	})
}

func (s *suite) settleAtOnce(hosts []giveaway.Host, now time.Time, place int) {
	s.t.Helper()
	start := make(chan struct{})
	var mu sync.Mutex
	did := map[string]int{} // both acts may not succeed
	var wg sync.WaitGroup
	for n := range 50 {
		wg.Go(func() {
			<-start
			what, h := "confirm", hosts[n/2%2]
			var err error
			if n%2 == 0 {
				_, err = h.Confirm(bg(), now, "trail-boots", place)
			} else {
				what = "pass"
				_, err = h.Pass(bg(), now, "trail-boots", giveaway.Passing{Place: place, Reason: draw.Declined})
			}
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				did[what]++
			} else if !errors.Is(err, giveaway.ErrTaken) {
				s.t.Errorf("%s place %d: %v", what, place, err)
			}
		})
	}
	close(start)
	wg.Wait()
	if len(did) != 1 || did["confirm"]+did["pass"] != 25 {
		s.t.Errorf("place %d: %v, want 25 of one act", place, did)
	}
}
