package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sample"
	"evenhand/show"
)

// The show's giveaway is drawn with the published round 31543812 of quicknet,
// 22 August 2026, 21:40:00 UTC (testdata/vectors/drand-quicknet.json).
var showtime = time.Date(2026, 8, 22, 21, 40, 0, 0, time.UTC)

// A relay answers with the published round, unless it is down.
type relay struct {
	mu    sync.Mutex // guards both
	down  bool
	asked int
}

func (r *relay) Fetch(context.Context, beacon.Chain, uint64) ([]byte, string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.asked++
	if r.down {
		return nil, "", errors.New("no answer")
	}
	b, err := sample.PastRound()
	return b.Signature, "a published list", err
}

func (r *relay) set(down bool) { r.mu.Lock(); defer r.mu.Unlock(); r.down = down }

// A stageRig is a locked giveaway with a show on two servers.
type stageRig struct {
	*suite
	relay *relay
	shows [2]show.Show
}

func (s *suite) stage(winners int) *stageRig {
	s.t.Helper()
	r := &stageRig{suite: s, relay: &relay{}}
	other := s.server()
	_, err := other.Installation(bg(), "slowmiles.example", rand.Reader)
	s.must(err)
	for i, db := range []*DB{s.DB, other} {
		h := giveaway.Host{Store: db, Outcomes: db, Desk: db, Keys: db, Beacons: r.relay, Rand: rand.Reader}
		r.shows[i] = show.Show{Store: db, Host: h}
	}
	t := s.hostTerms("trail-boots")
	t.Winners, t.Beacon = winners, giveaway.BeaconQuicknet
	for at, m := range map[time.Duration]*giveaway.Moment{-48 * time.Hour: &t.Opens, -2 * time.Hour: &t.Closes, 0: &t.Event} {
		*m, err = giveaway.MomentAt(showtime.Add(at), "America/New_York")
		s.must(err)
	}
	h := r.shows[0].Host
	_, err = h.Draft(bg(), showtime.Add(-50*time.Hour), t)
	s.must(err)
	g, err := h.Open(bg(), showtime.Add(-50*time.Hour), "trail-boots")
	s.must(err)
	intake := entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}
	for i := range 8 {
		form := entries.Form{Email: fmt.Sprintf("robin%d@example.org", i), Name: fmt.Sprint("Robin ", i), Live: "US", State: "CO", Rules: "on"}
		_, err := intake.Enter(bg(), showtime.Add(-3*time.Hour), g, form)
		s.must(err)
	}
	return r
}

func (r *stageRig) lock() {
	r.t.Helper()
	_, err := r.shows[0].Host.Lock(bg(), showtime.Add(-time.Hour), "trail-boots")
	r.must(err)
}

// press goes on from the state that stands.
func (r *stageRig) press(now time.Time) show.State {
	r.t.Helper()
	st, err := r.tryPress(now, nil)
	r.must(err)
	return st
}

func (r *stageRig) tryPress(now time.Time, pasted *draw.Beacon) (show.State, error) {
	st, err := r.shows[0].State(bg(), "trail-boots")
	r.must(err)
	return r.shows[0].Forward(bg(), now, "trail-boots", st.Version, pasted)
}

// upTo presses forward until the step.
func (r *stageRig) upTo(step show.Step, now time.Time) show.State {
	r.t.Helper()
	for range 20 {
		st, err := r.shows[1].State(bg(), "trail-boots")
		r.must(err)
		if st.Step == step {
			return st
		}
		r.press(now)
	}
	r.t.Fatalf("the show never comes to %v", step)
	return show.State{}
}

