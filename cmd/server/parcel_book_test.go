package main

import (
	"strings"
	"testing"
	"time"
)

// What happened stays in the day-book: when an answer is corrected, when the
// prize comes back, and when personal data is deleted. The sponsor's question,
// its answer and "in stock" stand there too, and nothing of what was written.
func TestDayBookKeepsWhatHappened(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"alternates": 3`, `"alternates": 1`)
		drawBoots(t, s)
		s.clock.set(event.Add(time.Hour))
		const day = "/desk/g/boots"
		path, rows := s.confirmed(1), []string{"Winner: an answer came.", "Winner: gets the prize."}
		s.shows(day, rows...)
		sponsor := s.sponsor()
		happens := func(words string, do func()) {
			t.Helper()
			s.later()
			s.without(day, words)
			do()
			rows = append(rows, words)
			s.shows(day, rows...)
		}
		mark := func(pairs ...string) func() { return func() { s.goes(sponsor, sponsor+"/1", pairs...) } }
		happens("Winner: you wrote down another answer, which took the place of the one before.", func() { s.goes(path, path+"/answer", sized("11")...) })
		happens("Winner: the sponsor can’t get the size.", mark("mark", "cant-have", "offer", "mens|12|D"))
		_, page, _ := strings.Cut(s.get(path).body, `id="ask-1"`)
		ask := claimLinks.FindString(page)
		happens("Winner: answered the sponsor’s question.", func() { s.goes(ask, ask, "pick", "mens|12|D", "sure", "yes") })
		happens("Winner: the sponsor has it in stock.", mark("mark", "in-stock"))
		happens("Winner: the sponsor has a question about the address.", mark("mark", "ask-address", "words", "PLANTED-NUMBER?"))
		s.later()
		s.goes(path, path+"/skip", "reason", "withdrawn", "given_back", "yes")
		rows = append(rows, "Given back", "Winner: the entry was withdrawn.")
		s.shows(day, rows...)
		sponsorTwo := day + "/place/2"
		s.goes(sponsorTwo, sponsorTwo+"/answer", "by", "chat", "decline", "yes")
		s.shows(day, "Next in line, number 1: would rather not have the prize.")
		s.goes(sponsorTwo, sponsorTwo+"/skip", "reason", "declined")
		s.goes(day+"/erase", day+"/erase", "sure", "yes")
		text := s.shows(day, append(rows, "Next in line, number 1: an answer came.", "Next in line, number 1: the prize was declined.", "Data deleted")...)
		nothingTyped(t, "the day-book", text)
		holds(t, s, 2, 0)
	})
}

// A letter whose link was replaced has to be sent again: desk and private page
// say so, and the day-book has both times at which it was sent.
func TestLetterSentAgain(t *testing.T) {
	s, private := drawnWith(t)
	const day, path = "/desk/g/boots", "/desk/g/boots/place/1"
	s.goes(path, path+"/copied")
	s.later()
	s.goes(path, path+"/link")
	s.leads(path, "The letter to the winner is ready.", "I have sent it")
	s.shows(path, "It has to be sent again: you made a new link")
	s.shows(day, "Winner: the letter has to be sent again.", "Write to the winner")
	s.shows(private[1], "The link in the letter of Saturday 22 August 2026, 6:40 pm New York time opens nothing any more.", "once more, with a new one.")
	s.later()
	s.goes(path, path+"/copied")
	text := s.shows(day, "Winner: the letter is out.", "The letter has to be sent again, and the time to answer runs anew from then.")
	if got := strings.Count(text, "Winner: you said that the letter is sent."); got != 2 {
		t.Errorf("the day-book says %d times that the letter was sent, want 2: %s", got, text)
	}
	onlyPlainWords(t, s)
}
