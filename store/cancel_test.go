package store

import (
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// hostOpen makes an open giveaway as a host does.
func (s *suite) hostOpen(h giveaway.Host, t giveaway.Terms) giveaway.Giveaway {
	s.t.Helper()
	_, err := h.Draft(bg(), t.Opens.UTC.Add(-time.Minute), t)
	s.must(err)
	g, err := h.Open(bg(), t.Opens.UTC.Add(-time.Second), t.Draw)
	s.must(err)
	return g
}

// entrants enter n people, and returns what they were handed.
func (s *suite) entrants(g giveaway.Giveaway, n int) []entries.Entered {
	s.t.Helper()
	intake := entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}
	var all []entries.Entered
	for i := range n {
		form := entries.Form{Email: fmt.Sprintf("robin%d@example.org", i), Live: "US", State: "CO", Rules: "on"}
		e, err := intake.Enter(bg(), g.Opening.Opens.Add(time.Duration(i)*time.Second), g, form)
		s.must(err)
		all = append(all, e)
	}
	return all
}

// handed are the receipts and entry texts that people hold.
func handed(all []entries.Entered) (opt draw.Options) {
	for i, e := range all {
		opt.Receipts = append(opt.Receipts, draw.Attachment{Name: fmt.Sprint("receipt ", i), Data: e.Receipt})
		opt.Entries = append(opt.Entries, draw.Attachment{Name: fmt.Sprint("entry ", i), Data: e.EntryText})
	}
	return opt
}

// closesAt is when the giveaways of hostTerms close.
var closesAt = day.Add(time.Hour)

// The states from which a giveaway can be called off, as the protocol has them
// ("cancelled.txt": it may stand at open or frozen, and beside a record it is
// an error), and what everybody sees then.
func TestCancelByState(t *testing.T) {
	for _, c := range []struct {
		state   string
		now     time.Time
		want    error
		verdict string
		remark  string // of draw.Check; "" for none
	}{
		{state: "draft", now: at(1), want: giveaway.ErrState},
		{state: "open", now: at(30), verdict: "cancelled, weak"},
		{state: "freezing", now: closesAt, want: giveaway.ErrBusy},
		{state: "frozen", now: closesAt.Add(time.Minute), verdict: "cancelled, weak"},
		{state: "frozen", now: drawnAt, verdict: "cancelled, weak", remark: "cancelled when the host could already know the result"},
		{state: "drawn", now: drawnAt, want: giveaway.ErrState},
	} {
		t.Run(fmt.Sprint(c.state, " ", c.now.Format("15:04")), func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				h := s.hosts()[0]
				held := s.bring(h, c.state)
				before := s.published("trail-boots")
				g, err := h.Cancel(bg(), c.now, "trail-boots", "prize-withdrawn", "trail-boots-2")
				if c.want != nil {
					s.want(err, c.want)
					if now := s.published("trail-boots"); len(now) != len(before) {
						t.Errorf("published %d files, before %d", len(now), len(before))
					}
					return
				}
				s.must(err)
				if g.State != giveaway.StateCancelled || !g.Cancelled.Equal(c.now) || g.CancelReason != "prize-withdrawn" || g.Successor != "trail-boots-2" {
					t.Errorf("got %+v", g)
				}
				again, err := h.Cancel(bg(), c.now.Add(time.Hour), "trail-boots", "postponed", "")
				s.must(err)
				if !again.Cancelled.Equal(g.Cancelled) || again.CancelReason != g.CancelReason {
					t.Errorf("the second time: %+v", again)
				}
				report := draw.Check(bg(), s.Publication("trail-boots"), handed(held))
				if report.Status != 0 || report.Verdict != c.verdict || report.Cancelled == nil || report.Cancelled.Successor != "trail-boots-2" {
					t.Errorf("the check answers %d, %s: %v", report.Status, report.Verdict, report.Findings)
				}
				if found := remarks(report, "cancelled when"); (c.remark != "") != (found == 1) {
					t.Errorf("%d remarks on the time: %v", found, report.Findings)
				}
				s.afterCancel(h, c.now, held)
			})
		})
	}
}

