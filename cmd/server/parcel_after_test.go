package main

import (
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// privates sorts the private pages by the places of the draw; those without a
// place are left out.
func (s *service) privates(private []string) map[int]string {
	s.t.Helper()
	by := map[int]string{}
	r := check(s.t.(*testing.T), s, "boots")
	for _, path := range private {
		page := s.get(path).body
		for _, p := range r.Places {
			if strings.Contains(page, `data-ticket="`+p.Ticket.String()+`"`) {
				by[int(p.N)] = path
			}
		}
	}
	if len(by) != len(r.Places) {
		s.t.Fatalf("%d private pages for %d places", len(by), len(r.Places))
	}
	return by
}

// drawnWith is drawnDesk with everybody's private page by place.
func drawnWith(t *testing.T, change ...string) (s *service, private map[int]string) {
	t.Helper()
	s = start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", append([]string{`"min_age"`, `"answer_days": 7, "min_age"`}, change...)...)
	all := drawBoots(t, s)
	s.clock.set(event.Add(time.Hour))
	return s, s.privates(all)
}

// without expects that a page does not say something.
func (s *service) without(path string, words ...string) {
	s.t.Helper()
	text := textOf(s.get(path).body)
	for _, w := range words {
		if strings.Contains(text, w) {
			s.t.Errorf("GET %s says %q: %s", path, w, text)
		}
	}
}

// A place is skipped because its size can't be had, as the rules have it ("If
// nothing can be sent, the prize goes to the ticket that is next in line"). What
// is published is the protocol's "ineligible"; whoever can know more reads more,
// and nobody reads that the winner was not allowed to win.
func TestSkippedForTheSize(t *testing.T) {
	s, private := drawnWith(t)
	const day, gone = "/desk/g/boots", "the sponsor can’t supply the size, as the rules have it"
	claim := claimLinks.FindString(s.get("/desk/g/boots/place/1").body)
	path := s.confirmed(1)
	s.shows(path, "the rules don’t allow it")
	s.without(path, "The size can’t be had")
	sponsor := s.sponsor()
	s.later()
	s.goes(sponsor, sponsor+"/1", "mark", "cant-have", "offer", "mens|11|D")
	s.without(path, "The size can’t be had")
	s.goes(path, path+"/ask/1/copied")
	page := s.get(path).body
	if a := s.press(claimLinks.FindString(page[strings.Index(page, `id="ask-1"`):]), "pick", "none", "sure", "yes"); a.status != 303 {
		t.Fatalf("declined: status %d", a.status)
	}
	if page := s.get(path).body; !strings.Contains(page, `value="ineligible" checked> The size can’t be had</label>`) || strings.Contains(page, "don’t allow it") {
		t.Errorf("the reasons: %s", textOf(page))
	}
	s.later()
	s.goes(path, path+"/skip", "reason", "ineligible", "given_back", "yes")
	holds(t, s, 1, 0)
	if o := check(t, s, "boots").Outcome; o.Passed[0].Reason != draw.Ineligible {
		t.Errorf("published: %v", o.Passed)
	}
	s.shows(path, "The reason: "+gone+". Everybody who checks the draw sees “the rules have it so”.")
	s.shows(day, "Winner: "+gone+".")
	s.shows(day+"/result", "skipped: "+gone)
	s.shows(private[1], "The reason: "+gone+".")
	if a := s.get(claim); a.status != 410 || !strings.Contains(textOf(a.body), "The reason: "+gone+".") {
		t.Errorf("the winner's page: status %d: %s", a.status, textOf(a.body))
	}
	for _, public := range []string{"/g/boots", "/g/boots/fair/", "/g/boots/sheet"} {
		s.shows(public, "skipped: the rules have it so")
	}
	s.shows(path, "Go to the next in line")
	onlyPlainWords(t, s)
}

// The private page says at every step where the prize stands, and leads to no
// page of the winner's: links come from the creator.
func TestPrivatePageSaysWhereItStands(t *testing.T) {
	s, private := drawnWith(t)
	mine, path := private[1], "/desk/g/boots/place/1"
	s.shows(mine, "The letter to you is not sent yet. Slow Miles writes to walker", "Answer within 7 days of that; after that the prize goes to the next in line.")
	s.goes(path, path+"/copied")
	claim := claimLinks.FindString(s.get(path).body)
	// Sent at 6:40 pm; seven days of 24 hours, up to the full hour.
	s.shows(mine, "Slow Miles wrote to walker", "on Saturday 22 August 2026, 6:40 pm New York time. Answer until Saturday 29 August 2026, 7:00 pm New York time")
	s.without(mine, "not sent yet")
	s.later()
	if a := s.press(claim, append([]string{"sure", "yes"}, claimFields...)...); a.status != 303 {
		t.Fatalf("the claim: status %d: %s", a.status, textOf(a.body))
	}
	s.shows(mine, "Your answer is here, since Saturday 22 August 2026, 7:40 pm New York time. Slow Miles looks at it next")
	s.without(mine, "Answer within", "Answer until")
	s.goes(path, path+"/confirm")
	s.shows(mine, "The prize is yours.", "There is nothing to answer now.")
	sponsor := s.sponsor()
	s.goes(sponsor, sponsor+"/1", "mark", "cant-have", "offer", "mens|11|D")
	s.shows(mine, "Larkspur Trail Supply has a question for you. The link to answer it comes from Slow Miles; it is not sent yet.")
	s.without(mine, "nothing to answer", "Nothing has to be answered")
	s.later()
	s.goes(path, path+"/ask/1/copied")
	s.shows(mine, "Slow Miles sent you the link to answer it on Saturday 22 August 2026, 8:40 pm New York time.")
	page := s.get(path).body
	if a := s.press(claimLinks.FindString(page[strings.Index(page, `id="ask-1"`):]), "pick", "none", "sure", "yes"); a.status != 303 {
		t.Fatalf("declined: status %d", a.status)
	}
	s.shows(mine, "It can’t be sent yet: how it goes on stands below.", "nothing that it offered suits.", "Slow Miles writes to you about it.")
	s.later()
	s.goes(path, path+"/answer", sized("11")...)
	s.later()
	s.goes(sponsor, sponsor+"/1", "mark", "shipped", "carrier", "Larkspur Post", "number", "LP 7")
	s.shows(mine, "There is nothing to answer now.", "with Larkspur Post, number LP 7.")
	s.goes(sponsor, sponsor+"/1", "mark", "delivered")
	s.shows(mine, "Delivered; noted on 22 August 2026.")
	if body := s.get(mine).body; claimLinks.MatchString(body) {
		t.Error("the private page has a link of the claim")
	}
	onlyPlainWords(t, s)
}

// A winner who would rather not have it reads so, and once the place is skipped
// nobody says that they are sorry; whoever did not answer reads until when.
func TestPrivatePageOfADeclinedPrize(t *testing.T) {
	s, private := drawnWith(t)
	path := "/desk/g/boots/place/1"
	s.goes(path, path+"/copied")
	claim := claimLinks.FindString(s.get(path).body)
	if a := s.press(claim, "decline", "yes", "sure", "yes"); a.status != 303 {
		t.Fatalf("declined: status %d", a.status)
	}
	s.shows(private[1], "You said on Saturday 22 August 2026, 6:40 pm New York time that you would rather not have the prize.")
	s.goes(path, path+"/skip", "reason", "declined")
	s.shows(private[1], "The reason: the prize was declined.")
	a := s.get(claim)
	if text := textOf(a.body); a.status != 410 || !strings.Contains(text, "The prize was declined.") || strings.Contains(text, "sorry") || strings.Contains(a.body, "<title>Too late") {
		t.Errorf("the winner's page: status %d: %s", a.status, text)
	}
	path = "/desk/g/boots/place/2"
	s.goes(path, path+"/copied")
	s.clock.set(s.clock.now().Add(8 * 24 * time.Hour))
	s.shows(private[2], "The time to answer ended on Saturday 29 August 2026, 7:00 pm New York time. Nobody else has been chosen yet")
}

// Whose answer is written down stands on the form, also when something in it has
// to be put right; and whoever asks what is kept of a person reads the place and
// the kinds, and no value.
func TestFormAndLookUpSayWho(t *testing.T) {
	s, _ := drawnWith(t)
	path := "/desk/g/boots/place/1"
	ticket := ticketOn(t, s.get(path).body)
	who := "Winner, ticket " + ticket + " , entered with walker"
	s.shows(path+"/answer", who)
	if a := s.press(path+"/answer", "by", "chat"); a.status != 422 || !strings.Contains(textOf(a.body), who) {
		t.Errorf("with faults: status %d: %s", a.status, textOf(a.body))
	}
	looked := func() string {
		t.Helper()
		a := s.press("/desk/g/boots/erase/one", "which", ticket)
		if a.status != 200 {
			t.Fatalf("look up: status %d: %s", a.status, textOf(a.body))
		}
		return textOf(a.body)
	}
	entered := "What is kept with it: the e-mail address the size where they live, and where the parcel would go the age range "
	if text := looked(); !strings.Contains(text, "Winner "+ticket) || !strings.Contains(text, entered+"It can’t be deleted now.") {
		t.Errorf("before the answer: %s", text)
	}
	s.confirmed(1)
	sponsor := s.sponsor()
	s.goes(sponsor, sponsor+"/1", "mark", "in-stock")
	text := looked()
	if !strings.Contains(text, entered+"name, postal address and phone number for the parcel what the sponsor wrote about the parcel, and what was answered It can’t") {
		t.Errorf("after the answer: %s", text)
	}
	nothingPlanted(t, "what is kept", text)
	if strings.Contains(text, "walker") || strings.Contains(text, "10½") {
		t.Errorf("values are shown: %s", text)
	}
	onlyPlainWords(t, s)
}

// Whose place is the last one is promised nobody after it.
func TestPrivatePageOfTheLastInLine(t *testing.T) {
	s, private := drawnWith(t, `"alternates": 3`, `"alternates": 1`)
	s.goes("/desk/g/boots/place/1", "/desk/g/boots/place/1/skip", "reason", "withdrawn")
	s.shows(private[2], "The letter to you is not sent yet.", "Answer within 7 days of that; after that the prize is not given.")
	s.shows(private[1], "Skipped: the entry was withdrawn, on Saturday 22 August 2026, 6:40 pm New York time.")
}