// A whole show: each picture's sentence, and none of the result before its
// picture. The sentences are our own, no outside source.
func TestShow(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(2)
		st, err := r.shows[0].Start(bg(), showtime.Add(-time.Hour), "trail-boots")
		s.must(err)
		if again, err := r.shows[1].Start(bg(), showtime, "trail-boots"); err != nil || !reflect.DeepEqual(again, st) {
			t.Errorf("begun twice: %+v, %v", again, err)
		}
		_, err = r.tryPress(showtime.Add(-time.Hour), nil)
		s.want(err, show.ErrNotLocked)
		r.lock()
		st, err = r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 20)
		s.must(err)

		at := showtime.Add(-time.Minute)
		sentences := map[string]string{}
		note := func(st show.State, now time.Time) show.View {
			f, err := r.shows[1].Facts(bg(), st, true)
			s.must(err)
			v := f.View(st, now)
			sentences[fmt.Sprint(st.Step, " ", st.Place)] = v.Sentence
			if !st.Step.Result() && (len(f.Places)+len(f.Next)+len(f.Names) > 0 || v.Ticket != "") {
				t.Errorf("%v knows the result: %+v", st.Step, f)
			}
			return v
		}
		note(st, at)
		for range 3 {
			st = r.press(at)
			note(st, at)
		}
		var early giveaway.ErrTooEarly
		if _, err := r.tryPress(at, nil); !errors.As(err, &early) || !early.Until.Equal(showtime) {
			t.Errorf("drawn a minute early: %v", err)
		}
		at = showtime.Add(5 * time.Second)
		note(st, at)
		st = r.press(at)
		note(st, at)
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if st.Step != show.Opened || !g.Released.Equal(at.Add(giveaway.HoldAtMost)) {
			t.Errorf("%v, released %v", st.Step, g.Released)
		}
		st = r.press(at)
		note(st, at)
		report := draw.Check(bg(), s.Publication("trail-boots"), draw.Options{})
		s.must(s.say(report.Places[0].Ticket, "like", "Robin of the hills", at))
		first := at.Add(10*time.Second + time.Millisecond)
		st = r.press(first)
		v := note(st, first)
		if g, err = s.Giveaway(bg(), "trail-boots"); err != nil || !g.Released.Equal(at.Add(31*time.Second)) {
			t.Errorf("released %v, want a whole second 20 s after the first place: %v", g.Released, err)
		}
		if v.Ticket != report.Places[0].Ticket.Grouped() || v.Name != "Robin of the hills" || v.Released {
			t.Errorf("the first place: %+v", v)
		}
		st = r.press(first)
		if v := note(st, first); v.Name != "" || v.Ticket != report.Places[1].Ticket.Grouped() {
			t.Errorf("nothing was decided of the second name: %+v", v)
		}
		st = r.press(first)
		note(st, first)
		if same := r.press(first); !reflect.DeepEqual(same, st) {
			t.Errorf("forward from the end: %+v", same)
		}
		st, err = r.shows[0].ShowAlternates(bg(), first, "trail-boots", st.Version)
		s.must(err)
		if v := note(st, first); len(v.Next) != 2 || v.Next[0].Ticket != report.Places[2].Ticket.Grouped() {
			t.Errorf("next in line: %+v", v.Next)
		}
		end := func(n int) string { s := report.Places[n-1].Ticket.String(); return s[12:] }
		want := map[string]string{
			"soon 0":       "Soon it is drawn who gets a pair of hiking boots.",
			"tickets 0":    "8 tickets are in the draw.",
			"locked 0":     "The list is locked: nothing can be added or taken away any more.",
			"number 0":     "At 5:40:00 pm New York time a public number appeared, made by a network that nobody here runs.",
			"opened 0":     "The secret number that was locked in advance is opened: the draw is made.",
			"line 0":       "Every ticket has its own number now. The smallest comes first.",
			"first 1":      "First is Robin of the hills, with the ticket that ends in " + end(1) + ": it wins.",
			"first 2":      "Second is the ticket that ends in " + end(2) + ": it wins.",
			"next 0":       "Is it your ticket? Open the page that came with it: it says what to do now.",
			"alternates 0": "If the prize can’t be given, it goes to the tickets that end in " + end(3) + ", then " + end(4) + ".",
		}
		if !reflect.DeepEqual(sentences, want) {
			t.Errorf("sentences\n%q\nwant\n%q", sentences, want)
		}
	})
}