// bring brings a giveaway to a state, with three people in it.
func (s *suite) bring(h giveaway.Host, state string) []entries.Entered {
	s.t.Helper()
	if state == "draft" {
		_, err := h.Draft(bg(), at(-60), s.hostTerms("trail-boots"))
		s.must(err)
		return nil
	}
	held := s.entrants(s.hostOpen(h, s.hostTerms("trail-boots")), 3)
	switch state {
	case "freezing":
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", closesAt)
		s.must(err)
	case "frozen", "drawn":
		_, err := h.Lock(bg(), closesAt, "trail-boots")
		s.must(err)
	}
	if state == "drawn" {
		_, err := h.Draw(bg(), drawnAt, "trail-boots", nil)
		s.must(err)
	}
	return held
}

// remarks counts the findings whose text begins so.
func remarks(r draw.Report, begins string) (n int) {
	for _, f := range r.Findings {
		if len(f.Text) >= len(begins) && f.Text[:len(begins)] == begins {
			n++
		}
	}
	return n
}

// afterCancel: nobody gets in or changes anything any more, nothing moves, no
// duty is due, and each private page still opens.
func (s *suite) afterCancel(h giveaway.Host, now time.Time, held []entries.Entered) {
	s.t.Helper()
	intake := entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}
	_, err := s.AddEntry(bg(), "trail-boots", at(40), person("late@example.org"))
	s.want(err, entries.ErrClosed)
	_, err = s.ImportEntries(bg(), "trail-boots", at(40), []entries.New{person("late@example.org")})
	s.want(err, entries.ErrLocked)
	for _, e := range held {
		mine, err := intake.Mine(bg(), "trail-boots", e.Link)
		s.must(err)
		if string(mine.Receipt) != string(e.Receipt) {
			s.t.Error("a private page shows another proof of entry")
		}
		s.want(intake.Withdraw(bg(), at(41), "trail-boots", e.Link), entries.ErrLocked)
	}
	_, err = h.Lock(bg(), closesAt.Add(2*time.Minute), "trail-boots")
	s.want(err, giveaway.ErrState)
	_, err = h.Draw(bg(), drawnAt.Add(time.Hour), "trail-boots", nil)
	s.want(err, giveaway.ErrState)
	_, err = h.Revise(bg(), now, "trail-boots", giveaway.Change{})
	s.want(err, giveaway.ErrState)
	s.must(h.Do(bg(), closesAt, giveaway.Duty{ID: "trail-boots", Move: giveaway.MoveLock})) // found due a moment before
	for _, when := range []time.Time{now, closesAt, drawnAt.Add(-time.Second), drawnAt.Add(time.Hour)} {
		if due, err := h.Due(bg(), when); err != nil || len(due) != 0 {
			s.t.Errorf("due at %v: %v, %v", when, due, err)
		}
	}
}

func TestCancelWhatCannotBe(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.hostOpen(h, s.hostTerms("trail-boots"))
		for _, c := range []struct{ reason, successor, field string }{
			{"", "", "reason"}, {"Prize withdrawn", "", "reason"}, {"lost\n", "", "reason"},
			{"postponed", "Trail", "successor"}, {"postponed", "trail-boots", "successor"},
		} {
			var p giveaway.Problems
			if _, err := h.Cancel(bg(), at(1), "trail-boots", c.reason, c.successor); !errors.As(err, &p) || len(p.Of(c.field)) != 1 {
				t.Errorf("%q, %q: %v", c.reason, c.successor, err)
			}
		}
		_, err := h.Cancel(bg(), at(1), "nowhere", "postponed", "")
		s.want(err, giveaway.ErrNotFound)
		if g, err := s.Giveaway(bg(), "trail-boots"); err != nil || g.State != giveaway.StateOpen {
			t.Errorf("it is %s: %v", g.State, err)
		}
	})
}

