package store

import (
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

// rowOf is a row of a file.
func rowOf(key, reason string) entries.New {
	n := person(key)
	n.Origin, n.Reason = entries.OriginFile, reason
	return n
}

// bringIn imports rows of which the whole must be taken.
func (s *suite) bringIn(id string, now time.Time, rows ...entries.New) []entries.ImportedStamp {
	s.t.Helper()
	came, err := s.ImportEntries(bg(), id, now, rows)
	s.must(err)
	if len(came) != len(rows) {
		s.t.Fatalf("%d answers for %d rows", len(came), len(rows))
	}
	return came
}

// receipt is what says that a ticket was issued (protocol, "Receipt").
func (s *suite) receipt(id string, n entries.New, stamp entries.Stamp) draw.Attachment {
	text := draw.Receipt{Draw: id, Opening: stamp.Opening, Ticket: n.Ticket, Entered: stamp.Entered, Commitment: n.Commitment}.Text()
	return draw.Attachment{Name: "receipt of " + n.Ticket.String(), Data: s.sign(text)}
}

// Each row of a file gets its answer, at its place.
func TestImportRowByRow(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		form, _ := s.enter("trail-boots", "form@example.org", at(1))
		rows := []entries.New{
			rowOf("zoe@example.org", ""),
			rowOf("form@example.org", ""), // has a ticket by the form
			rowOf("ann@example.org", ""),
			rowOf("ann@example.org", draw.Duplicate),
			rowOf("ann@example.org", draw.Duplicate), // again; both are issued
			rowOf("bea@example.org", draw.Region),
			rowOf("form@example.org", draw.Ineligible),
			rowOf("zoe@example.org", ""), // of two for the roll one is written
			rowOf("other@example.org", ""),
		}
		rows[8].Ticket = form.Ticket
		rows = append(rows, rowOf("paper@example.org", ""))
		rows[9].Origin = entries.OriginPaper
		came := s.bringIn("trail-boots", at(2), rows...)
		want := []error{nil, entries.ErrAlreadyIn, nil, nil, nil, nil, nil, entries.ErrAlreadyIn, entries.ErrTicketTaken, nil}
		for i, c := range came {
			if !errors.Is(c.Err, want[i]) || (c.Err == nil) != c.Entered.Equal(at(2)) {
				t.Errorf("row %d: %v at %v, want %v", i, c.Err, c.Entered, want[i])
			}
			if c.Err != nil {
				continue
			}
			got, err := s.EntryByLink(bg(), "trail-boots", rows[i].LinkHash)
			s.must(err)
			if want := (entries.Stored{New: rows[i], Stamp: c.Stamp}); !reflect.DeepEqual(got, want) {
				t.Errorf("row %d: got  %+v\nwant %+v", i, got, want)
			}
		}
		counts, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		if counts.Issued != 8 || counts.In != 4 || !reflect.DeepEqual(counts.ByReason, map[string]int64{"duplicate": 2, "region": 1, "ineligible": 1}) ||
			!reflect.DeepEqual(counts.ByOrigin, map[string]int64{"form": 1, "file": 6, "paper": 1}) {
			t.Errorf("counts %+v", counts)
		}
		// A row that is not in the draw keeps nobody out.
		s.enter("trail-boots", "bea@example.org", at(3))
	})
}

// The same rows again write nothing, and answer as the first time, but that
// they are fresh no more.
func TestImportTwice(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		rows := []entries.New{rowOf("ann@example.org", ""), rowOf("ann@example.org", draw.Duplicate), rowOf("bea@example.org", draw.Region)}
		first := s.bringIn("trail-boots", at(2), rows...)
		s.must(s.Withdraw(bg(), "trail-boots", at(3), rows[0].LinkHash))
		for i := range first {
			if !first[i].Fresh {
				t.Errorf("row %d is not fresh", i)
			}
			first[i].Fresh = false
		}
		if again := s.bringIn("trail-boots", at(9), rows...); !reflect.DeepEqual(again, first) {
			t.Errorf("got  %v\nwant %v", again, first)
		}
		counts, err := s.EntryCounts(bg(), "trail-boots")
		s.must(err)
		if counts.Issued != 3 || counts.In != 0 {
			t.Errorf("counts %+v", counts)
		}
	})
}