// crowd has n people press forward at the same instant on two servers, all
// having seen the state that stands.
func (r *stageRig) crowd(n int, now time.Time) []show.State {
	r.t.Helper()
	st, err := r.shows[0].State(bg(), "trail-boots")
	r.must(err)
	got := make([]show.State, n)
	start := make(chan struct{})
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() {
			<-start
			var err error
			if got[i], err = r.shows[i%2].Forward(bg(), now, "trail-boots", st.Version, nil); err != nil {
				r.t.Errorf("press %d: %v", i, err)
			}
		})
	}
	close(start)
	all.Wait()
	return got
}

// Of two people, and of fifty, who press at the same instant one moves the
// stage, all see the same, and the draw is made once.
func TestPressedAtOnce(t *testing.T) {
	for _, n := range []int{2, 50} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				r := s.stage(1)
				r.lock()
				_, err := r.shows[0].Start(bg(), showtime, "trail-boots")
				s.must(err)
				for _, want := range []show.Step{show.Tickets, show.Locked, show.Number, show.Opened, show.Line, show.First, show.Next} {
					for _, st := range r.crowd(n, showtime.Add(time.Minute)) {
						if st.Step != want || st.Version != int64(want)+1 {
							t.Errorf("%v, version %d, want %v", st.Step, st.Version, want)
						}
					}
				}
				report := draw.Check(bg(), s.Publication("trail-boots"), draw.Options{})
				if report.Status != draw.StatusValid || len(report.Places) != 3 {
					t.Errorf("the check says %q: %v", report.Verdict, report.Findings)
				}
				log, err := s.Logged(bg(), "trail-boots")
				s.must(err)
				drawn := 0
				for _, l := range log {
					if l.What == "drawn" {
						drawn++
					}
				}
				if drawn != 1 {
					t.Errorf("drawn %d times", drawn)
				}
			})
		})
	}
}

// While the relays are down the stage stays where it is; a pasted value is
// checked all the same, and a wrong one refused.
func TestForwardWithoutRelays(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		r.lock()
		before := r.upTo(show.Number, showtime)
		r.relay.set(true)
		for range 2 {
			_, err := r.tryPress(showtime.Add(time.Minute), nil)
			s.want(err, giveaway.ErrNoBeacon)
		}
		right, err := sample.PastRound()
		s.must(err)
		wrong := right
		wrong.Signature = append([]byte(nil), right.Signature...)
		wrong.Signature[7] ^= 1
		_, err = r.tryPress(showtime.Add(time.Minute), &wrong)
		s.want(err, giveaway.ErrNoBeacon)
		if st, err := r.shows[1].State(bg(), "trail-boots"); err != nil || !reflect.DeepEqual(st, before) || s.read("trail-boots", draw.RecordFile) != "" {
			t.Errorf("the stage moved: %+v, %v", st, err)
		}
		st, err := r.tryPress(showtime.Add(time.Minute), &right)
		if err != nil || st.Step != show.Opened {
			t.Errorf("pasted: %v, %v", st.Step, err)
		}
	})
}

// A server that is killed between the draw and the step's write leaves a draw
// that stands; the next press goes on with it.
func TestKilledAfterTheDraw(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		r.lock()
		r.upTo(show.Number, showtime)
		g, err := r.shows[0].Host.DrawHeld(bg(), showtime.Add(time.Minute), "trail-boots", nil)
		s.must(err)
		note := s.read("trail-boots", draw.RecordFile)
		r.relay.set(true) // it is not asked for again
		if st := r.press(showtime.Add(3 * time.Minute)); st.Step != show.Opened {
			t.Errorf("the show stands at %v", st.Step)
		}
		if again, err := s.Giveaway(bg(), "trail-boots"); err != nil || !again.Drawn.Equal(g.Drawn) || s.read("trail-boots", draw.RecordFile) != note || note == "" {
			t.Errorf("the draw was made anew: %+v, %v", again, err)
		}
	})
}

