package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// What the winner types. The phone number is the US example number of
// libphonenumber's metadata; the ZIP code and its state are case facts of
// testdata/facts/postal.md (section 3): 99501 is in Alaska.
var planted = struct{ name, friend, street, phone string }{
	"Rowena Quillfeather", "Bartholomew Zephyrson", "12 Thistledown Lane", "(201) 555-0123",
}

// plantedForms are what a search looks for, typed and as a label or number.
var plantedForms = []string{"quillfeather", "zephyrson", "thistledown", "555-0123", "2015550123", "201-555"}

// drawBoots enters people who live in Canada and have a friend in the United
// States, locks and draws. It returns their private pages.
func drawBoots(t *testing.T, s *service) []string {
	t.Helper()
	var private []string
	for i := range 6 {
		a := s.press("/g/boots", "email", fmt.Sprintf("walker%d@example.org", i), "system", "mens", "size", "10.5", "width", "D",
			"live", "CA", "state", "ON", "ship", "US", "ship_state", "AK", "friend", "yes", "age", "18-or-over", "rules", "yes")
		if a.status != 303 {
			t.Fatalf("entry %d: status %d: %s", i, a.status, textOf(a.body))
		}
		private = append(private, a.to)
	}
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	s.clock.set(event.Add(10 * time.Second))
	if a := s.press("/desk/g/boots/draw"); a.status != 303 {
		t.Fatalf("the draw: status %d: %s", a.status, textOf(a.body))
	}
	return private
}

// holds checks the published files as a stranger does.
func holds(t *testing.T, s *service, passed, confirmed int) {
	t.Helper()
	r := check(t, s, "boots")
	gotPassed, gotConfirmed := 0, 0
	if r.Outcome != nil {
		gotPassed, gotConfirmed = len(r.Outcome.Passed), len(r.Outcome.Confirmed)
	}
	if r.Verdict != draw.Valid || gotPassed != passed || gotConfirmed != confirmed {
		t.Errorf("the check: %q, %d passed, %d confirmed, want valid, %d, %d: %v", r.Verdict, gotPassed, gotConfirmed, passed, confirmed, r.Findings)
	}
}

var claimLinks = regexp.MustCompile(`/(?:g/boots/[ac]|s)/[A-Za-z0-9_-]{24}`)