// When rows are taken: from the posting of the terms to the lock, also before
// opens and after closes; stamped never before the opening that they name.
func TestImportByTime(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		bring := func(id string, now time.Time) error {
			_, err := s.ImportEntries(bg(), id, now, []entries.New{rowOf(fmt.Sprint(now.Unix(), "@example.org"), "")})
			return err
		}
		s.want(bring("nowhere", at(1)), giveaway.ErrNotFound)
		s.draft("trail-boots")
		s.want(bring("trail-boots", at(1)), entries.ErrNotOpen)
		o := s.opened("trail-boots")
		s.must(s.DB.Open(bg(), o))
		s.must(bring("trail-boots", at(-20)))
		s.must(s.Revise(bg(), "trail-boots", 1, func(last time.Time) (giveaway.Revised, error) { return s.revision(o.Opening, at(30), last), nil }))
		came := s.bringIn("trail-boots", at(10), rowOf("slow@example.org", ""))
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if !came[0].Entered.Equal(at(30)) || came[0].Opening != g.OpeningHash {
			t.Errorf("a row of a slow clock is stamped %v", came[0].Entered)
		}
		s.must(bring("trail-boots", closes.Add(20*time.Second)))
		s.freeze("trail-boots", "a1", closes.Add(30*time.Second))
		s.want(bring("trail-boots", closes.Add(40*time.Second)), entries.ErrLocked)
		_, err = s.ImportEntries(bg(), "trail-boots", at(1), make([]entries.New, entries.MostAtOnce+1))
		if err == nil {
			t.Error("501 rows at once are taken")
		}
	})
}

// A whole batch stands or falls together.
func TestImportIsOneTransaction(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		rows := []entries.New{rowOf("ann@example.org", ""), rowOf("bea@example.org", "no reason of the protocol")}
		if _, err := s.ImportEntries(bg(), "trail-boots", at(2), rows); err == nil {
			t.Fatal("a reason that is none is taken")
		}
		if counts, err := s.EntryCounts(bg(), "trail-boots"); err != nil || counts.Issued != 0 {
			t.Errorf("counts %+v: %v", counts, err)
		}
	})
}

// Two files of 500 rows come on two servers, in part with the same addresses,
// while 50 people send the form with addresses that the files have as well,
// and then the list is locked. Each row is in one list or was refused; no
// address is twice in the roll; every receipt that was handed out checks.
func TestImportWhilePeopleEnterAndTheListIsLocked(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		other := hosts[1].Store.(*DB)
		g := s.hostOpen(hosts[0], s.hostTerms("trail-boots"))
		var mu sync.Mutex
		var opt draw.Options
		var issued, refused, late int64
		took := func(n entries.New, stamp entries.Stamp, err error) {
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				issued++
				opt.Receipts = append(opt.Receipts, s.receipt("trail-boots", n, stamp))
			case errors.Is(err, entries.ErrAlreadyIn):
				refused++
			case errors.Is(err, entries.ErrLocked), errors.Is(err, entries.ErrClosed):
				late++
			default:
				t.Error(err)
			}
		}
		var wg sync.WaitGroup
		for file, db := range []*DB{s.DB, other} {
			wg.Go(func() {
				for batch := range 8 {
					var rows []entries.New
					for i := range 125 {
						key, reason := fmt.Sprintf("p%d@example.org", (batch*125+i+file*500)%1500), ""
						if i%10 == 0 {
							reason = draw.Duplicate
						}
						rows = append(rows, rowOf(key, reason))
					}
					// The second server's clock is two seconds slow.
					came, err := db.ImportEntries(bg(), "trail-boots", closesAt.Add(time.Duration(batch-2*file)*time.Second), rows)
					for i, n := range rows {
						if err != nil {
							took(n, entries.Stamp{}, err)
						} else {
							took(n, came[i].Stamp, came[i].Err)
						}
					}
				}
			})
		}
		for i := range 50 {
			wg.Go(func() {
				n := person(fmt.Sprintf("p%d@example.org", i*30))
				stamp, err := []*DB{s.DB, other}[i%2].AddEntry(bg(), "trail-boots", at(i), n)
				took(n, stamp, err)
			})
		}
		wg.Go(func() {
			for {
				counts, err := s.EntryCounts(bg(), "trail-boots")
				if err != nil || counts.Issued > 900 {
					break
				}
				time.Sleep(time.Millisecond)
			}
			if _, err := hosts[1].Lock(bg(), closesAt.Add(4*time.Second), "trail-boots"); err != nil {
				t.Error(err)
			}
		})
		wg.Wait()
		report := draw.Check(bg(), s.Publication("trail-boots"), opt)
		if report.Status != 0 || report.Tickets+report.Excluded != issued || report.Stage != "frozen" {
			t.Errorf("the check answers %d, %s, %s; %d + %d tickets, %d issued: %v", report.Status, report.Verdict, report.Stage,
				report.Tickets, report.Excluded, issued, faults(report))
		}
		var twice int
		s.must(s.read1(`SELECT COUNT(*) FROM (SELECT key FROM entries WHERE reason IS NULL GROUP BY key HAVING COUNT(*) > 1) AS more`, &twice))
		if twice != 0 || refused == 0 {
			t.Errorf("%d addresses are twice in the roll; %d were refused", twice, refused)
		}
		t.Logf("opened %s: issued %d, already in %d, too late %d", g.ID, issued, refused, late)
	})
}

func (s *suite) read1(query string, into any) error { return s.DB.read.QueryRow(query).Scan(into) }

func faults(r draw.Report) (all []draw.Finding) {
	for _, f := range r.Findings {
		if f.Level == draw.Fault {
			all = append(all, f)
		}
	}
	return all
}