// On hold nothing goes forward, and a press that saw an older version moves
// nothing; going back undoes no draw and no release.
func TestHoldBackAndStalePresses(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		r.lock()
		sh, now := r.shows[0], showtime.Add(time.Minute)
		st := r.upTo(show.Tickets, now)
		held, err := sh.Hold(bg(), "trail-boots", st.Version, true)
		s.must(err)
		if got := r.press(now); !reflect.DeepEqual(got, held) || !got.Held {
			t.Errorf("forward on hold: %+v", got)
		}
		if got, err := sh.Hold(bg(), "trail-boots", st.Version, false); err != nil || !got.Held {
			t.Errorf("a stale press let it go: %+v, %v", got, err)
		}
		st, err = sh.Hold(bg(), "trail-boots", held.Version, false)
		s.must(err)
		dark, err := sh.Dark(bg(), "trail-boots", st.Version, true)
		if err != nil || !dark.Dark || dark.Step != show.Tickets {
			t.Errorf("dark: %+v, %v", dark, err)
		}
		st = r.upTo(show.First, now)
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		back := st
		for back.Step != show.Soon {
			back, err = sh.Back(bg(), now.Add(time.Minute), "trail-boots", back.Version)
			s.must(err)
		}
		r.upTo(show.Next, now.Add(5*time.Minute))
		after, err := s.Giveaway(bg(), "trail-boots")
		if err != nil || !reflect.DeepEqual(after, g) {
			t.Errorf("back and forward changed the giveaway:\n%+v\n%+v", after, g)
		}
		_, err = sh.SetDelay(bg(), "trail-boots", 1, 121)
		s.want(err, show.ErrDelay)
	})
}

// A show that nobody moves on releases its result after 15 minutes, and one
// that is on its way to the first place no later.
func TestDelayAndRelease(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		r.lock()
		now := showtime.Add(time.Minute)
		st := r.upTo(show.Line, now)
		st, err := r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 120)
		s.must(err)
		released := func(want time.Time) {
			t.Helper()
			if g, err := s.Giveaway(bg(), "trail-boots"); err != nil || !g.Released.Equal(want) {
				t.Errorf("released %v, want %v: %v", g.Released, want, err)
			}
		}
		released(now.Add(15 * time.Minute))
		late := now.Add(14 * time.Minute)
		st, err = r.shows[0].Forward(bg(), late, "trail-boots", st.Version, nil)
		s.must(err)
		released(now.Add(15 * time.Minute))
		st, err = r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 5)
		s.must(err)
		released(late.Add(5 * time.Second))
		_, err = r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 60)
		s.must(err)
		released(late.Add(5 * time.Second))
	})
}

// Every server hears of a move: its own process at once, others by PostgreSQL.
func TestListen(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		db := s.DB
		if s.url != "" {
			db = s.server() // another server
		}
		ctx, cancel := context.WithCancel(bg())
		heard := make(chan string, 100)
		done := make(chan struct{})
		go func() { db.Listen(ctx, func(id string) { heard <- id }); close(done) }()
		_, err := r.shows[0].Start(bg(), showtime, "trail-boots")
		s.must(err)
		for on := true; ; on = !on { // until the connection listens
			st, err := r.shows[0].State(bg(), "trail-boots")
			s.must(err)
			_, err = r.shows[0].Dark(bg(), "trail-boots", st.Version, on)
			s.must(err)
			select {
			case id := <-heard:
				if id != "trail-boots" {
					t.Errorf("heard of %q", id)
				}
			case <-time.After(100 * time.Millisecond):
				continue
			}
			break
		}
		before, err := db.Pulse(bg(), "trail-boots")
		s.must(err)
		st, err := r.shows[0].State(bg(), "trail-boots")
		s.must(err)
		_, err = r.shows[0].Hold(bg(), "trail-boots", st.Version, true)
		s.must(err)
		if after, err := db.Pulse(bg(), "trail-boots"); err != nil || after == before || after == "" {
			t.Errorf("the pulse was %q, is %q: %v", before, after, err)
		}
		cancel()
		<-done
	})
}

// say decides what is said of one ticket, as the desk does with its name.
func (s *suite) say(t draw.Ticket, say, words string, at time.Time) error {
	var name string
	s.must(s.write.QueryRow(`SELECT name FROM entries WHERE draw = 'trail-boots' AND ticket = $1`, t.String()).Scan(&name))
	kept, err := s.See(bg(), "trail-boots", []show.Saying{{Ticket: t, Name: name, Say: say, Words: words}}, at)
	if err == nil && kept != 1 {
		err = errors.New("not kept")
	}
	return err
}

