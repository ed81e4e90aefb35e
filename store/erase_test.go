package store

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// erasing is a drawn giveaway whose prize is on its way, with words planted
// wherever people write.
type erasing struct {
	*suite
	host    giveaway.Host
	clerk   claims.Clerk
	intake  entries.Intake
	people  []entries.Entered
	secrets map[string]string
}

const erasedID = "trail-boots"

// wordsToErase are those of entries; planted has those of a claim.
var wordsToErase = map[string]string{
	"typed address": "Quill.Addressplanted", "address that counts": "quill.addressplanted", "name to be said": "Nameplanted",
	"age": "ageplanted", "answer": "answerplanted", "barred address": "barredplanted@example.org",
}

// prepare makes it: five people enter, one withdraws, one is barred in the
// terms, the list is locked, the draw made, place 1 claims and gets its parcel.
func (s *suite) prepare() *erasing {
	s.t.Helper()
	x := &erasing{suite: s, host: s.hosts()[0], intake: entries.Intake{Store: s.DB, Signer: s.signer, Rand: rand.Reader}}
	terms := s.hostTerms(erasedID)
	terms.Barred = []string{"barredplanted@example.org", "Anybody who works for Larkspur Trail Supply"}
	terms.Rules = ""
	_, err := x.host.Draft(bg(), at(-100), terms)
	s.must(err)
	_, err = s.SaveForm(bg(), giveaway.TypedForm{Key: "g/" + erasedID, Title: "formplanted", Values: []byte("{}"), At: at(-90)})
	s.must(err)
	_, err = x.host.Open(bg(), at(-50), erasedID)
	s.must(err)
	for n := range 5 {
		e := person(strings.Repeat("x", n) + "quill.addressplanted@example.org").Entry
		e.Typed, e.Name, e.AgeRange = strings.Repeat("x", n)+"Quill.Addressplanted@example.org", "Nameplanted", "ageplanted"
		e.Ship = eligibility.Place{Country: "US", State: "CO"}
		e.Answers = map[string]string{"trail": "answerplanted"}
		x.people = append(x.people, x.take(n, e))
	}
	s.must(x.intake.Withdraw(bg(), at(20), erasedID, x.people[4].Link))
	_, err = x.host.Lock(bg(), x.giveaway().Opening.Closes, erasedID)
	s.must(err)
	_, err = x.host.Draw(bg(), drawnAt, erasedID, nil)
	s.must(err)
	x.clerk = claims.Clerk{Store: s.DB, Entries: s.DB, Host: x.host, Seal: s.config.Vault, Rand: rand.Reader, URL: "https://slowmiles.example"}
	x.secrets = s.wholeClaim(x.clerk)
	return x
}

// take writes an entry as the intake does, but without a form.
func (x *erasing) take(n int, e entries.Entry) entries.Entered {
	x.t.Helper()
	link := make([]byte, 18)
	_, err := io.ReadFull(rand.Reader, link)
	x.must(err)
	ticketed, err := entries.NewTicketed(rand.Reader, erasedID, e)
	x.must(err)
	ticketed.Link = base64.RawURLEncoding.EncodeToString(link)
	stamp, err := x.AddEntry(bg(), erasedID, at(1+n), entries.New{
		Ticket: ticketed.Ticket, Salt: ticketed.Salt, Commitment: ticketed.Commitment, Entry: e,
		LinkHash: draw.Hash([]byte("evenhand private link\n" + erasedID + "\n" + ticketed.Link)),
	})
	x.must(err)
	return entries.Entered{Ticketed: ticketed, Stamp: stamp}
}

func (x *erasing) giveaway() giveaway.Giveaway {
	x.t.Helper()
	g, err := x.Giveaway(bg(), erasedID)
	x.must(err)
	return g
}

// deliver has the sponsor mark the parcel of place 1.
func (x *erasing) deliver(at time.Time) {
	x.t.Helper()
	link, err := x.clerk.SponsorLink(bg(), at, erasedID)
	x.must(err)
	_, err = x.clerk.Mark(bg(), at, link[strings.LastIndex(link, "/")+1:], 1, claims.Mark{Kind: claims.MarkDelivered})
	x.must(err)
}