// Three people carry a giveaway from the draw to the delivered parcel, in a
// browser, on both databases: the creator at the desk, winners, the sponsor.
// On the way somebody doesn't answer, somebody declines, a friend receives the
// parcel, a size can't be had, an address is asked about, and the program is
// started anew. What is published is checked after each step.
func TestFromDrawnToDelivered(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		folder := t.TempDir()
		s := start(t, during, database, "-data", folder)
		s.claim()
		s.bring("boots", `"min_age"`, `"answer_days": 7, "value": "about 240 US dollars", "min_age"`)
		private := drawBoots(t, s)
		holds(t, s, 0, 0)
		clock, logs := event.Add(time.Hour), ""

		b := browsertest.New(t)
		at := func(path string) int { t.Helper(); return b.Open(s.base + path) }
		wait := func(d time.Duration) { clock = clock.Add(d); s.clock.set(clock) }
		again := func() { // the program stops and starts
			t.Helper()
			must(t, s.stop())
			logs += s.logs.String()
			jar := s.client.Jar
			s = start(t, clock, database, "-data", folder)
			s.client.Jar = jar
		}
		look := func(name string) {
			t.Helper()
			if database == "" { // the pages are the same on both
				look(t, b, name)
			}
		}
		press := func(selector, want string) {
			t.Helper()
			if got := b.Submit(selector); got != 200 || !strings.Contains(b.Text("h1"), want) {
				t.Fatalf("%s: status %d, heading %q, want 200, %q: %s", selector, got, b.Text("h1"), want, b.Text("main"))
			}
		}
		text := func(words ...string) {
			t.Helper()
			for _, w := range words {
				if page := b.Text("main"); !strings.Contains(page, w) {
					t.Errorf("%q is missing on %s: %s", w, b.Text("h1"), page)
				}
			}
		}
		letter := func(area string) string {
			t.Helper()
			link := claimLinks.FindString(b.Value(area))
			if link == "" {
				t.Fatalf("no link in the letter: %q", b.Value(area))
			}
			return link
		}
		s.clock.set(clock)
		at("/desk")
		b.Type("#passphrase", passphrase)
		b.Submit(".button")

		// The first place doesn't answer.
		at("/desk/g/boots/result")
		text("the letter is ready")
		look("result-letter")
		at("/desk/g/boots/place/1")
		text("If it goes out now, there is time to answer until", "UTC", "@example.org")
		look("letter")
		first := letter("#letter")
		press(".button", "The letter is out.")
		look("letter-out")
		at(first)
		text("It fits the locked list.", "It is free: nobody asks you for money")
		again()
		wait(8 * 24 * time.Hour)
		if got := at(first); got != 410 {
			t.Errorf("a claim after its time: status %d, want 410", got)
		}
		text("Nobody else has been chosen yet.")
		look("claim-late")
		at("/desk/g/boots")
		text("no answer came in time")
		at("/desk/g/boots/place/1")
		look("overdue")
		press(".button", "This place was skipped.")
		look("skipped")
		holds(t, s, 1, 0)
		at("/g/boots")
		text("its turn now", "skipped: no answer came in time")
		at("/desk/g/boots/result")
		text("One ticket won. One place was skipped since.")
		at(first)
		text("This prize is not yours any more.", "no answer came in time")
		look("claim-skipped")

		// The second would rather not have it.
		at("/desk/g/boots/place/1")
		b.Follow(".button")
		second := letter("#letter")
		press(".button", "The letter is out.")
		wait(time.Hour)
		at(second)
		press("button[name=decline]", "You would rather not have the prize?")
		look("decline")
		press("button[name=back]", "Your ticket was drawn.")
		press("button[name=decline]", "You would rather not have the prize?")
		press(".button", "Thank you for saying so.")
		again()
		at("/desk/g/boots/place/2")
		text("The winner would rather not have it.", "No, thank you.")
		press(".button", "This place was skipped.")
		holds(t, s, 2, 0)

		// The third has it sent to a friend.
		b.Follow(".button")
		third := letter("#letter")
		press(".button", "The letter is out.")
		wait(time.Hour)
		at(third)
		look("claim")
		if got := b.Submit(".rows .button"); got != 422 {
			t.Errorf("the empty claim has status %d, want 422", got)
		}
		focused(t, b)
		look("claim-faults")
		b.Type("#f-name", planted.name)
		b.Type("#f-line1", planted.street+" # 4")
		b.Type("#f-city", "Anchorage")
		b.Choose("#f-state", "AZ")
		b.Type("#f-postal", "99501")
		b.Type("#f-phone", planted.phone)
		tick(b, "#f-adult")
		tick(b, "#f-eligible")
		if got := b.Submit(".rows .button"); got != 422 {
			t.Errorf("a claim with questions has status %d, want 422: %s", got, b.Text("main"))
		}
		text("ZIP 99501 is in Alaska; you wrote AZ. Which is right?", "Is # 4 a flat, or a mailbox that you rent at a shop?")
		look("claim-questions")
		if got := b.Value("#f-name"); got != planted.name {
			t.Errorf("the name typed is %q on the page shown again", got)
		}
		b.Type("#f-care_of", planted.friend)
		b.Submit(`button[name=take][value*="state=AK"]`)
		press(`button[name=take][value*="APT"]`, "Is all of this right?")
		text(strings.ToUpper(planted.name), "C/O "+strings.ToUpper(planted.friend), "12 THISTLEDOWN LN APT 4", "ANCHORAGE AK", planted.phone)
		look("claim-check")
		press("button[name=back]", "Your ticket was drawn.")
		if got := b.Value("#f-care_of"); got != planted.friend {
			t.Errorf("the friend typed is %q on the page shown again", got)
		}
		press(".rows .button", "Is all of this right?")
		again()
		at(third) // nothing was kept yet
		text("Where should it go?")
		fillClaim(b)
		press(".rows .button", "Is all of this right?")
		press(".button", "Thank you. Your answer is here.")
		at(third)
		look("claim-done")
		nothingPlanted(t, "the claim page opened again", b.Text("html"))

		at("/desk/g/boots/place/3")
		text("The answer is here.", strings.ToUpper(planted.name), "On the winner’s own page")
		look("answer")
		at("/desk/g/boots/place/3/answer")
		look("answer-form")
		if got := b.Value("#f-line1"); !strings.HasPrefix(got, planted.street) {
			t.Errorf("the form to correct the answer begins with %q", got)
		}
		at("/desk/g/boots/place/3")
		press(".button", "This ticket gets the prize.")
		holds(t, s, 2, 1)
		look("confirmed")

		// The sponsor.
		at("/desk/g/boots/place/3")
		text("needs a page that shows where to send it")
		b.Follow(".button")
		look("sponsor-none")
		press(".button", "The sponsor’s page is open.")
		look("sponsor-link")
		sponsor := letter("#sponsor-link")
		at(sponsor)
		if got := b.Text("h1"); got != "This is the person whose ticket was drawn ✓" {
			t.Errorf("the sponsor's page is headed %q", got)
		}
		text("Men’s 10½, width D", strings.ToUpper(planted.name), "12 THISTLEDOWN LN APT 4", planted.phone)
		if strings.Contains(b.Text("html"), "@example.org") {
			t.Error("the sponsor sees an e-mail address")
		}
		look("sponsor")
		keepPage(t, b, "sponsor")
		if got := b.Submit(`button[value="shipped"]`); got != 422 {
			t.Errorf("a parcel without a carrier has status %d, want 422", got)
		}
		focused(t, b)
		look("sponsor-faults")

		// The size can't be had; the winner takes another.
		mark := func(button string) {
			t.Helper()
			wait(time.Minute)
			press(button, "This is the person")
		}
		at(sponsor)
		openDetails(b)
		tick(b, "#offer-3-0")
		b.Type("#f-cant-3", "The last pair went yesterday.")
		look("sponsor-offers")
		mark(`button[value="cant-have"]`)
		offered := browsertest.Eval[string](b, `document.querySelector("label[for=offer-3-0]").textContent`)
		text("can’t get this size and offers "+offered+". That waits for the winner’s answer.", "Wait: a question to the winner is open.", "and offered "+offered)
		look("sponsor-asked")
		at(third)
		text("has a question for you; Slow Miles sends you a link")
		look("claim-asked")
		at("/desk/g/boots")
		text("the sponsor has a question for the winner")
		if got := b.Follow(".button"); got != 200 || !strings.Contains(b.Text("h1"), "has a question for the winner.") {
			t.Errorf("the day-book leads to %q, status %d", b.Text("h1"), got)
		}
		look("asks-size")
		size := letter(".rows > .row:first-child textarea")
		press(".button", "The letter with the sponsor’s question is out.")
		text("sent Sunday 30 August 2026") // 20:40 in New York, the day after in UTC
		look("asks-size-copied")
		again()
		at("/desk/g/boots/place/3")
		text("The letter with the sponsor’s question is out.")
		if size != letter("#ask-1") {
			t.Error("the letter's link is another one after a restart")
		}
		at(size)
		look("ask-size")
		tick(b, "#pick-0")
		taken, _, _ := strings.Cut(browsertest.Eval[string](b, `document.querySelector("label[for=pick-0]").textContent`), " –")
		press(".button", "Is this right?")
		text("You take " + taken + " instead.")
		look("ask-size-check")
		press(".button", "Thank you. Your answer is here.")
		look("ask-done")
		again()
		at(sponsor)
		text("Agreed instead: " + taken)
		mark(`button[value="in-stock"]`)
		text("Agreed instead: "+taken, "has it in stock")
		at("/desk/g/boots/place/3")
		text("Another size, in answer to the sponsor’s question", "entered was men’s 10½ D")
		look("agreed")
		at(sponsor)

		// A question about the address.
		openDetails(b)
		b.Type("#f-words-3", "Is there a buzzer at the door?")
		mark(`button[value="ask-address"]`)
		at("/desk/g/boots/place/3")
		where := letter("#ask-2")
		press(".button", "The letter with the sponsor’s question is out.")
		at(where)
		text("Is there a buzzer at the door?")
		nothingPlanted(t, "the page of a question", b.Text("html"))
		look("ask-address")
		b.Type("#f-care_of", planted.friend)
		b.Type("#f-line1", planted.street+" Apartment 4")
		b.Type("#f-line2", "Buzzer 7")
		b.Type("#f-city", "Anchorage")
		b.Choose("#f-state", "AK")
		b.Type("#f-postal", "99501")
		b.Choose("#f-country", "US")
		press(".rows .button", "Is this right?")
		text("(YOUR NAME)")
		look("ask-address-check")
		press(".button", "Thank you. Your answer is here.")

		at(sponsor)
		text("BUZZER 7")
		b.Type("#f-carrier-3", "Larkspur Post")
		b.Type("#f-number-3", "LP 123 456")
		mark(`button[value="shipped"]`)
		look("sponsor-shipped")
		at("/desk/g/boots/place/3")
		text("Larkspur Post, number LP 123 456")
		look("shipped")
		at(sponsor)
		mark(`button[value="delivered"]`)
		look("sponsor-delivered")
		holds(t, s, 2, 1)
		at("/desk/g/boots")
		text("Winner: you said that the letter is sent.", "Winner: no answer came in time.", "Next in line, number 1: would rather not have the prize.",
			"Next in line, number 1: the prize was declined.", "Next in line, number 2: an answer came.", "Next in line, number 2: gets the prize.",
			"Next in line, number 2: the parcel is on its way.", "Next in line, number 2: the parcel was delivered.")
		look("day-after")

		// Each person sees what is theirs, and nobody else anything.
		at("/g/boots")
		text("The prize has found its winner.", "skipped: no answer came in time", "skipped: the prize was declined", "gets the prize")
		look("closed")
		seen := map[string]string{"delivered": "Delivered; noted on", "no answer": "Your place was skipped on", "declined": "The reason: the prize was declined"}
		for _, path := range private {
			page := textOf(s.get(path).body)
			for name, words := range seen {
				if strings.Contains(page, words) && (name != "no answer" || strings.Contains(page, "no answer came in time")) {
					delete(seen, name)
				}
			}
			nothingPlanted(t, "a private page", page)
		}
		if len(seen) > 0 {
			t.Errorf("no private page says: %v", seen)
		}
		for _, path := range []string{"/", "/now", "/g/boots/fair/", "/g/boots/rules", "/desk", "/desk/g/boots", "/desk/g/boots/entries", "/desk/g/boots/result",
			"/desk/g/boots/place/1", "/desk/g/boots/place/2", "/desk/g/boots/place/4", "/desk/g/boots/sponsor", "/desk/g/boots/later",
			"/desk/g/boots/cancel", "/desk/g/boots/cautions", "/desk/g/boots/import", "/desk/g/boots/paper", "/desk/g/boots/rules", "/desk/g/boots/sheet",
			"/desk/g/boots/sheet.txt", "/desk/g/boots/spread", "/desk/new", "/g/boots/check", "/second", first, second, third, size, where} {
			nothingPlanted(t, path, s.get(path).body)
		}
		for _, name := range []string{draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile, draw.FreezeFile, draw.RecordFile,
			draw.OutcomeFile, "outcome.1.txt", "outcome.2.txt"} {
			a := s.get("/g/boots/fair/" + name)
			if a.status != 200 {
				t.Errorf("%s: status %d", name, a.status)
			}
			nothingPlanted(t, name, a.body)
		}
		nothingPlanted(t, "the log", logs+s.logs.String())
		for _, link := range []string{first, second, third, size, where, sponsor} {
			if secret := link[strings.LastIndexByte(link, '/')+1:]; strings.Contains(logs+s.logs.String(), secret) {
				t.Error("a private link's secret stands in the log")
			}
		}

		// Nobody looks uncounted by saying that a mark led here.
		for _, forged := range []string{"1", fmt.Sprint(s.clock.now().Unix()), fmt.Sprint(s.clock.now().Unix()) + "." + strings.Repeat("A", 43)} {
			asked, err := http.NewRequest("GET", s.base+sponsor, nil)
			must(t, err)
			asked.AddCookie(&http.Cookie{Name: "evenhand-marked", Value: forged})
			got, err := http.DefaultClient.Do(asked)
			must(t, err)
			got.Body.Close()
			if got.StatusCode != 200 {
				t.Errorf("the sponsor's page: status %d", got.StatusCode)
			}
		}

		// The sponsor's page is closed again.
		at("/desk/g/boots/sponsor")
		text("9 visits so far.") // each time that the sponsor opens it above; the page after a mark is none
		press("form .plain", "The sponsor’s page is closed.")
		text("You closed it on")
		look("sponsor-closed")
		if got := at(sponsor); got != 410 {
			t.Errorf("a closed sponsor's page has status %d, want 410", got)
		}
		onlyPlainWords(t, s)
	})
}

