package main

import (
	"strings"
	"testing"
	"time"
)

// With a letter out the day-book, the result page and the desk's first page say
// whose turn it is, until when, and what comes next; with several to win none is
// forgotten, and the closed page counts.
func TestWhoseTurnIsSaid(t *testing.T) {
	s := drawnDesk(t, `"winners": 1,`, `"winners": 3,`, `"alternates": 3`, `"alternates": 1`)
	const day = "/desk/g/boots"
	everywhere := func(words ...string) {
		t.Helper()
		for _, page := range []string{day, day + "/result", "/desk"} {
			s.shows(page, words...)
		}
	}
	everywhere("Winner 1: the letter is ready.", "Write to the winner")
	for _, place := range []string{"1", "2", "3"} {
		s.goes(day+"/place/"+place, day+"/place/"+place+"/copied")
		s.later()
	}
	// The first letter went out at 6:40 pm: seven days of 24 hours, up to the full hour.
	everywhere("Winner 1: the letter is out. There is time to answer until Saturday 29 August 2026, 7:00 pm New York time", "Go to this place")
	for _, page := range []string{day, day + "/result"} {
		s.shows(page, "When an answer comes, you read it and confirm. If none comes by then, you skip this place, and the next in line has its turn.", "Winner 2: the letter is out.", "Winner 3: the letter is out.")
	}
	if got := filled(s.get(day).body); len(got) != 1 || got[0] != "Go to this place" {
		t.Errorf("the day-book's filled button: %q", got)
	}
	path := day + "/place/2"
	s.goes(path, path+"/answer", "by", "chat", "decline", "yes")
	everywhere("Winner 2: the winner would rather not have the prize.", "Decide about this place")
	s.goes(path, path+"/skip", "reason", "declined")
	everywhere("Next in line, number 1: the letter is ready.")
	s.sponsor()
	s.confirmed(1)
	s.shows("/g/boots", "One of three prizes has found its winner.", "its turn now")
	s.confirmed(4)
	s.shows("/g/boots", "Two of three prizes have found their winner.")
	s.shows(day, "Winner 3: the letter is out.", "and the prize is not given, since nobody is next in line any more.")
	s.confirmed(3)
	s.shows("/g/boots", "All three prizes have found their winner.")
	s.shows("/g/boots/sheet", "All three prizes have found their winner.")
	s.shows(day, "The draw is made.", "Winner 1: The prize is confirmed; Larkspur Trail Supply has not written anything about the parcel yet.")
	onlyPlainWords(t, s)
}

// Once nobody is left every page says that the prize was not given, and none
// speaks of a winner to come.
func TestPrizeNotGiven(t *testing.T) {
	s := drawnDesk(t, `"alternates": 3`, `"alternates": 1`)
	const day = "/desk/g/boots"
	sponsor := s.sponsor()
	s.shows(sponsor, "There is nobody to send it to yet.")
	for _, place := range []string{"1", "2"} {
		path := day + "/place/" + place
		s.goes(path, path+"/copied")
		s.clock.set(s.clock.now().Add(8 * 24 * time.Hour))
		s.goes(path, path+"/skip", "reason", "no-reply")
	}
	holds(t, s, 2, 0)
	for _, page := range []string{day, day + "/result", "/g/boots", "/g/boots/sheet", sponsor} {
		if body := s.get(page).body; !strings.Contains(body, ">The prize was not given.") {
			t.Errorf("%s: %s", page, textOf(body))
		}
		s.without(page, "The result stands", "ticket won", "nobody to send it to yet")
	}
	s.shows(day, "Every place that was drawn was skipped, and nobody is next in line any more.")
	// Sent on 22 August at 6:40 pm and skipped eight days later; the second eight days after that.
	s.shows("/g/boots", "skipped: no answer came in time, on Sunday 30 August 2026, 6:40 pm New York time", "skipped: no answer came in time, on Monday 7 September 2026, 6:40 pm New York time")
	for _, p := range check(t, s, "boots").Places {
		if p.N == 1 {
			s.shows("/g/boots/t/"+p.Ticket.String(), "Skipped: no answer came in time, on Sunday 30 August 2026, 6:40 pm New York time.")
		}
	}
	onlyPlainWords(t, s)
}