// What is said of a ticket goes with its personal data, and nothing undecided
// is said.
func TestSaid(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.stage(1)
		var tickets []draw.Ticket
		page, err := s.Tickets(bg(), "trail-boots", draw.Ticket{}, 10)
		s.must(err)
		for _, l := range page {
			tickets = append(tickets, l.Ticket)
		}
		for i, say := range []string{"name", "ticket", "like"} {
			s.must(s.say(tickets[i], say, strings.Repeat("Bo", i/2), showtime))
		}
		said, err := s.Said(bg(), "trail-boots", tickets)
		s.must(err)
		if len(said) != 2 || !strings.HasPrefix(said[tickets[0]], "Robin ") || said[tickets[2]] != "Bo" {
			t.Errorf("said %v", said)
		}
		if err := s.say(tickets[3], "name", "Bo", showtime); err == nil {
			t.Error("words for a name that is said as it is were taken")
		}
		s.must(s.EraseTicket(bg(), "trail-boots", tickets[2], giveaway.StateOpen, true, showtime))
		if said, err = s.Said(bg(), "trail-boots", tickets); err != nil || len(said) != 1 {
			t.Errorf("after the deletion: %v, %v", said, err)
		}
		var left int
		s.must(s.write.QueryRow(`SELECT COUNT(*) FROM show_names WHERE draw = 'trail-boots'`).Scan(&left))
		if left != 2 {
			t.Errorf("%d rows left", left)
		}
	})
}

// A clock that goes back between draw and first place, or a draw made by a
// server whose clock is ahead, leaves the result held for the whole delay. The
// rule is our own, no outside source.
func TestClockGoesBackAfterTheDraw(t *testing.T) {
	for name, ahead := range map[string]bool{"back": false, "another server ahead": true} {
		t.Run(name, func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				r := s.stage(1)
				r.lock()
				now := showtime.Add(time.Minute)
				st := r.upTo(show.Number, now)
				_, err := r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 20)
				s.must(err)
				if ahead {
					_, err := r.shows[1].Host.DrawHeld(bg(), now, "trail-boots", nil)
					s.must(err)
					now = now.Add(-25 * time.Second)
				}
				r.upTo(show.Line, now)
				if !ahead {
					now = now.Add(-25 * time.Second)
				}
				st = r.press(now)
				g, err := s.Giveaway(bg(), "trail-boots")
				s.must(err)
				if !g.Held(now) || !g.Released.Equal(g.Drawn.Add(20*time.Second)) || st.Step != show.First {
					t.Errorf("at %v: drawn %v, released %v", st.Step, g.Drawn, g.Released)
				}
			})
		})
	}
}

// The show that was moved last counts for an evening only where its event is
// not after a time: our own rule, no outside source.
func TestNewestOfAnEvening(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		_, err := r.shows[0].Start(bg(), showtime.Add(-time.Hour), "trail-boots")
		s.must(err)
		for last, want := range map[time.Time]string{showtime.Add(-time.Second): "", showtime: "trail-boots"} {
			if id, err := s.Newest(bg(), last); err != nil || id != want {
				t.Errorf("up to %v the newest is %q, %v, want %q", last, id, err, want)
			}
		}
	})
}

// A stream is as late as it was in the last show: our own rule, no outside source.
func TestNextShowHasTheLastDelay(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		next := s.hostTerms("tent")
		_, err := r.shows[0].Host.Draft(bg(), showtime.Add(-50*time.Hour), next)
		s.must(err)
		_, err = r.shows[0].Host.Open(bg(), showtime.Add(-50*time.Hour), "tent")
		s.must(err)
		st, err := r.shows[0].Start(bg(), showtime.Add(-time.Hour), "trail-boots")
		if err != nil || st.Delay != 0 {
			t.Errorf("the first show begins with %d seconds, %v", st.Delay, err)
		}
		_, err = r.shows[0].SetDelay(bg(), "trail-boots", st.Version, 35)
		s.must(err)
		if st, err = r.shows[1].Start(bg(), showtime.Add(-time.Minute), "tent"); err != nil || st.Delay != 35 {
			t.Errorf("the next show begins with %d seconds, %v, want 35", st.Delay, err)
		}
	})
}
