package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// drawnDesk is a service at whose desk the draw has been made.
func drawnDesk(t *testing.T, change ...string) *service {
	t.Helper()
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", append([]string{`"min_age"`, `"answer_days": 7, "min_age"`}, change...)...)
	drawBoots(t, s)
	s.clock.set(event.Add(time.Hour))
	return s
}

// later is an hour later.
func (s *service) later() { s.clock.set(s.clock.now().Add(time.Hour)) }

// confirmed writes an answer down for a place and confirms it.
func (s *service) confirmed(place int) (path string) {
	s.t.Helper()
	path = fmt.Sprintf("/desk/g/boots/place/%d", place)
	s.goes(path, path+"/answer", append([]string{"by", "chat"}, claimFields...)...)
	s.goes(path, path+"/confirm")
	return path
}

// sponsor opens the sponsor's page and returns its path.
func (s *service) sponsor() string {
	s.t.Helper()
	s.goes("/desk/g/boots/sponsor", "/desk/g/boots/sponsor")
	return claimLinks.FindString(s.get("/desk/g/boots/sponsor").body)
}

// sized is an answer by phone with another size.
func sized(size string) []string {
	form := append([]string{"by", "phone"}, claimFields...)
	form[slices.Index(form, "size")+1] = size
	return form
}

// filled are the texts of a page's filled buttons.
func filled(html string) []string {
	var all []string
	for _, part := range strings.Split(html, `class="button"`)[1:] {
		_, rest, _ := strings.Cut(part, ">")
		text, _, _ := strings.Cut(rest, "<")
		all = append(all, text)
	}
	return all
}

// leads expects the heading of a page and its one filled button.
func (s *service) leads(path, head, button string) string {
	s.t.Helper()
	a := s.get(path)
	var want []string
	if button != "" {
		want = []string{button}
	}
	if got := filled(a.body); a.status != 200 || !strings.Contains(a.body, "<h1>"+head+"</h1>") || !slices.Equal(got, want) {
		s.t.Errorf("GET %s: status %d, filled %q, want %q; heading wanted %q: %s", path, a.status, got, want, head, textOf(a.body))
	}
	return a.body
}

// What the sponsor asks is the creator's next step: in the day-book, and first
// on the place's page, until the letter was copied. What to do when nothing is
// on offer or nothing suits is said too. (What a newcomer missed.)
func TestQuestionLeadsTheDesk(t *testing.T) {
	s := drawnDesk(t)
	const day = "/desk/g/boots"
	path := s.confirmed(1)
	dayLeads := func(button string) {
		t.Helper()
		if got := filled(s.get(day).body); !slices.Equal(got, []string{button}) {
			t.Errorf("the day-book's filled button: %q, want %q", got, button)
		}
	}
	s.leads(path, "This ticket gets the prize.", "Open the sponsor’s page")
	dayLeads("Open the sponsor’s page")
	sponsor := s.sponsor()
	s.leads(path, "This ticket gets the prize.", "")
	mark := func(pairs ...string) { t.Helper(); s.later(); s.goes(sponsor, sponsor+"/1", pairs...) }

	mark("mark", "cant-have", "offer", "mens|11|D")
	dayLeads("Go to the letter with the sponsor’s question")
	page := s.leads(path, "Larkspur Trail Supply has a question for the winner.", "I have sent it")
	letter, email := strings.Index(page, `id="ask-1"`), strings.Index(page, "Write to")
	if letter < 0 || letter > email {
		t.Errorf("the question's letter stands at %d, whom to write to at %d", letter, email)
	}
	s.shows("/desk/g/boots/result", "the sponsor has a question for the winner")
	s.later()
	for range 2 {
		s.goes(path, path+"/ask/1/copied")
		s.later()
	}
	page = s.leads(path, "The letter with the sponsor’s question is out.", "")
	if !strings.Contains(textOf(page), "sent Saturday 22 August 2026, 8:40 pm New York time") { // two hours after the question
		t.Errorf("when it was copied first is missing: %s", textOf(page))
	}
	ask := claimLinks.FindString(page[strings.Index(page, `id="ask-1"`):])
	if text := s.shows(ask, "offers another one instead", "It would not fit me."); strings.Contains(text, "these") {
		t.Errorf("one size is spoken of as several: %s", text)
	}
	if a := s.press(ask, "pick", "none", "sure", "yes"); a.status != 303 {
		t.Errorf("declined: status %d", a.status)
	}
	s.leads(path, "Nothing that Larkspur Trail Supply offered suits the winner.", "Write down what was agreed")
	dayLeads("Go to this place")
	if a := s.press(path + "/ask/1/copied"); a.status != 409 {
		t.Errorf("an answered question's letter copied: status %d, want 409", a.status)
	}
	for _, gone := range []string{"/ask/x/copied", "/ask/2/copied"} {
		if a := s.press(path + gone); a.status != 404 && a.status != 409 {
			t.Errorf("%s: status %d", gone, a.status)
		}
	}
	mark("mark", "cant-have", "none", "yes")
	s.leads(path, "Larkspur Trail Supply can’t get this size, and has no other to offer.", "Write down what was agreed")
	s.later()
	s.goes(path, path+"/answer", sized("11")...)
	s.leads(path, "This ticket gets the prize.", "")
	s.shows(sponsor, "Agreed instead: men’s 11 D.")
	onlyPlainWords(t, s)
}

