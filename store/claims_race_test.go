package store

import (
	"crypto/rand"
	"errors"
	"fmt"
	"path"
	"sync"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/giveaway"
)

// Every step on a claim is taken by one of fifty who take it at once on two
// servers, and what is stored is what the winner brought.
func TestEachClaimStepHasOneWinner(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		r := s.claim("trail-boots", 1, "ann@example.org")
		press := func(step string, do func(db *DB, n int) error) string {
			t.Helper()
			return fmt.Sprint(step, " ", s.press(step, claims.ErrRace, do))
		}
		row := func() claims.Row {
			t.Helper()
			got, err := s.Claim(bg(), "trail-boots", 1)
			s.must(err)
			return got
		}
		is := func(got, want string) {
			t.Helper()
			if got != want {
				t.Errorf("stored %q, want the winner's %q", got, want)
			}
		}
		won := press("link", func(db *DB, n int) error {
			mine := r
			mine.LinkHash, mine.SealedLink = link(fmt.Sprint("link ", n)), fmt.Append(nil, "link ", n)
			return db.AddClaim(bg(), mine)
		})
		is(string(row().SealedLink), won)

		from := row().LinkHash
		won = press("renewed", func(db *DB, n int) error {
			return db.RenewLink(bg(), "trail-boots", 1, from, link(fmt.Sprint("renewed ", n)), fmt.Append(nil, "renewed ", n), giveaway.LogLine{At: at(250), What: "A new link."})
		})
		is(string(row().SealedLink), won)

		won = press("notice", func(db *DB, n int) error { return db.Notice(bg(), "trail-boots", 1, at(n), at(9000+n)) })
		is(fmt.Sprint("notice ", row().Noticed.Sub(at(0)).Seconds()), won)

		for version := range 3 { // final: one answer to each version
			won = press("answer", func(db *DB, n int) error {
				return db.Answer(bg(), "trail-boots", 1, version, fmt.Append(nil, "answer ", n), claims.ByPage, at(300))
			})
			is(string(row().SealedAnswer), won)
		}
		for n := range 2 {
			won = press("mark", func(db *DB, i int) error {
				m, a := mark(n+1, claims.MarkCantHave), ask(n+1, claims.AskSize, fmt.Sprint("mark ", n, " ", i))
				m.SealedWords, a.SealedAsk = fmt.Append(nil, "mark ", i), fmt.Append(nil, "mark ", i)
				return db.AddMark(bg(), "trail-boots", 1, s.saw("trail-boots", 1), m, a)
			})
			got := row()
			if len(got.Marks) != n+1 || len(got.Asks) != n+1 {
				t.Fatalf("%d marks and %d questions, want %d", len(got.Marks), len(got.Asks), n+1)
			}
			is(string(got.Marks[n].SealedWords), won)
			is(string(got.Asks[n].SealedAsk), won)
		}
		won = press("reply", func(db *DB, n int) error {
			return db.Reply(bg(), "trail-boots", 1, s.saw("trail-boots", 1), 2, fmt.Append(nil, "reply ", n), at(320))
		})
		is(string(row().Asks[1].SealedReply), won)

		won = press("sponsor", func(db *DB, n int) error {
			return db.AddSponsorLink(bg(), claims.SponsorRow{Draw: "trail-boots", LinkHash: link(fmt.Sprint("sponsor ", n)),
				SealedLink: fmt.Append(nil, "sponsor ", n), Made: at(1)})
		})
		links, err := s.SponsorLinks(bg(), "trail-boots")
		s.must(err)
		if len(links) != 1 {
			t.Fatalf("%d links, want one", len(links))
		}
		is(string(links[0].SealedLink), won)
	})
}

// clerks are those of two servers, by turns.
func (s *suite) clerks(hosts []giveaway.Host) func(n int) claims.Clerk {
	return func(n int) claims.Clerk {
		db := hosts[n%2].Store.(*DB)
		return claims.Clerk{Store: db, Entries: db, Host: hosts[n%2], Seal: s.config.Vault, Rand: rand.Reader, URL: "https://slowmiles.example"}
	}
}

