package store

import (
	"reflect"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// link is the hash of a made-up link.
func link(secret string) [32]byte { return draw.Hash([]byte(secret)) }

// claim is a new row for the ticket of an entry that it makes.
func (s *suite) claim(id string, place int, key string) claims.Row {
	s.t.Helper()
	n, _ := s.enter(id, key, at(1))
	return claims.Row{
		Draw: id, Place: place, Ticket: n.Ticket, LinkHash: link("claim of " + key),
		SealedLink: []byte("sealed link of " + key), Made: at(200),
	}
}

// claimed writes a new row.
func (s *suite) claimed(id string, place int, key string) claims.Row {
	s.t.Helper()
	r := s.claim(id, place, key)
	s.must(s.AddClaim(bg(), r))
	return r
}

func mark(n int, kind string) claims.MarkRow {
	return claims.MarkRow{N: n, Kind: kind, SealedWords: []byte("sealed words of " + kind), At: at(300 + n)}
}

func ask(n int, kind, secret string) *claims.AskRow {
	return &claims.AskRow{N: n, Kind: kind, LinkHash: link(secret), SealedLink: []byte("sealed " + secret),
		SealedAsk: []byte("sealed question"), Asked: at(300 + n)}
}

// same compares a stored row with the one that a test keeps.
func (s *suite) same(want claims.Row) {
	s.t.Helper()
	got, err := s.Claim(bg(), want.Draw, want.Place)
	s.must(err)
	if !reflect.DeepEqual(got, want) {
		s.t.Fatalf("got  %+v\nwant %+v", got, want)
	}
}

// A claim goes its whole way; after each step a server that opens the database
// anew, while the old one was never closed, finds what was written.
func TestClaimComesBack(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		r := s.claimed("trail-boots", 2, "ann@example.org")
		step := func(err error) {
			t.Helper()
			s.must(err)
			s.DB = s.server()
			s.same(r)
		}
		step(nil)
		half := at(210).Add(700 * time.Millisecond).In(time.FixedZone("", 3600))
		r.Noticed, r.Until = at(210), at(9000)
		step(s.Notice(bg(), "trail-boots", 2, half, at(9000)))
		from := r.LinkHash
		r.LinkHash, r.SealedLink, r.Made, r.Renewed = link("another"), []byte("sealed another"), at(212), at(212)
		step(s.RenewLink(bg(), "trail-boots", 2, from, r.LinkHash, r.SealedLink, giveaway.LogLine{At: r.Made, What: "A new link."}))
		r.Noticed, r.Until, r.Renewed = at(215), at(9500), time.Time{}
		step(s.Notice(bg(), "trail-boots", 2, at(215), at(9500)))
		s.want(s.Notice(bg(), "trail-boots", 2, at(216), at(9600)), claims.ErrRace)
		r.SealedAnswer, r.Answered, r.By, r.Version = []byte("sealed one"), at(220), claims.ByPage, 1
		step(s.Answer(bg(), "trail-boots", 2, 0, r.SealedAnswer, claims.ByPage, at(220)))
		r.SealedAnswer, r.Answered, r.By, r.Version = []byte("sealed two"), at(230), claims.ByPhone, 2
		step(s.Answer(bg(), "trail-boots", 2, 1, r.SealedAnswer, claims.ByPhone, at(230)))
		r.Marks = append(r.Marks, mark(1, claims.MarkInStock))
		step(s.AddMark(bg(), "trail-boots", 2, s.saw("trail-boots", 2), r.Marks[0], nil))
		r.Marks, r.Asks = append(r.Marks, mark(2, claims.MarkCantHave)), append(r.Asks, *ask(1, claims.AskSize, "which size"))
		step(s.AddMark(bg(), "trail-boots", 2, s.saw("trail-boots", 2), r.Marks[1], &r.Asks[0]))
		r.Marks, r.Asks = append(r.Marks, mark(3, claims.MarkAskAddress)), append(r.Asks, *ask(2, claims.AskAddress, "which address"))
		step(s.AddMark(bg(), "trail-boots", 2, s.saw("trail-boots", 2), r.Marks[2], &r.Asks[1]))
		r.Asks[1].Noticed = at(315)
		step(s.NoticeAsk(bg(), "trail-boots", 2, 2, at(315)))
		s.want(s.NoticeAsk(bg(), "trail-boots", 2, 2, at(316)), claims.ErrRace) // the first time stands
		s.want(s.NoticeAsk(bg(), "trail-boots", 2, 3, at(316)), claims.ErrNoClaim)
		r.Asks[1].SealedReply, r.Asks[1].Replied = []byte("sealed reply"), at(320)
		step(s.Reply(bg(), "trail-boots", 2, s.saw("trail-boots", 2), 2, r.Asks[1].SealedReply, at(320)))
		for n, kind := range []string{claims.MarkShipped, claims.MarkDelivered} {
			r.Marks = append(r.Marks, mark(4+n, kind))
			step(s.AddMark(bg(), "trail-boots", 2, s.saw("trail-boots", 2), r.Marks[3+n], nil))
		}
	})
}