// Who answered is not skipped for no answer, and the form does not offer it. A
// parcel on its way is asked about once more. Then the sponsor and the winner
// read that it is over.
func TestSkippedAfterAll(t *testing.T) {
	s := drawnDesk(t)
	path := "/desk/g/boots/place/1"
	s.goes(path, path+"/copied")
	s.shows(path, "no answer came in time")
	s.confirmed(1)
	if text := textOf(s.get(path).body); strings.Contains(text, "no answer came in time") || !strings.Contains(text, "the prize was declined") {
		t.Errorf("the reasons to skip who answered: %s", text)
	}
	sponsor := s.sponsor()
	s.later()
	s.goes(sponsor, sponsor+"/1", "mark", "ask-address", "words", "Which door?")
	ask := claimLinks.FindString(s.get(path).body)
	back := []string{"reason", "declined", "given_back", "yes"}
	s.later()
	s.shows(path, "write the correction down")
	s.goes(sponsor, sponsor+"/1", "mark", "shipped", "carrier", "Larkspur Post")
	s.shows(path, "I know that the parcel is on its way, or there already.", "the next in line, if there is one, has its turn")
	if strings.Contains(textOf(s.get(path).body), "write the correction down") {
		t.Error("a correction is offered after the parcel was sent")
	}
	a := s.press(path+"/skip", back...)
	if a.status != 422 || !strings.Contains(textOf(a.body), "Tick that you know it") {
		t.Errorf("without the tick: status %d: %s", a.status, textOf(a.body))
	}
	holds(t, s, 0, 1)
	s.goes(path, path+"/skip", append(back, "sent", "yes")...)
	holds(t, s, 1, 0)
	text := s.shows(sponsor, "Given back: don’t send anything to Winner.", "There is nobody to send it to yet.")
	nothingPlanted(t, "the sponsor's page of a prize that came back", text)
	if a := s.get(ask); a.status != 410 || !strings.Contains(textOf(a.body), "The prize was declined.") {
		t.Errorf("the question's link: status %d: %s", a.status, textOf(a.body))
	}
}

// Every button of these pages takes a small form and nothing else: 413 and 415
// (RFC 9110, sections 15.5.14 and 15.5.16).
func TestDeskBodiesAreSmall(t *testing.T) {
	s := drawnDesk(t)
	long := "words=" + strings.Repeat("a", 64<<10)
	for _, path := range []string{"place/1/copied", "place/1/ask/1/copied", "place/1/link", "place/1/confirm", "place/1/skip", "place/1/answer", "sponsor", "sponsor/close"} {
		if a := s.do("POST", "/desk/g/boots/"+path, "application/x-www-form-urlencoded", long); a.status != 413 {
			t.Errorf("a long body to %s: status %d, want 413", path, a.status)
		}
		if a := s.do("POST", "/desk/g/boots/"+path, "text/plain", "words=a"); a.status != 415 {
			t.Errorf("a body of text to %s: status %d, want 415", path, a.status)
		}
	}
}

// When the entered size and the answered one are not the same, both stand where
// the creator confirms; so does every way that the answer came.
func TestEnteredBesideAnswered(t *testing.T) {
	s := drawnDesk(t)
	path := "/desk/g/boots/place/1"
	s.goes(path, path+"/answer", append([]string{"by", "chat"}, claimFields...)...)
	s.shows(path, "men’s 10½ D, as entered", "By chat, written down here, Saturday 22 August 2026", "“I am 18 or over.” “The rules let me win.”")
	s.goes(path, path+"/answer", sized("9")...)
	s.shows(path, "men’s 9 D; entered was men’s 10½ D", "By phone, written down here")
}