func (x *erasing) found(where []byte) (names []string) {
	for _, words := range []map[string]string{wordsToErase, planted} {
		for name, word := range words {
			if bytes.Contains(bytes.ToLower(where), []byte(strings.ToLower(word))) {
				names = append(names, name)
			}
		}
	}
	return names
}

// All that people wrote is gone from every table; all that was published stays
// byte for byte, and its check and every receipt hold.
func TestErase(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		x := s.prepare()
		x.deliver(drawnAt.Add(time.Hour))
		before, was := s.published(erasedID), s.verified(erasedID)
		if found := x.found(s.rows()); len(found) != len(wordsToErase) { // the claim's words are sealed
			t.Fatalf("the search finds %v, want all words of entries", found)
		}
		row, err := s.Claim(bg(), erasedID, 1)
		s.must(err)
		sealed := map[string][]byte{"answer": row.SealedAnswer, "claim link": row.SealedLink, "question": row.Asks[0].SealedAsk,
			"reply": row.Asks[0].SealedReply, "question's link": row.Asks[0].SealedLink, "mark": row.Marks[1].SealedWords}

		erasedAt := drawnAt.Add(2 * time.Hour)
		g, err := x.host.Erase(bg(), erasedAt, erasedID)
		s.must(err)
		if !g.Erased.Equal(erasedAt) {
			t.Errorf("erased %v, want %v", g.Erased, erasedAt)
		}
		all := s.rows()
		if found := x.found(all); len(found) > 0 {
			t.Errorf("still there: %v", found)
		}
		for name, b := range sealed {
			if len(b) < 16 || bytes.Contains(all, b) {
				t.Errorf("the sealed %s is still there", name)
			}
		}
		for _, p := range x.people {
			if bytes.Contains(all, p.Salt[:]) {
				t.Error("a salt is still there")
			}
		}
		if _, err := s.Form(bg(), "g/"+erasedID); !errors.Is(err, giveaway.ErrNotFound) {
			t.Errorf("the form as typed: %v", err)
		}
		if !reflect.DeepEqual(s.published(erasedID), before) {
			t.Error("what was published has changed")
		}
		if now := s.verified(erasedID); now.Verdict != was.Verdict {
			t.Errorf("check says %s, said %s", now.Verdict, was.Verdict)
		}
		x.proofs()
		x.again(erasedAt)
	})
}

// proofs: receipts are the same as before and fit the list.
func (x *erasing) proofs() {
	x.t.Helper()
	for n, p := range x.people {
		mine, err := x.intake.Mine(bg(), erasedID, p.Link)
		x.must(err)
		if mine.Erased.IsZero() || mine.EntryText != nil || mine.Ticket != p.Ticket || mine.Commitment != p.Commitment || mine.Stamp != p.Stamp {
			x.t.Errorf("entry %d reads %+v", n, mine)
		}
		if mine.Withdrawn != (n == 4) {
			x.t.Errorf("entry %d: withdrawn %v", n, mine.Withdrawn)
		}
		report := draw.Check(bg(), x.Publication(erasedID), draw.Options{Receipts: []draw.Attachment{{Name: "receipt", Data: mine.Receipt}}})
		if report.Status != draw.StatusValid {
			x.t.Errorf("receipt %d: %v", n, report.Status)
		}
	}
}