func TestFindingClaims(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		none, err := s.Claims(bg(), "trail-boots")
		s.must(err)
		if len(none) != 0 {
			t.Errorf("an unknown giveaway has %d claims", len(none))
		}
		s.open("trail-boots")
		s.open("other")
		third, first := s.claimed("trail-boots", 3, "ann@example.org"), s.claimed("trail-boots", 1, "bea@example.org")
		elsewhere := s.claimed("other", 1, "cal@example.org")
		for i, r := range []*claims.Row{&third, &first} {
			r.Marks, r.Asks = []claims.MarkRow{mark(1, claims.MarkCantHave)}, []claims.AskRow{*ask(1, claims.AskSize, "ask "+string(rune('0'+i)))}
			s.must(s.AddMark(bg(), r.Draw, r.Place, s.saw(r.Draw, r.Place), r.Marks[0], &r.Asks[0]))
		}
		all, err := s.Claims(bg(), "trail-boots")
		s.must(err)
		if !reflect.DeepEqual(all, []claims.Row{first, third}) {
			t.Errorf("claims %+v, want places 1 and 3", all)
		}
		got, err := s.ClaimByLink(bg(), "trail-boots", third.LinkHash)
		s.must(err)
		if !reflect.DeepEqual(got, third) {
			t.Errorf("by link %+v, want place 3", got)
		}
		got, n, err := s.ClaimByAsk(bg(), "trail-boots", first.Asks[0].LinkHash)
		s.must(err)
		if !reflect.DeepEqual(got, first) || n != 1 {
			t.Errorf("by question %+v, %d, want place 1, question 1", got, n)
		}

		// A link opens one purpose, in its own giveaway.
		for id, hash := range map[string][32]byte{"trail-boots": elsewhere.LinkHash, "other": third.LinkHash, "no-such": third.LinkHash} {
			_, err = s.ClaimByLink(bg(), id, hash)
			s.want(err, claims.ErrNoSuchLink)
		}
		_, err = s.ClaimByLink(bg(), "trail-boots", first.Asks[0].LinkHash)
		s.want(err, claims.ErrNoSuchLink)
		for id, hash := range map[string][32]byte{"trail-boots": third.LinkHash, "other": first.Asks[0].LinkHash} {
			_, _, err = s.ClaimByAsk(bg(), id, hash)
			s.want(err, claims.ErrNoSuchLink)
		}
		for id, place := range map[string]int{"trail-boots": 2, "no-such": 1} {
			_, err = s.Claim(bg(), id, place)
			s.want(err, claims.ErrNoClaim)
		}
	})
}

// Each step refuses what its contract says, and then nothing has changed.
func TestClaimSteps(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		r, other := s.claimed("trail-boots", 1, "ann@example.org"), s.claimed("trail-boots", 2, "bea@example.org")
		again := s.claim("trail-boots", 1, "cal@example.org") // the place has a claim
		s.want(s.AddClaim(bg(), again), claims.ErrRace)
		again.Place, again.LinkHash = 3, r.LinkHash
		s.want(s.AddClaim(bg(), again), claims.ErrLinkTaken)
		again.LinkHash, again.Ticket = link("new"), r.Ticket // the ticket has a place
		s.want(s.AddClaim(bg(), again), claims.ErrRace)
		again.Ticket[0] ^= 1 // no ticket of this giveaway
		if err := s.AddClaim(bg(), again); err == nil {
			t.Error("a claim of no ticket was written")
		}

		renew := func(place int, from, to [32]byte) error {
			return s.RenewLink(bg(), "trail-boots", place, from, to, []byte("sealed"), giveaway.LogLine{At: at(250), What: "A new link."})
		}
		s.want(renew(3, r.LinkHash, link("new")), claims.ErrNoClaim)
		s.want(renew(1, other.LinkHash, link("new")), claims.ErrRace)
		s.want(renew(1, r.LinkHash, other.LinkHash), claims.ErrLinkTaken)
		s.same(r)

		s.want(s.Notice(bg(), "trail-boots", 3, at(1), at(2)), claims.ErrNoClaim)
		s.must(s.Notice(bg(), "trail-boots", 1, at(210), at(900)))
		s.want(s.Notice(bg(), "trail-boots", 1, at(220), at(910)), claims.ErrRace)
		r.Noticed, r.Until = at(210), at(900)

		answer := func(place, from int) error {
			return s.Answer(bg(), "trail-boots", place, from, []byte("sealed"), claims.ByPage, at(230))
		}
		s.want(answer(3, 0), claims.ErrNoClaim)
		s.want(answer(1, 1), claims.ErrRace)
		s.must(answer(1, 0))
		s.want(answer(1, 0), claims.ErrRace)
		r.SealedAnswer, r.By, r.Answered, r.Version = []byte("sealed"), claims.ByPage, at(230), 1

		s.markSteps(&r)
		s.same(r)
		s.same(other)
		if all, err := s.Claims(bg(), "trail-boots"); err != nil || len(all) != 2 {
			t.Errorf("%d claims, %v, want two", len(all), err)
		}
	})
}

