package store

import (
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// Only a name that was seen as it stands is ever said: one that was changed
// since has to be seen anew, one that was withdrawn is gone, and so are the
// host's words for it. The rules are the event's own, no outside source.
func TestNames(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		var rows []entries.New
		for i := range 4 {
			n := person([]string{"a", "b", "c", "d"}[i] + "@example.org")
			n.Entry.Name = []string{"Robin", "Kim", "Sasha", ""}[i]
			_, err := s.AddEntry(bg(), "trail-boots", at(5), n)
			s.must(err)
			rows = append(rows, n)
		}
		var tickets []draw.Ticket
		for _, n := range rows {
			tickets = append(tickets, n.Ticket)
		}
		count := func(all, unseen int64) {
			t.Helper()
			if got, err := s.CountNames(bg(), "trail-boots"); err != nil || got != (show.NameCounts{All: all, Unseen: unseen}) {
				t.Errorf("counted %+v, %v, want %d and %d", got, err, all, unseen)
			}
		}
		count(3, 3)
		first, err := s.Names(bg(), "trail-boots", true, "", 2)
		if err != nil || len(first) != 2 {
			t.Fatalf("%+v, %v", first, err)
		}
		rest, err := s.Names(bg(), "trail-boots", true, first[1].Ticket.String(), 2)
		if err != nil || len(rest) != 1 || rest[0].Ticket.String() < first[1].Ticket.String() {
			t.Fatalf("%+v, %v", rest, err)
		}
		all := append(first, rest...)
		all[0].Say, all[1].Say, all[1].Words, all[2].Say = show.SayName, show.SayLike, "Sunny", show.SayTicket
		stale := all[2]
		stale.Name = "Somebody"
		if kept, err := s.See(bg(), "trail-boots", []show.Saying{all[0], all[1], stale, {Ticket: rows[3].Ticket, Say: show.SayName}}, at(6)); err != nil || kept != 2 {
			t.Errorf("kept %d, %v, want 2", kept, err)
		}
		count(3, 1)
		said, err := s.Said(bg(), "trail-boots", tickets)
		if err != nil || len(said) != 2 || said[all[0].Ticket] != all[0].Name || said[all[1].Ticket] != "Sunny" {
			t.Errorf("said %v, %v", said, err)
		}
		again, err := s.Names(bg(), "trail-boots", false, "", 9)
		if err != nil || len(again) != 3 || again[0] != all[0] || again[1] != all[1] {
			t.Errorf("all: %+v, %v", again, err)
		}
		s.must(s.ChangeName(bg(), "trail-boots", all[0].Ticket, all[0].Name)) // the same
		count(3, 1)
		s.must(s.ChangeName(bg(), "trail-boots", all[0].Ticket, "Another"))
		s.must(s.ChangeName(bg(), "trail-boots", all[1].Ticket, ""))
		count(2, 2)
		if said, err := s.Said(bg(), "trail-boots", tickets); err != nil || len(said) != 0 {
			t.Errorf("after the change: said %v, %v", said, err)
		}
		if kept, err := s.See(bg(), "trail-boots", all[:1], at(6)); err != nil || kept != 0 {
			t.Errorf("the old name was seen: %d, %v", kept, err)
		}
		all[2].Say, all[2].Words = show.SayLike, "Moon"
		_, err = s.See(bg(), "trail-boots", all[2:], at(6))
		s.must(err)
		for _, n := range rows {
			s.must(s.Withdraw(bg(), "trail-boots", at(6), n.LinkHash))
			s.want(s.ChangeName(bg(), "trail-boots", n.Ticket, "Back"), entries.ErrWithdrawn)
		}
		count(0, 0)
		var left int
		s.must(s.write.QueryRow(`SELECT COUNT(*) FROM show_names`).Scan(&left))
		if left != 0 {
			t.Errorf("%d decisions are left of tickets that were withdrawn", left)
		}
		s.want(s.ChangeName(bg(), "trail-boots", person("nobody@example.org").Ticket, "x"), entries.ErrNoSuchLink)
	})
}

// A name that is on the stage goes from it when it is taken back, or when the
// personal data of its ticket is deleted: the pages' word changes, also within
// one second, and no press is lost, that of whoever saw the old name neither. The
// rules are the event's own, no outside source.
func TestNameTakenBackOnStage(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		r := s.stage(1)
		r.lock()
		now := showtime.Add(time.Minute)
		st := r.upTo(show.Line, now)
		all, err := s.Names(bg(), "trail-boots", false, "", 99)
		s.must(err)
		say := func(what string) {
			for i := range all {
				all[i].Say = what
			}
			_, err := s.See(bg(), "trail-boots", all, now)
			s.must(err)
		}
		say(show.SayName)
		if again, err := s.Show(bg(), "trail-boots"); err != nil || again.Version != st.Version {
			t.Errorf("before the first place the show went to version %d: %v", again.Version, err)
		}
		st = r.press(now)
		pulse := func() string { p, err := s.Pulse(bg(), "trail-boots"); s.must(err); return p }
		first := draw.Check(bg(), s.Publication("trail-boots"), draw.Options{}).Places[0].Ticket
		for _, one := range []struct {
			name string
			do   func()
		}{
			{"taken back", func() { say(show.SayTicket) }},
			{"said", func() { s.must(s.say(first, show.SayName, "", now)) }},
			{"deleted", func() {
				s.must(s.EraseTicket(bg(), "trail-boots", first, giveaway.StateDrawn, true, now))
			}},
		} {
			before := pulse()
			if one.do(); pulse() == before {
				t.Errorf("%s: the pages' word is the same", one.name)
			}
		}
		if next, err := r.shows[1].Forward(bg(), now, "trail-boots", st.Version, nil); err != nil || next.Step != show.Next {
			t.Errorf("a press that saw the old name: %v, %v", next.Step, err)
		}
		if said, err := s.Said(bg(), "trail-boots", []draw.Ticket{first}); err != nil || len(said) != 0 {
			t.Errorf("said %v, %v", said, err)
		}
	})
}

// Rehearsals are deleted, and nothing whose name alone is like theirs: the
// store would keep such a giveaway, the host refuses to post it.
func TestDropRehearsals(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		for id, sample := range map[string]bool{"rehearsal-one": true, "rehearsal-real": false, "trail-boots": true} {
			d := giveaway.Giveaway{ID: id, State: giveaway.StateDraft, Terms: s.terms(id), Created: at(0), Sample: sample}
			s.must(s.AddDraft(bg(), d))
		}
		if id, err := s.Rehearsal(bg()); err != nil || id != "rehearsal-one" {
			t.Errorf("the rehearsal is %q, %v", id, err)
		}
		s.must(s.DropRehearsals(bg()))
		_, err := s.Giveaway(bg(), "rehearsal-one")
		s.want(err, giveaway.ErrNotFound)
		for _, id := range []string{"rehearsal-real", "trail-boots"} {
			if _, err := s.Giveaway(bg(), id); err != nil {
				t.Errorf("%s: %v", id, err)
			}
		}
		if id, err := s.Rehearsal(bg()); err != nil || id != "" {
			t.Errorf("then the rehearsal is %q, %v", id, err)
		}
	})
}