// again: nothing can be written any more, and the second time changes nothing.
func (x *erasing) again(first time.Time) {
	x.t.Helper()
	g, err := x.host.Erase(bg(), first.Add(time.Hour), erasedID)
	x.must(err)
	if !g.Erased.Equal(first) {
		x.t.Errorf("erased again at %v", g.Erased)
	}
	x.want(x.DB.Erase(bg(), erasedID, giveaway.Erasure{At: first.Add(time.Hour), State: giveaway.StateDrawn, Outcome: 1, Terms: g.Terms}), giveaway.ErrState)
	x.want(x.DB.Answer(bg(), erasedID, 1, 2, []byte("sealed"), claims.ByChat, first), claims.ErrErased)
	x.want(x.DB.AddMark(bg(), erasedID, 1, x.saw(erasedID, 1), claims.MarkRow{N: 4, Kind: claims.MarkShipped, SealedWords: []byte("x"), At: first}, nil), claims.ErrErased)
	_, err = x.clerk.SponsorLink(bg(), first, erasedID)
	x.want(err, claims.ErrErased)
	_, err = x.clerk.Look(bg(), first, x.secrets["sponsor link"])
	x.want(err, claims.ErrErased)
	_, err = x.clerk.Look(bg(), first, x.secrets["revoked sponsor link"])
	x.want(err, claims.ErrClosed)
	v, err := x.clerk.Claim(bg(), first, erasedID, x.secrets["claim link"])
	x.want(err, claims.ErrErased)
	if !v.Erased.Equal(first) {
		x.t.Errorf("the claim page says %v", v.Erased)
	}
	_, err = x.clerk.Asked(bg(), first, erasedID, x.secrets["question link"])
	x.want(err, claims.ErrErased)
	_, err = x.clerk.Letter(bg(), first, erasedID, 1)
	x.want(err, claims.ErrErased)
	places, err := x.clerk.Places(bg(), first, erasedID)
	x.must(err)
	if p := places[0]; p.Erased.IsZero() || p.Answer != nil || !p.Shipping.Sent() || p.ShippingWords(g.Terms) != "" {
		x.t.Errorf("place 1 reads %+v", p)
	}
}

// Nothing is deleted of a giveaway that takes entries, is locked, or has a
// prize to give.
func TestEraseRefused(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		_, err := h.Erase(bg(), day, "nothing-here")
		s.want(err, giveaway.ErrNotFound)
		_, err = h.Draft(bg(), at(-100), s.hostTerms(erasedID))
		s.must(err)
		for _, step := range []func() error{
			func() error { return nil },
			func() error { _, err := h.Open(bg(), at(-50), erasedID); return err },
			func() error { s.enter(erasedID, "ann@example.org", at(1)); return nil },
			func() error {
				g, err := s.Giveaway(bg(), erasedID)
				s.must(err)
				_, err = h.Lock(bg(), g.Opening.Closes, erasedID)
				return err
			},
		} {
			s.must(step())
			_, err := h.Erase(bg(), day.AddDate(3, 0, 0), erasedID)
			s.want(err, giveaway.ErrState)
			g, err := s.Giveaway(bg(), erasedID)
			s.must(err)
			s.want(s.DB.Erase(bg(), erasedID, giveaway.Erasure{At: day, State: g.State, Terms: g.Terms}), giveaway.ErrState)
		}
		_, err = h.Draw(bg(), drawnAt, erasedID, nil)
		s.must(err)
		_, err = h.Erase(bg(), drawnAt.Add(time.Hour), erasedID)
		s.want(err, giveaway.ErrNotEnded)
		_, err = h.Confirm(bg(), drawnAt, erasedID, 1)
		s.must(err)
		// An outcome that came between is not passed over.
		s.want(s.DB.Erase(bg(), erasedID, giveaway.Erasure{At: drawnAt, State: giveaway.StateDrawn, Outcome: 0}), giveaway.ErrState)
		_, err = h.Erase(bg(), drawnAt.Add(time.Hour), erasedID)
		s.must(err)
	})
}

