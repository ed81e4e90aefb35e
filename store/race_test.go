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

// press presses a button from 50 goroutines on two servers at once: one must
// win and every other get ErrState (or also, if it says so).
func (s *suite) press(button string, also error, do func(db *DB, n int) error) (winner int) {
	s.t.Helper()
	if s.other == nil {
		s.other = s.server()
	}
	dbs := []*DB{s.DB, s.other}
	start := make(chan struct{})
	var wins atomic.Int64
	var wg sync.WaitGroup
	for n := range 50 {
		wg.Go(func() {
			<-start
			switch err := do(dbs[n%2], n); {
			case err == nil:
				wins.Add(1000 + int64(n))
			case !errors.Is(err, giveaway.ErrState) && (also == nil || !errors.Is(err, also)):
				s.t.Errorf("%s: %v", button, err)
			}
		})
	}
	close(start)
	wg.Wait()
	if wins.Load()/1000 != 1 {
		s.t.Fatalf("%s: %d winners, want one", button, wins.Load()/1000)
	}
	return int(wins.Load() % 1000)
}

func TestEachButtonHasOneWinner(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.draft("trail-boots")
		openings := make([]giveaway.Opened, 50)
		for i := range openings {
			openings[i] = s.opened("trail-boots")
		}
		won := s.press("open", nil, func(db *DB, n int) error { return db.Open(bg(), openings[n]) })
		o := openings[won]
		if got := s.read("trail-boots", draw.OpeningFile); got != string(o.Note) {
			t.Error("opening.txt is not the winner's")
		}
		if secret, err := s.HostSecret(bg(), "trail-boots"); err != nil || secret != o.HostSecret {
			t.Error("the secret is not the winner's")
		}
		s.enter("trail-boots", "ann@example.org", at(1))

		s.press("revise", nil, func(db *DB, n int) error {
			return db.Revise(bg(), "trail-boots", 1, func(last time.Time) (giveaway.Revised, error) { return s.revision(o.Opening, at(10), last), nil })
		})
		s.press("begin freeze", giveaway.ErrBusy, func(db *DB, n int) error {
			_, _, err := db.BeginFreeze(bg(), "trail-boots", fmt.Sprint("a", n), at(100))
			return err
		})
		// All find the attempt dead at once: one takes over.
		won = s.press("take over", giveaway.ErrBusy, func(db *DB, n int) error {
			_, _, err := db.BeginFreeze(bg(), "trail-boots", fmt.Sprint("b", n), at(120))
			return err
		})
		attempt := fmt.Sprint("b", won)
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		roll, excluded := s.lists("trail-boots")
		s.writeLists("trail-boots", attempt, roll, excluded, at(120))
		f := s.frozen(g, attempt, g.Frozen, roll, excluded)
		s.press("freeze", nil, func(db *DB, n int) error { return db.Freeze(bg(), f) })
		won = s.press("record", nil, func(db *DB, n int) error {
			return db.Record(bg(), "trail-boots", fmt.Append(nil, "note ", n, "\n"), event.Add(time.Second), event.Add(time.Second))
		})
		if got, want := s.read("trail-boots", draw.RecordFile), fmt.Sprint("note ", won, "\n"); got != want {
			t.Errorf("record.txt is %q, want the winner's %q", got, want)
		}
	})
}

// A race is 2,000 entries, changes and withdrawals from many goroutines on two
// servers, whose clocks differ, against revisions and the lock.
type race struct {
	*suite
	dbs   []*DB
	clock atomic.Int64 // steps made; 40 to a second

	mu       sync.Mutex // guards what follows
	stamps   []stamped
	openings []draw.Opening
	links    map[draw.Ticket][32]byte
	met      map[error]int
	did      map[string]int
}

// A stamped commitment is what a receipt says.
type stamped struct {
	ticket     draw.Ticket
	stamp      entries.Stamp
	commitment draw.Digest
}

const raceEntries = 2000

// now is the time on a server; the second one's clock is two seconds slow.
func (r *race) now(server int) time.Time {
	return at(int(r.clock.Add(1)/40) - 2*server)
}

func (r *race) count(what string, err error) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, known := range []error{entries.ErrAlreadyIn, entries.ErrClosed, entries.ErrLocked, entries.ErrTooSoon, giveaway.ErrState, giveaway.ErrBusy} {
		if errors.Is(err, known) {
			r.met[known]++
			return false
		}
	}
	var early giveaway.ErrTooEarly
	if err != nil && !errors.As(err, &early) && !errors.Is(err, entries.ErrNotOpen) {
		r.t.Errorf("%s: %v", what, err)
	}
	if err == nil {
		r.did[what]++
	}
	return err == nil
}