// saw is what a place shows now; the zero value where there is no claim.
func (s *suite) saw(id string, place int) claims.Saw {
	r, _ := s.Claim(bg(), id, place)
	return r.Saw()
}

func (s *suite) markSteps(r *claims.Row) {
	s.t.Helper()
	add := func(place, n int, a *claims.AskRow) error {
		return s.AddMark(bg(), "trail-boots", place, s.saw("trail-boots", place), mark(n, claims.MarkAskAddress), a)
	}
	s.want(add(3, 1, nil), claims.ErrNoClaim)
	s.want(add(1, 0, nil), claims.ErrRace)
	s.want(add(1, 2, nil), claims.ErrRace)
	s.want(add(1, 1, ask(2, claims.AskAddress, "gap")), claims.ErrRace)
	s.must(add(1, 1, ask(1, claims.AskAddress, "first")))
	s.want(add(1, 1, nil), claims.ErrRace)
	s.want(add(1, 2, ask(1, claims.AskAddress, "second")), claims.ErrRace)
	s.want(add(1, 2, ask(2, claims.AskAddress, "first")), claims.ErrLinkTaken)
	s.must(add(1, 2, nil)) // what was refused left no mark
	r.Marks = []claims.MarkRow{mark(1, claims.MarkAskAddress), mark(2, claims.MarkAskAddress)}
	r.Asks = []claims.AskRow{*ask(1, claims.AskAddress, "first")}

	reply := func(place, n int, text string) error {
		return s.Reply(bg(), "trail-boots", place, s.saw("trail-boots", place), n, []byte(text), at(320))
	}
	s.want(reply(1, 2, "one"), claims.ErrNoClaim)
	s.want(reply(2, 1, "one"), claims.ErrNoClaim)
	s.must(reply(1, 1, "one"))
	s.want(reply(1, 1, "two"), claims.ErrRace)
	r.Asks[0].SealedReply, r.Asks[0].Replied = []byte("one"), at(320)
}

// A mark counts for what it was made upon: neither an answer nor a reply nor a
// mark came since. Once the parcel was sent no answer is written any more.
func TestMarkOfWhatWasSeen(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.claimed("trail-boots", 1, "ann@example.org")
		answer := func(from int) error {
			return s.Answer(bg(), "trail-boots", 1, from, []byte("sealed"), claims.ByChat, at(230))
		}
		add := func(saw claims.Saw, kind string, a *claims.AskRow) error {
			return s.AddMark(bg(), "trail-boots", 1, saw, mark(saw.Marks+1, kind), a)
		}
		s.must(answer(0))
		old := s.saw("trail-boots", 1)
		s.must(answer(1))
		s.want(add(old, claims.MarkShipped, nil), claims.ErrRace)
		s.must(add(s.saw("trail-boots", 1), claims.MarkAskAddress, ask(1, claims.AskAddress, "one")))
		asked := s.saw("trail-boots", 1)
		s.must(answer(2))
		s.want(s.Reply(bg(), "trail-boots", 1, asked, 1, []byte("reply"), at(320)), claims.ErrRace)
		asked = s.saw("trail-boots", 1)
		s.must(s.Reply(bg(), "trail-boots", 1, asked, 1, []byte("reply"), at(320)))
		s.want(add(asked, claims.MarkShipped, nil), claims.ErrRace)
		now := s.saw("trail-boots", 1)
		if now != (claims.Saw{Answers: 3, Replies: 1, Marks: 1}) {
			t.Errorf("saw %v, want 3.1.1", now)
		}
		s.must(add(now, claims.MarkShipped, nil))
		s.want(answer(3), claims.ErrRace)
		s.must(add(s.saw("trail-boots", 1), claims.MarkDelivered, nil))
		s.want(answer(3), claims.ErrRace)
	})
}