// The stamp of cancelled.txt is never before a stamp that was written, on
// whatever server, whose clock may be ahead.
func TestCancelIsStampedLast(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.hostOpen(h, s.hostTerms("trail-boots"))
		_, stamp := s.enter("trail-boots", "ann@example.org", at(30))
		g, err := h.Cancel(bg(), at(10), "trail-boots", "postponed", "")
		s.must(err)
		if g.Cancelled.Before(stamp.Entered) {
			t.Errorf("cancelled %v, entered %v", g.Cancelled, stamp.Entered)
		}

		s.hostOpen(h, s.hostTerms("frozen"))
		frozen, err := h.Lock(bg(), closesAt.Add(10*time.Second), "frozen")
		s.must(err)
		g, err = h.Cancel(bg(), closesAt.Add(5*time.Second), "frozen", "postponed", "")
		s.must(err)
		if g.Cancelled.Before(frozen.Frozen) {
			t.Errorf("cancelled %v, frozen %v", g.Cancelled, frozen.Frozen)
		}
		s.verified("trail-boots")
		s.verified("frozen")
	})
}

// Whoever is first wins, of fifty who cancel and fifty who do something else,
// on two servers whose clocks differ. The publication is that of the winner.
func TestCancelAtOnceWith(t *testing.T) {
	drawNow := func(h giveaway.Host, now time.Time, _ int) error {
		_, err := h.Draw(bg(), now, "trail-boots", nil)
		return err
	}
	lock := func(h giveaway.Host, now time.Time, _ int) error {
		_, err := h.Lock(bg(), now, "trail-boots")
		return err
	}
	for _, c := range []struct {
		name string
		from string
		now  time.Time
		wait time.Duration // of those who cancel
		with func(h giveaway.Host, now time.Time, n int) error
	}{
		{"another cancel", "open", at(30), 0, func(h giveaway.Host, now time.Time, n int) error {
			_, err := h.Cancel(bg(), now, "trail-boots", fmt.Sprint("reason-", n), "")
			return err
		}},
		{"the lock", "open", closesAt.Add(3 * time.Second), 0, lock},
		{"the lock that has begun", "open", closesAt.Add(3 * time.Second), 4 * time.Millisecond, lock},
		{"the draw", "frozen", drawnAt.Add(3 * time.Second), 0, drawNow},
		{"the draw that has begun", "frozen", drawnAt.Add(3 * time.Second), 25 * time.Millisecond, drawNow},
		{"a revision", "open", at(30), 0, func(h giveaway.Host, now time.Time, n int) error {
			rules := fmt.Sprint("Other rules ", n, "\n")
			_, err := h.Revise(bg(), now, "trail-boots", giveaway.Change{Rules: &rules})
			return err
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				hosts := s.hosts()
				held := s.bring(hosts[0], c.from)
				start := make(chan struct{})
				var wg sync.WaitGroup
				var cancelled, did atomic.Int64
				for n := range 50 {
					h, now := hosts[n/2%2], c.now.Add(-2*time.Second*time.Duration(n/2%2))
					wg.Go(func() {
						<-start
						var err error
						if n%2 == 0 {
							time.Sleep(c.wait)
							_, err = h.Cancel(bg(), now, "trail-boots", "secret-lost", "")
						} else {
							err = c.with(h, now, n)
						}
						switch {
						case err == nil && n%2 == 0:
							cancelled.Add(1)
						case err == nil:
							did.Add(1)
						case !errors.Is(err, giveaway.ErrState) && !errors.Is(err, giveaway.ErrBusy):
							t.Errorf("goroutine %d: %v", n, err)
						}
					})
				}
				close(start)
				wg.Wait()
				s.oneWon(hosts[1], held, c.name, cancelled.Load(), did.Load())
			})
		})
	}
}