// Fifty people hold the claim's link and send different names at once, through
// two servers: one answer is final, and everybody else is told so. The phone is
// the one of [planted].
func TestOneAnswerIsFinal(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		s.drawn(hosts[0], "trail-boots")
		clerk := s.clerks(hosts)
		l, err := clerk(0).Letter(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		form := claims.Form{Line1: "4711 Larkspur Ave", City: "Denver", State: "CO", Postal: "80202", Country: "US",
			Phone: "2015550123", Adult: "yes", Eligible: "yes", Sure: "yes"}
		var wg sync.WaitGroup
		won := make(chan string, 50)
		for n := range 50 {
			wg.Go(func() {
				f := form
				f.Name = fmt.Sprint("Robin Number", n)
				_, err := clerk(n).Answer(bg(), drawnAt, "trail-boots", path.Base(l.Link), f)
				switch {
				case err == nil:
					won <- f.Name
				case !errors.Is(err, claims.ErrAnswered):
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if len(won) != 1 {
			t.Fatalf("%d answers were taken, want one", len(won))
		}
		p, err := clerk(1).Place(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		if name := <-won; p.Answer == nil || p.Answer.Name != name {
			t.Errorf("the answer that stands is not the one of %s", name)
		}
	})
}

// The sponsor marks while the creator revokes the link: each mark that was
// taken stands once, without a gap, and once the revocation is durable nobody
// finds the page on either server.
func TestMarkAgainstRevoke(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.claimed("trail-boots", 1, "ann@example.org")
		s.must(s.AddSponsorLink(bg(), claims.SponsorRow{Draw: "trail-boots", LinkHash: link("page"), SealedLink: []byte("x"), Made: at(1)}))
		dbs := []*DB{s.DB, s.server()}
		var wg sync.WaitGroup
		marked := make(chan int, 10000)
		for n := range 50 {
			wg.Go(func() {
				db := dbs[n%2]
				if n == 49 {
					for len(marked) < 20 && !t.Failed() { // somebody has marked
						time.Sleep(time.Millisecond)
					}
					if err := db.RevokeSponsorLink(bg(), "trail-boots", at(400)); err != nil {
						t.Error(err)
					}
					for _, db := range dbs {
						if _, err := db.SponsorByLink(bg(), link("page")); !errors.Is(err, claims.ErrClosed) {
							t.Errorf("the revoked link answers %v", err)
						}
					}
					return
				}
				for s.sponsorMarks(db, marked) {
				}
			})
		}
		wg.Wait()
		close(marked)
		seen := map[int]bool{}
		for n := range marked {
			seen[n] = true
		}
		r, err := s.Claim(bg(), "trail-boots", 1)
		s.must(err)
		for i, m := range r.Marks {
			if m.N != i+1 || !seen[m.N] {
				t.Fatalf("mark %d in place %d, or of nobody", m.N, i+1)
			}
		}
		if len(r.Marks) < 20 || len(seen) != len(r.Marks) {
			t.Errorf("%d marks stored, %d taken", len(r.Marks), len(seen))
		}
	})
}

// sponsorMarks makes one mark as long as the link opens the page.
func (s *suite) sponsorMarks(db *DB, marked chan<- int) bool {
	page, err := db.SponsorByLink(bg(), link("page"))
	if errors.Is(err, claims.ErrClosed) {
		return false
	}
	if err != nil {
		s.t.Error(err)
		return false
	}
	r, err := db.Claim(bg(), page.Draw, 1)
	if err != nil {
		s.t.Error(err)
		return false
	}
	switch err = db.AddMark(bg(), page.Draw, 1, s.saw(page.Draw, 1), mark(len(r.Marks)+1, claims.MarkInStock), nil); {
	case err == nil:
		marked <- len(r.Marks) + 1
	case !errors.Is(err, claims.ErrRace):
		s.t.Error(err)
		return false
	}
	return len(r.Marks) < 5000
}

// Readers see a mark and its question together, however they are written in
// between.
func TestClaimIsReadAsOfOneMoment(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.claimed("trail-boots", 1, "ann@example.org")
		const marks = 60
		var wg sync.WaitGroup
		wg.Go(func() {
			for n := 1; n <= marks; n++ {
				if err := s.AddMark(bg(), "trail-boots", 1, s.saw("trail-boots", 1), mark(n, claims.MarkCantHave), ask(n, claims.AskSize, fmt.Sprint("ask ", n))); err != nil {
					t.Error(err)
				}
			}
		})
		other := s.server()
		for n := 0; n < marks; {
			r, err := other.Claim(bg(), "trail-boots", 1)
			s.must(err)
			if len(r.Marks) != len(r.Asks) || len(r.Marks) < n {
				t.Fatalf("%d marks and %d questions after %d", len(r.Marks), len(r.Asks), n)
			}
			n = len(r.Marks)
			if t.Failed() {
				break
			}
		}
		wg.Wait()
	})
}