func (r *race) handOut(t draw.Ticket, s entries.Stamp, c draw.Digest) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.stamps = append(r.stamps, stamped{t, s, c})
}

// entrant enters, often with an address that another has as well, and then
// changes the entry and may withdraw it.
func (r *race) entrant(i int) {
	server := i % 2
	db := r.dbs[server]
	key := fmt.Sprintf("p%d@example.org", i)
	if i%5 == 0 {
		key = fmt.Sprintf("shared%d@example.org", i/40)
	}
	n := person(key)
	stamp, err := db.AddEntry(bg(), "trail-boots", r.now(server), n)
	if !r.count("enter", err) {
		r.somebody(server)
		return
	}
	r.handOut(n.Ticket, stamp, n.Commitment)
	r.mu.Lock()
	r.links[n.Ticket] = n.LinkHash
	r.mu.Unlock()
	for range i % 3 {
		c := change(n)
		stamp, err := db.ChangeEntry(bg(), "trail-boots", r.now(server), c)
		if r.count("change", err) {
			r.handOut(n.Ticket, stamp, c.Commitment)
		}
	}
	if i%7 == 0 || key[0] == 's' && i%2 == 0 {
		r.count("withdraw", db.Withdraw(bg(), "trail-boots", r.now(server), n.LinkHash))
	}
}

// somebody changes an entry that is in already.
func (r *race) somebody(server int) {
	var n entries.New
	r.mu.Lock()
	nobody := len(r.links) == 0                // the first of all may be in, and its link not noted yet
	for n.Ticket, n.LinkHash = range r.links { // in no order
		break
	}
	r.mu.Unlock()
	if nobody {
		return
	}
	c := change(n)
	stamp, err := r.dbs[server].ChangeEntry(bg(), "trail-boots", r.now(server), c)
	if errors.Is(err, entries.ErrWithdrawn) {
		return
	}
	if r.count("change", err) {
		r.handOut(n.Ticket, stamp, c.Commitment)
	}
}