// oneWon looks at what a race left: the row, the files and the viewer's check
// say the same, and everybody was told the truth.
func (s *suite) oneWon(h giveaway.Host, held []entries.Entered, name string, cancelled, did int64) {
	s.t.Helper()
	g, err := s.Giveaway(bg(), "trail-boots")
	s.must(err)
	report := draw.Check(bg(), s.Publication("trail-boots"), handed(held))
	if report.Status != draw.StatusValid {
		s.t.Fatalf("the check answers %d, %s: %v", report.Status, report.Verdict, report.Findings)
	}
	off := g.State == giveaway.StateCancelled
	if off != (report.Cancelled != nil) || off != (cancelled > 0) || g.State == giveaway.StateDrawn != (report.Stage == "drawn") {
		s.t.Errorf("it is %s, the check says %s at %s, %d were told that it is cancelled", g.State, report.Verdict, report.Stage, cancelled)
	}
	if off && g.Cancelled.Before(g.Frozen) {
		s.t.Errorf("cancelled %v before it was frozen, %v", g.Cancelled, g.Frozen)
	}
	if strings.HasPrefix(name, "the draw") && (did > 0) == off {
		s.t.Errorf("%d drew, %d cancelled", did, cancelled)
	}
	lines, err := h.Logged(bg(), "trail-boots")
	s.must(err)
	times := 0
	for _, l := range lines {
		if l.What == "cancelled" {
			times++
		}
	}
	if off != (times == 1) {
		s.t.Errorf("the log says cancelled %d times: %v", times, lines)
	}
	s.t.Logf("%s: state %s, %d cancelled, %d did the other thing", name, g.State, cancelled, did)
}

// Entries that come while it is called off are in before, or not at all.
func TestCancelWhilePeopleEnter(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		s.hostOpen(hosts[0], s.hostTerms("trail-boots"))
		var wg sync.WaitGroup
		var in, out atomic.Int64
		for n := range 60 {
			wg.Go(func() {
				for i := 0; ; i++ { // until somebody is told no
					_, err := s.AddEntry(bg(), "trail-boots", at(20), person(fmt.Sprintf("p%d-%d@example.org", n, i)))
					if errors.Is(err, entries.ErrClosed) {
						out.Add(1)
						return
					}
					if err != nil {
						t.Error(err)
						return
					}
					in.Add(1)
				}
			})
		}
		for in.Load() < 50 {
			time.Sleep(time.Millisecond)
		}
		g, err := hosts[1].Cancel(bg(), at(5), "trail-boots", "prize-withdrawn", "")
		s.must(err)
		counts, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		wg.Wait()
		after, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		if after.Issued != counts.Issued || after.Issued != in.Load() || out.Load() != 60 {
			t.Errorf("%d tickets when it was cancelled, %d now; %d were taken, %d not", counts.Issued, after.Issued, in.Load(), out.Load())
		}
		if g.Cancelled.Before(at(20)) {
			t.Errorf("cancelled %v, before an entry", g.Cancelled)
		}
		s.verified("trail-boots")
	})
}

// Terms that replace another giveaway are posted once that one is cancelled.
func TestFollowsACancelledGiveaway(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		s.hostOpen(h, s.hostTerms("trail-boots"))
		next := s.hostTerms("trail-boots-2")
		next.Follows = "trail-boots"
		_, err := h.Draft(bg(), at(-30), next)
		s.must(err)
		var p giveaway.Problems
		if _, err := h.Open(bg(), at(-20), "trail-boots-2"); !errors.As(err, &p) || len(p.Of("follows")) != 1 {
			t.Fatalf("it follows a giveaway that goes on: %v", err)
		}
		_, err = h.Cancel(bg(), at(-19), "trail-boots", "postponed", "trail-boots-2")
		s.must(err)
		g, err := h.Open(bg(), at(-18), "trail-boots-2")
		s.must(err)
		if g.Opening.Follows != "trail-boots" {
			t.Errorf("the posted terms follow %q", g.Opening.Follows)
		}
		next = s.hostTerms("elsewhere")
		next.Follows = "one-that-is-not-here"
		s.hostOpen(h, next)
	})
}