// fillClaim fills the claim in with what is planted.
func fillClaim(b *browsertest.Browser) {
	for field, text := range map[string]string{"#f-name": planted.name, "#f-care_of": planted.friend, "#f-line1": planted.street + " Apartment 4",
		"#f-city": "Anchorage", "#f-postal": "99501", "#f-phone": planted.phone} {
		b.Type(field, text)
	}
	b.Choose("#f-state", "AK")
	tick(b, "#f-adult")
	tick(b, "#f-eligible")
}

// tick presses a box or button without the pointer, which misses while the
// page still scrolls.
func tick(b *browsertest.Browser, selector string) {
	browsertest.Eval[bool](b, fmt.Sprintf("(() => { document.querySelector(%q).click(); return true })()", selector))
}

func openDetails(b *browsertest.Browser) {
	browsertest.Eval[int](b, `(() => { const all = document.querySelectorAll("details"); all.forEach((d) => d.open = true); return all.length })()`)
}

// focused waits until the summary has the focus: the browser moves it as it
// first draws the page.
func focused(t *testing.T, b *browsertest.Browser) {
	t.Helper()
	focus := ""
	for range 40 {
		if focus = browsertest.Eval[string](b, "document.activeElement.id"); focus == "faults" {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Errorf("the summary does not have the focus: %q has", focus)
}

func nothingPlanted(t *testing.T, where, text string) {
	t.Helper()
	text = strings.ToLower(text)
	for _, p := range plantedForms {
		if strings.Contains(text, p) {
			t.Errorf("%s holds %q", where, p)
		}
	}
}

// keepPage prints the page to PDF, where EVENHAND_PICTURES names a folder.
func keepPage(t *testing.T, b *browsertest.Browser, name string) {
	t.Helper()
	if folder := os.Getenv("EVENHAND_PICTURES"); folder != "" {
		b.PDF(filepath.Join(folder, name+".pdf"))
	}
}

// claimFields are a claim as a form sends it.
var claimFields = []string{"system", "mens", "size", "10.5", "width", "D", "name", planted.name, "care_of", planted.friend, "line1", planted.street,
	"city", "Anchorage", "state", "AK", "postal", "99501", "country", "US", "phone", planted.phone, "adult", "yes", "eligible", "yes"}

// Two people press Confirm and Skip for the same place at once, again and
// again, each in a browser of their own: one of them wins, the other is told,
// and what is published passes the check.
func TestConfirmAndSkipAtOnce(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"alternates": 3`, `"alternates": 5`)
		drawBoots(t, s)
		s.clock.set(event.Add(time.Hour))
		other := visit(t, s.base)
		other.goes("/desk", "/desk/in", "passphrase", passphrase)
		for place := 1; place <= 6; place++ {
			path := fmt.Sprintf("/desk/g/boots/place/%d", place)
			if page := textOf(s.get(path).body); !strings.Contains(page, "The letter to the winner is ready.") {
				break // the place before was confirmed
			}
			s.goes(path, path+"/answer", append([]string{"by", "phone"}, claimFields...)...)
			s.shows(path, "The answer is here.", "By phone, written down here")
			var confirm, skip answer
			var both sync.WaitGroup
			both.Go(func() { confirm = s.press(path + "/confirm") })
			both.Go(func() { skip = other.press(path+"/skip", "reason", "ineligible") })
			both.Wait()
			if won := (confirm.status == 303) != (skip.status == 303); !won || confirm.status+skip.status != 303+409 {
				t.Errorf("place %d: confirm has status %d, skip %d, want 303 and 409", place, confirm.status, skip.status)
			}
			passed, confirmed := place, 0
			lost, words := confirm, "This place was skipped."
			if confirm.status == 303 {
				passed, confirmed, lost, words = place-1, 1, skip, "This ticket gets the prize."
			}
			if page := textOf(lost.body); !strings.Contains(page, words) || !strings.Contains(page, "Your press changed nothing.") {
				t.Errorf("who lost is told: %s", page)
			}
			holds(t, s, passed, confirmed)
		}
	})
}

// At the desk: a skip that is too early is asked about, an answer by chat is
// marked, a new link closes the old one, a prize that was given back goes on.
func TestPlaceAtTheDesk(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"min_age"`, `"value": "about 2,400 US dollars", "min_age"`)
	drawBoots(t, s)
	s.clock.set(event.Add(time.Hour))
	const path = "/desk/g/boots/place/1"
	s.shows(path, "Not for the picture: this page shows an address.")
	s.shows("/desk/g/boots", "Write to the winner")
	for _, gone := range []string{"/desk/g/boots/place/0", "/desk/g/boots/place/5", "/desk/g/boots/place/01", "/desk/g/boots/place/x", "/desk/g/none/place/1"} {
		if a := s.get(gone); a.status != 404 {
			t.Errorf("GET %s: status %d, want 404", gone, a.status)
		}
	}
	s.shows("/desk/g/boots/place/2", "This ticket is next in line.")
	refused := func(want int, words, path string, pairs ...string) {
		t.Helper()
		if a := s.press(path, pairs...); a.status != want || !strings.Contains(textOf(a.body), words) {
			t.Errorf("POST %s: status %d, want %d with %q: %s", path, a.status, want, words, textOf(a.body))
		}
	}
	refused(409, "This place doesn’t have its turn.", "/desk/g/boots/place/2/copied")
	refused(409, "This place doesn’t have its turn.", "/desk/g/boots/place/2/confirm")
	refused(409, "There is no answer to confirm yet.", path+"/confirm")
	refused(422, "Choose why this place is skipped.", path+"/skip")
	refused(409, "There is still time to answer, until Sunday 23 August 2026, 5:40:10 pm New York time.", path+"/skip", "reason", "no-reply") // 24 hours from its turn
	s.goes(path, path+"/copied")
	refused(409, "There is still time to answer, until Saturday 29 August 2026, 7:00 pm New York time.", path+"/skip", "reason", "no-reply")
	link := func() string { return claimLinks.FindString(s.get(path).body) }
	old := link()
	s.goes(path, path+"/copied")
	s.goes(path, path+"/link")
	s.shows(path, "The letter to the winner is ready.")
	s.shows("/desk/g/boots", "The letter has to be sent again, and the time to answer runs anew from then.", "Write to the winner")
	if fresh := link(); fresh == old || s.get(old).status != 404 || s.get(fresh).status != 200 {
		t.Errorf("a new link: the same %v, the old one has status %d, the new one %d", fresh == old, s.get(old).status, s.get(fresh).status)
	}
	refused(422, "Say whether it came by chat or by phone.", path+"/answer", claimFields...)
	refused(422, "Please write your full name", path+"/answer", "by", "chat")
	s.goes(path, path+"/answer", append([]string{"by", "chat"}, claimFields...)...)
	s.shows(path, "By chat, written down here", strings.ToUpper(planted.name), "A reminder", "2,000 US dollars") // testdata/facts/law.md, A7
	s.shows(path+"/answer", "It is marked as written down by you.")
	refused(409, "An answer came meanwhile", path+"/skip", "reason", "no-reply")
	s.goes(path, path+"/confirm")
	holds(t, s, 0, 1)
	refused(409, "Your press changed nothing.", path+"/skip", "reason", "declined")
	s.shows(path, "Given back")
	s.goes(path, path+"/skip", "reason", "declined", "given_back", "yes")
	holds(t, s, 1, 0)
	s.shows(path, "This place was skipped.", "Go to the next in line")
	s.shows("/desk/g/boots/place/2", "The letter to the winner is ready.")
	onlyPlainWords(t, s)
}