// revise makes revisions, one after another, until the lock.
func (r *race) revise(server int) {
	for {
		g, err := r.dbs[server].Giveaway(bg(), "trail-boots")
		if err != nil || g.State != giveaway.StateOpen || g.Revision > 15 {
			return
		}
		var made draw.Opening
		err = r.dbs[server].Revise(bg(), "trail-boots", g.Revision, func(last time.Time) (giveaway.Revised, error) {
			next := r.revision(g.Opening, r.now(server), last)
			made = next.Opening
			return next, nil
		})
		if r.count("revise", err) {
			r.mu.Lock()
			r.openings = append(r.openings, made)
			r.mu.Unlock()
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// lock tries to begin the freeze until somebody has.
func (r *race) lock(server int, won chan<- giveaway.Giveaway) {
	for {
		_, g, err := r.dbs[server].BeginFreeze(bg(), "trail-boots", fmt.Sprint("server", server), r.now(server))
		if r.count("lock", err) {
			won <- g
			return
		}
		if errors.Is(err, giveaway.ErrBusy) || errors.Is(err, giveaway.ErrState) {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

func TestTheEdgeOfTheLock(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		r := &race{suite: s, dbs: []*DB{s.DB, s.server()}, openings: []draw.Opening{o.Opening},
			links: map[draw.Ticket][32]byte{}, met: map[error]int{}, did: map[string]int{}}
		if s.config.File != "" {
			r.dbs[1] = s.DB // SQLite has one server; two clocks all the same
		}
		r.clock.Store(120) // both clocks are past opening
		work := make(chan int)
		won := make(chan giveaway.Giveaway, 2)
		var wg sync.WaitGroup
		for range 40 {
			wg.Go(func() {
				for i := range work {
					r.entrant(i)
				}
			})
		}
		for server := range 2 {
			wg.Go(func() { r.revise(server) })
			wg.Go(func() { r.lock(server, won) })
		}
		for i := range raceEntries {
			work <- i
		}
		close(work)
		wg.Wait()
		if len(won) != 1 {
			t.Fatalf("%d locks began, want one", len(won))
		}
		t.Logf("done %v, met %v", r.did, r.met)
		g := <-won
		r.check(g)
		r.verify(g)
	})
}

// verify finishes the freeze and the draw, and lets the viewer's own check go
// over the publication with every receipt that was handed out.
func (r *race) verify(g giveaway.Giveaway) {
	var attempt string
	r.must(r.write.QueryRow(`SELECT attempt FROM giveaways`).Scan(&attempt))
	roll, excluded := r.lists(g.ID)
	r.writeLists(g.ID, attempt, roll, excluded, g.Frozen)
	r.must(r.Freeze(bg(), r.frozen(g, attempt, g.Frozen, roll, excluded)))
	host := giveaway.Host{Store: r.dbs[1], Keys: r.DB, Rand: rand.Reader}
	_, err := host.Draw(bg(), g.Opening.Event.Add(time.Minute), g.ID, nil)
	r.must(err)
	var opt draw.Options
	for i, s := range r.stamps {
		text := draw.Receipt{Draw: g.ID, Opening: s.stamp.Opening, Ticket: s.ticket, Entered: s.stamp.Entered, Commitment: s.commitment}.Text()
		opt.Receipts = append(opt.Receipts, draw.Attachment{Name: fmt.Sprint("receipt ", i), Data: r.sign(text)})
	}
	report := draw.Check(bg(), r.Publication(g.ID), opt)
	if report.Status != 0 || report.Stage != "drawn" || report.Tickets+report.Excluded != int64(r.did["enter"]) {
		for _, f := range report.Findings {
			if f.Level == draw.Fault {
				r.t.Error(f)
			}
		}
		r.t.Errorf("the check answers %d, %s, %s with %d receipts", report.Status, report.Verdict, report.Stage, len(opt.Receipts))
	}
}

// check looks at every stamp that was handed out as a viewer's check would
// (protocol, "Receipt"), and at the lists.
func (r *race) check(g giveaway.Giveaway) {
	for _, what := range []string{"enter", "change", "withdraw", "revise"} {
		if r.did[what] == 0 {
			r.t.Errorf("nobody did: %s", what)
		}
	}
	for _, err := range []error{entries.ErrAlreadyIn, entries.ErrClosed, entries.ErrLocked} {
		if r.met[err] == 0 {
			r.t.Errorf("nobody met: %v", err)
		}
	}
	next := map[draw.Digest]time.Time{} // the revised of the opening that follows
	for i, o := range r.openings {
		end := g.Frozen
		if i+1 < len(r.openings) {
			end = r.openings[i+1].Revised
		}
		next[draw.Hash(o.Text())] = end
	}
	latest := map[draw.Ticket]stamped{}
	for _, s := range r.stamps {
		end, stands := next[s.stamp.Opening]
		if !stands || !s.stamp.Entered.Before(end) || !s.stamp.Entered.Before(g.Frozen) {
			r.t.Fatalf("entered %v under an opening that ended %v; frozen %v", s.stamp.Entered, end, g.Frozen)
		}
		if l, more := latest[s.ticket]; more && l.stamp.Entered.Equal(s.stamp.Entered) {
			r.t.Fatalf("two receipts of one ticket with one time, %v", s.stamp.Entered)
		} else if !more || s.stamp.Entered.After(l.stamp.Entered) {
			latest[s.ticket] = s
		}
	}
	r.checkLists(latest)
}

// checkLists: each ticket that was handed out stands once in the lists, with
// its latest commitment, and no address has two tickets in the roll.
func (r *race) checkLists(latest map[draw.Ticket]stamped) {
	seen, keys := map[draw.Ticket]bool{}, map[string]bool{}
	var after draw.Ticket
	for {
		page, err := r.Tickets(bg(), "trail-boots", after, 100)
		r.must(err)
		for _, l := range page {
			if seen[l.Ticket] || latest[l.Ticket].commitment != l.Commitment {
				r.t.Fatalf("ticket %s twice, or with another commitment than its latest receipt", l.Ticket)
			}
			seen[l.Ticket] = true
			e, err := r.EntryByLink(bg(), "trail-boots", r.links[l.Ticket])
			r.must(err)
			if e.Ticket != l.Ticket || e.Withdrawn != (l.Reason == draw.Withdrawn) || l.Reason == "" && keys[e.Entry.Key] {
				r.t.Fatalf("ticket %s: withdrawn %v with reason %q, or its address has another", l.Ticket, e.Withdrawn, l.Reason)
			}
			keys[e.Entry.Key] = keys[e.Entry.Key] || l.Reason == ""
			after = l.Ticket
		}
		if len(page) == 0 {
			break
		}
	}
	if len(seen) != len(latest) || len(seen) != r.did["enter"] {
		r.t.Fatalf("%d tickets in the lists, %d handed out", len(seen), len(latest))
	}
}