// Two servers' ticks find it due at once: both do it, and it is done once, with
// the first full hour within the days of the rules; never before.
func TestEraseIsADuty(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		x := s.prepare()
		due := func(h giveaway.Host, now time.Time) bool {
			duties, err := h.Due(bg(), now)
			s.must(err)
			return slices.Contains(duties, giveaway.Duty{ID: erasedID, Move: giveaway.MoveErase})
		}
		delivered := drawnAt.Add(100*time.Hour + 25*time.Minute)
		x.deliver(delivered)
		days := time.Duration(x.giveaway().Terms.DaysKept()) * 24 * time.Hour
		when := delivered.Add(days).Truncate(time.Hour)
		s.must(x.host.Do(bg(), when.Add(-time.Second), giveaway.Duty{ID: erasedID, Move: giveaway.MoveErase}))
		if due(x.host, when.Add(-time.Second)) || !x.giveaway().Erased.IsZero() {
			t.Fatal("due too early")
		}
		hosts := append(s.hosts(), s.hosts()...)
		var all sync.WaitGroup
		errs := make([]error, len(hosts))
		for _, h := range hosts {
			if !due(h, when) {
				t.Fatal("not due in time")
			}
		}
		for n, h := range hosts {
			all.Go(func() {
				errs[n] = h.Do(bg(), when.Add(time.Duration(n)*time.Second), giveaway.Duty{ID: erasedID, Move: giveaway.MoveErase})
			})
		}
		all.Wait()
		s.must(errors.Join(errs...))
		if found := x.found(s.rows()); len(found) > 0 || x.giveaway().Erased.IsZero() {
			t.Errorf("still there: %v", found)
		}
		lines, err := s.Logged(bg(), erasedID)
		s.must(err)
		if n := strings.Count(fmt.Sprint(lines), "personal data deleted"); n != 1 {
			t.Errorf("the log says %d times that it was deleted", n)
		}
		if due(x.host, when.AddDate(1, 0, 0)) {
			t.Error("due again")
		}
		s.verified(erasedID)
	})
}

// One ticket's data goes when its holder asks: not while it may be drawn, nor
// while its place may get the prize.
func TestEraseTicket(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		x := s.prepare()
		standing, err := x.host.Outcome(bg(), erasedID)
		s.must(err)
		var without draw.Ticket // in the draw, and no place
		for _, p := range x.people[:4] {
			if _, drawn := standing.Ticket(p.Ticket); !drawn {
				without = p.Ticket
			}
		}
		s.must(err)
		erase := func(t draw.Ticket) error { return x.host.EraseTicket(bg(), drawnAt.Add(time.Hour), erasedID, t) }
		s.want(erase(standing.Places[0].Ticket), giveaway.ErrMayWin) // confirmed
		s.want(erase(standing.Places[1].Ticket), giveaway.ErrMayWin) // next in line
		s.want(erase(x.fresh()), giveaway.ErrNoTicket)
		s.must(erase(without))
		s.must(erase(without))
		s.must(erase(x.people[4].Ticket)) // withdrawn
		if n := bytes.Count(bytes.ToLower(s.rows()), []byte("quill.addressplanted@")); n != 6 {
			t.Errorf("the addresses stand %d times, want two times each of three people's", n)
		}
		// The winner gives the prize back, and then asks to be forgotten.
		row, err := s.Claim(bg(), erasedID, 1)
		s.must(err)
		_, err = x.host.Pass(bg(), drawnAt.Add(2*time.Hour), erasedID, giveaway.Passing{Place: 1, Reason: draw.Withdrawn, GivenBack: true})
		s.must(err)
		s.must(erase(standing.Places[0].Ticket))
		if all := s.rows(); bytes.Contains(all, row.SealedAnswer) || bytes.Contains(all, row.Asks[0].SealedReply) || bytes.Contains(all, row.SealedLink) {
			t.Error("what the winner wrote is still there")
		}
		s.want(s.DB.Answer(bg(), erasedID, 1, 2, []byte("sealed"), claims.ByChat, drawnAt), claims.ErrErased)
		_, err = x.clerk.Claim(bg(), drawnAt, erasedID, x.secrets["claim link"])
		s.want(err, claims.ErrErased)
		s.verified(erasedID)
	})
}

func (x *erasing) fresh() draw.Ticket {
	t, err := draw.NewTicket(rand.Reader)
	x.must(err)
	return t
}