// A renewed link: the old one opens nothing from then on.
func TestRenewedLink(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		r := s.claimed("trail-boots", 1, "ann@example.org")
		before, err := s.Logged(bg(), "trail-boots")
		s.must(err)
		line := giveaway.LogLine{At: at(250), What: "A new link."}
		s.want(s.RenewLink(bg(), "trail-boots", 1, link("no"), link("new"), []byte("sealed new"), line), claims.ErrRace)
		s.must(s.RenewLink(bg(), "trail-boots", 1, r.LinkHash, link("new"), []byte("sealed new"), line))
		log, err := s.Logged(bg(), "trail-boots")
		s.must(err)
		if len(log) != len(before)+1 || log[0] != line {
			t.Errorf("log %+v, want one more line than %d", log, len(before))
		}
		_, err = s.ClaimByLink(bg(), "trail-boots", r.LinkHash)
		s.want(err, claims.ErrNoSuchLink)
		got, err := s.ClaimByLink(bg(), "trail-boots", link("new"))
		s.must(err)
		if got.Ticket != r.Ticket || string(got.SealedLink) != "sealed new" || !got.Made.Equal(at(250)) || !got.Renewed.IsZero() {
			t.Errorf("by the new link %+v", got)
		}
		s.must(s.Answer(bg(), "trail-boots", 1, 0, []byte("sealed"), claims.ByPage, at(260)))
		s.want(s.RenewLink(bg(), "trail-boots", 1, link("new"), link("newer"), []byte("sealed newer"), line), claims.ErrRace)
	})
}

func TestSponsorLinks(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.open("other")
		row := func(id, secret string, made int) claims.SponsorRow {
			return claims.SponsorRow{Draw: id, LinkHash: link(secret), SealedLink: []byte("sealed " + secret), Made: at(made)}
		}
		first, second, elsewhere := row("trail-boots", "first", 1), row("trail-boots", "second", 2), row("other", "elsewhere", 3)
		s.must(s.RevokeSponsorLink(bg(), "trail-boots", at(0))) // none there
		s.must(s.AddSponsorLink(bg(), first))
		s.want(s.AddSponsorLink(bg(), second), claims.ErrRace)
		s.want(s.AddSponsorLink(bg(), first), claims.ErrRace)
		s.must(s.AddSponsorLink(bg(), elsewhere))
		got, err := s.SponsorByLink(bg(), first.LinkHash)
		s.must(err)
		if !reflect.DeepEqual(got, first) {
			t.Errorf("got %+v, want %+v", got, first)
		}

		s.must(s.RevokeSponsorLink(bg(), "trail-boots", at(9)))
		s.must(s.RevokeSponsorLink(bg(), "trail-boots", at(10))) // the first time counts
		_, err = s.SponsorByLink(bg(), first.LinkHash)
		s.want(err, claims.ErrClosed)
		_, err = s.SponsorByLink(bg(), link("never one"))
		s.want(err, claims.ErrNoSuchLink)
		s.want(s.AddSponsorLink(bg(), first), claims.ErrLinkTaken)
		taken := second
		taken.LinkHash = elsewhere.LinkHash
		s.want(s.AddSponsorLink(bg(), taken), claims.ErrLinkTaken)
		s.must(s.AddSponsorLink(bg(), second))
		first.Revoked = at(9)
		all, err := s.SponsorLinks(bg(), "trail-boots")
		s.must(err)
		if !reflect.DeepEqual(all, []claims.SponsorRow{first, second}) {
			t.Errorf("links %+v, want the revoked one and the new one", all)
		}
		if _, err = s.SponsorByLink(bg(), elsewhere.LinkHash); err != nil {
			t.Errorf("another giveaway's link was revoked as well: %v", err)
		}
	})
}

func TestVisits(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.open("other")
		for _, seconds := range []int{7, 5, 7} {
			s.must(s.AddVisit(bg(), "trail-boots", at(seconds)))
		}
		s.must(s.AddVisit(bg(), "other", at(6)))
		got, err := s.Visits(bg(), "trail-boots")
		s.must(err)
		if want := []time.Time{at(5), at(7), at(7)}; !reflect.DeepEqual(got, want) {
			t.Errorf("visits %v, want %v", got, want)
		}
	})
}

func TestEntryByTicket(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		s.open("other")
		n, stamp := s.enter("trail-boots", "ann@example.org", at(5))
		s.enter("trail-boots", "bea@example.org", at(6))
		got, err := s.EntryByTicket(bg(), "trail-boots", n.Ticket)
		s.must(err)
		if want := (entries.Stored{New: n, Stamp: stamp}); !reflect.DeepEqual(got, want) {
			t.Errorf("got  %+v\nwant %+v", got, want)
		}
		_, err = s.EntryByTicket(bg(), "other", n.Ticket)
		s.want(err, entries.ErrNoSuchLink)
	})
}