// Before the lock a ticket's holder can withdraw it; once it is locked every
// ticket on the list may be drawn. Called off, all can go at once.
func TestEraseBeforeTheDrawAndCalledOff(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		_, err := h.Draft(bg(), at(-100), s.hostTerms(erasedID))
		s.must(err)
		g, err := h.Open(bg(), at(-50), erasedID)
		s.must(err)
		n, _ := s.enter(erasedID, "ann.addressplanted@example.org", at(1))
		gone, _ := s.enter(erasedID, "ben.addressplanted@example.org", at(2))
		s.must(s.Withdraw(bg(), erasedID, at(3), gone.LinkHash))
		s.want(h.EraseTicket(bg(), at(4), erasedID, n.Ticket), giveaway.ErrNotLocked)
		_, err = h.Lock(bg(), g.Opening.Closes, erasedID)
		s.must(err)
		s.want(h.EraseTicket(bg(), event, erasedID, n.Ticket), giveaway.ErrMayWin)
		s.must(h.EraseTicket(bg(), event, erasedID, gone.Ticket))
		tickets, err := h.TicketsOf(bg(), erasedID, "ann.addressplanted@example.org")
		s.must(err)
		if !slices.Equal(tickets, []draw.Ticket{n.Ticket}) {
			t.Errorf("found %v", tickets)
		}
		_, err = h.Cancel(bg(), event, erasedID, "prize-withdrawn", "")
		s.must(err)
		_, err = h.Erase(bg(), event, erasedID)
		s.must(err)
		if bytes.Contains(s.rows(), []byte("addressplanted")) {
			t.Error("an address is still there")
		}
		s.verified(erasedID)
	})
}

// Answers and marks that are written at the moment of the deletion, on another
// server, leave nothing behind: each came before it, and is gone, or is refused.
func TestEraseWhileTheyWrite(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		x := s.prepare()
		other := s.server()
		const word = "sealedplanted"
		written := func(n int) claims.MarkRow {
			return claims.MarkRow{N: n, Kind: claims.MarkInStock, SealedWords: []byte(word), At: drawnAt}
		}
		row, err := s.Claim(bg(), erasedID, 1)
		s.must(err)
		s.must(s.AddMark(bg(), erasedID, 1, row.Saw(), written(len(row.Marks)+1), nil)) // not sent any more: answers are taken
		var all sync.WaitGroup
		refused := make(chan bool, 2)
		for _, write := range []func(r claims.Row) error{
			func(r claims.Row) error {
				return other.Answer(bg(), erasedID, 1, r.Version, []byte(word), claims.ByChat, drawnAt)
			},
			func(r claims.Row) error {
				return other.AddMark(bg(), erasedID, 1, r.Saw(), written(len(r.Marks)+1), nil)
			},
		} {
			all.Go(func() {
				for n := range 20_000 {
					r, err := other.Claim(bg(), erasedID, 1)
					if err == nil {
						err = write(r)
					}
					switch {
					case errors.Is(err, claims.ErrErased):
						refused <- true
						return
					case err != nil && !errors.Is(err, claims.ErrRace): // the other was first
						t.Errorf("write %d: %v", n, err)
						return
					}
				}
				t.Error("never refused")
			})
		}
		for begun := time.Now(); ; time.Sleep(10 * time.Millisecond) { // until both have written something
			n, err := s.Claim(bg(), erasedID, 1)
			s.must(err)
			if n.Version > row.Version && len(n.Marks) > len(row.Marks)+1 {
				break
			}
			if time.Since(begun) > 20*time.Second {
				t.Fatalf("nothing was written before the deletion: version %d, %d marks", n.Version, len(n.Marks))
			}
		}
		_, err = x.host.Erase(bg(), drawnAt.Add(time.Hour), erasedID)
		s.must(err)
		all.Wait()
		if bytes.Contains(s.rows(), []byte(word)) || len(refused) != 2 {
			t.Errorf("what was written meanwhile is still there, or was not refused (%d of 2 were)", len(refused))
		}
	})
}

// What was deleted is soon gone from SQLite's file and its log as well.
func TestErasedIsSweptFromTheFiles(t *testing.T) {
	t.Parallel()
	s := newSuite(t, backends[0].at(t))
	x := s.prepare()
	if len(x.found(s.files())) == 0 {
		t.Fatal("the search finds nothing at all")
	}
	_, err := x.host.Erase(bg(), drawnAt.Add(time.Hour), erasedID)
	s.must(err)
	for start := time.Now(); ; time.Sleep(100 * time.Millisecond) {
		found := x.found(s.files())
		if len(found) == 0 {
			return
		}
		if time.Since(start) > 20*time.Second {
			t.Fatalf("in the files still: %v", found)
		}
	}
}
