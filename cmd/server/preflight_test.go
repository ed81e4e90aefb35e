package main

import (
	"fmt"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

var (
	stageOn  = regexp.MustCompile(`id="stage-full" readonly>([^<]+)<`)
	remoteOn = regexp.MustCompile(`id="remote" readonly>([^<]+)<`)
)

// paired reads the addresses of stage and remote from the page that has them.
func (s *service) paired(id string) (stage, remote string) {
	s.t.Helper()
	page := s.get("/desk/g/" + id + "/show/pair").body
	a, b := stageOn.FindStringSubmatch(page), remoteOn.FindStringSubmatch(page)
	if a == nil || b == nil {
		s.t.Fatalf("no addresses: %s", textOf(page))
	}
	base := s.publicURL()
	return strings.TrimPrefix(html.UnescapeString(a[1]), base), strings.TrimPrefix(b[1], base)
}

// The page before the show says of each thing whether it is ready, and what to
// do. What is looked at is the issue's own list, no outside source. The
// public number is the published round at the event (testdata/vectors/
// drand-quicknet.json): it must not be there before its time by a right clock.
func TestBeforeTheShow(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"winners": 1`, `"winners": 1, "lock_minutes": 10`)
		const page = "/desk/g/boots/show"
		s.shows(page, "The list Not yet. It can be locked when entries have closed, on Saturday 22 August 2026, 4:00 pm New York time.",
			"The public number Not ready. Nobody of the network answers.", "The stage Not yet. It has no address yet.", "Make stage and remote",
			"A copy of the data Not yet.", "MB are free where the data lies.", "The draw is live: Saturday 22 August 2026, 5:40 pm New York time.")
		if text := s.shows(page); strings.Contains(text, "It is posted") || strings.Contains(text, "It is made") {
			t.Errorf("something can be ticked before the lock: %s", text)
		}
		s.goes(page, page+"/tick", "tick", "posted")
		if a := s.press(page+"/tick", "tick", "all"); a.status != http.StatusBadRequest {
			t.Errorf("an unknown tick: status %d, want 400", a.status)
		}
		if database == "" {
			s.shows(page, "The database Ready. It answers. It lies on this computer and has the same clock.")
		} else { // the test's clock is not today's
			s.shows(page, "The database Not ready. Its clock is")
		}
		s.clock.set(closes.Add(time.Minute))
		s.shows(page, "The list Not ready. It is not locked. If nobody does it, it locks itself on Saturday 22 August 2026, 5:30 pm New York time.")
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		s.shows(page, "The list Ready. It was locked on", "Post the list’s fingerprint before the draw", "Its fingerprint: ")
		for range 2 {
			s.goes(page, page+"/tick", "tick", "posted")
			s.goes(page, page+"/tick", "tick", "copied")
		}
		s.shows(page, "You said that the list’s fingerprint is posted.", "A copy of the data Ready.")
		if n := strings.Count(s.shows("/desk/g/boots"), "You said that the list’s fingerprint is posted under the video."); n != 1 {
			t.Errorf("the day-book has it %d times, want once", n)
		}
		s.clock.set(event.Add(-6 * time.Second))
		s.shows(page, "This clock Not ready. It is behind")
		s.clock.set(event.Add(-time.Minute)) // a clock that goes back has the network asked anew
		s.shows(page, "The public number Not ready.")
		s.clock.set(event.Add(6 * time.Second))
		s.shows(page, "The public number Ready. The network answers; its number of a moment ago was right.", "This clock Ready. It agrees")
		onlyPlainWords(t, s)
		stranger := visit(t, s.base)
		for _, path := range []string{page, page + "/pair", page + "/remote.svg", page + "/stage.svg"} {
			if a := stranger.get(path); a.status != 401 {
				t.Errorf("GET %s by a stranger: status %d, want 401", path, a.status)
			}
		}
	})
}

// The addresses open stage and remote, and nothing once they are made anew; the
// desk knows which screens are there.
func TestPairing(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		const page = "/desk/g/boots/show"
		s.shows(page+"/pair", "The show needs two addresses.")
		if a := s.get(page + "/remote.svg"); a.status != 404 {
			t.Errorf("a code of nothing: status %d", a.status)
		}
		if a := s.press(page+"/delay", "delay", "10"); a.status != 422 {
			t.Errorf("a delay before there is a show: status %d, want 422", a.status)
		}
		s.goes(page+"/pair", page+"/pair")
		stage, remote := s.paired("boots")
		guest := visit(t, s.base)
		for _, path := range []string{stage, stage + "&overlay=1", remote} {
			if a := guest.get(path); a.status != 200 {
				t.Errorf("GET %s: status %d: %s", path, a.status, textOf(a.body))
			}
		}
		s.shows(page, "The stage Not yet. No screen shows it now, which can wait until Saturday 22 August 2026, 3:40 pm New York time.")
		s.goes(page+"/pair", page+"/delay", "delay", "20")
		for _, bad := range []string{"", "-1", "121", "x"} {
			if a := s.press(page+"/delay", "delay", bad); a.status != 422 {
				t.Errorf("a delay of %q: status %d, want 422", bad, a.status)
			}
		}
		if !strings.Contains(s.get(page+"/pair").body, `value="20"`) {
			t.Error("the delay is not kept")
		}
		s.goes(page+"/pair", page+"/pair", "kind", "remote")
		stage2, remote2 := s.paired("boots")
		if stage2 != stage || remote2 == remote {
			t.Errorf("stage %q and remote %q after %q and %q", stage2, remote2, stage, remote)
		}
		if a := guest.get(remote); a.status != 404 {
			t.Errorf("the old remote: status %d, want 404", a.status)
		}
		if a := guest.get(stage); a.status != 200 {
			t.Errorf("the stage: status %d", a.status)
		}
		onlyPlainWords(t, s)
	})
}

// Names: nothing unseen is said, what is seen is said, changed names are seen
// anew, and words follow the rules of names. What the
// stage says of what was seen is tested with the stage.
func TestNamesToBeSaid(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		const page = "/desk/g/boots/show/names"
		s.shows(page, "Nobody has given a name to be said.")
		mine := s.post1("robin@example.com", "name", "Robin L.")
		other := s.post1("kim@example.com", "name", "5h1t")
		s.post1("sasha@example.com")
		s.shows("/desk/g/boots/show", "Names to be said Not yet. 2 names were not seen yet, of 2.")
		s.shows(page, "2 names were not seen yet.", "Robin L.", "Look twice: has “shit”, which may hurt somebody.")
		if body := s.get(page).body; strings.Index(body, "5h1t") > strings.Index(body, "Robin L.") {
			t.Error("the marked name does not stand first")
		}
		rows := namesOn(s.get(page).body)
		if len(rows) != 2 || rows["Robin L."].say != "name" || rows["5h1t"].say != "ticket" {
			t.Fatalf("the page offers %v", rows)
		}
		robin, kim := rows["Robin L."].ticket, rows["5h1t"].ticket
		for _, words := range []string{"", "see https://example.com", strings.Repeat("x", 41)} {
			if a := s.press(page, "ticket", robin, "name-"+robin, "Robin L.", "say-"+robin, "like", "like-"+robin, words); a.status != 422 {
				t.Errorf("the words %q: status %d, want 422", words, a.status)
			}
		}
		s.goes(mine+"?done=name", mine+"/name", "name", "Robin of the Woods")
		if a := s.press(page, "ticket", robin, "name-"+robin, "Robin L.", "say-"+robin, "name"); a.status != 409 {
			t.Errorf("a name that was changed meanwhile: status %d, want 409", a.status)
		}
		s.goes(page, page, "ticket", robin, "name-"+robin, "Robin of the Woods", "say-"+robin, "name")
		s.goes(page, page, "ticket", kim, "name-"+kim, "5h1t", "say-"+kim, "like", "like-"+kim, "Kim")
		s.shows(page, "All names were seen.")
		s.shows(page+"?all", "Robin of the Woods")
		s.shows("/desk/g/boots/show", "Names to be said Ready. You have seen 2 names.")
		if a := s.press(other+"/name", "name", "www.example.com"); a.status != 422 || !strings.Contains(a.body, "www.example.com") || !strings.Contains(textOf(a.body), "Please leave links and addresses out of the name.") {
			t.Errorf("a link for a name: status %d: %s", a.status, textOf(a.body))
		}
		s.goes(other+"?done=noname", other+"/name", "name", "")
		s.shows(other+"?done=noname", "No name will be said.")
		s.shows("/desk/g/boots/show", "You have seen one name.")
		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		if a := s.press(mine+"/name", "name", "Late"); a.status == 303 {
			t.Errorf("a name after the lock: status %d", a.status)
		}
		if strings.Contains(s.get(mine).body, mine+"/name") {
			t.Error("the page offers a change after the lock")
		}
		onlyPlainWords(t, s)
	})
}

// After the draw: the page before the show has the result's text, and the
// giveaway's page leads to the next one that can be entered.
func TestAfterTheShow(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	s.post1("robin@example.com")
	s.posted("socks", strings.NewReplacer(`"boots"`, `"socks"`, "Win a pair of hiking boots", "Win a pair of socks", "2026-08-22T16:00", "2026-09-22T16:00", "2026-08-22T17:40", "2026-09-22T17:40").Replace(bootsTerms(t)))
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	if strings.Contains(s.get("/g/boots").body, `href="/g/socks"`) {
		t.Error("the next one stands on the page before the draw")
	}
	s.clock.set(event.Add(5 * time.Second))
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	s.shows("/g/boots", "The next one Win a pair of socks in your size. From Slow Miles; entering is free. Entries close Tuesday 22 September 2026, 4:00 pm New York time.")
	s.shows("/desk/g/boots/show", "The draw is made.", "After the show", "First: ticket ", "Check it yourself: ")
	s.shows("/desk/g/boots", "Get ready for the show")
	if a := s.press("/desk/g/boots/show/tick", "tick", "posted"); a.status != 303 || strings.Contains(s.get("/desk/g/boots").body, "posted under the video.") {
		t.Errorf("a tick after the draw: status %d", a.status)
	}
}

type nameOn struct{ ticket, say string }

var nameRow = regexp.MustCompile(`(?s)<fieldset class="row" data-name="(\w+)"><legend class="key"><span class="name">([^<]*)</span>.*?name="say-\w+" id="\w-\w+" value="(\w+)" checked`)

// namesOn reads the names of the page, each with what is offered.
func namesOn(page string) map[string]nameOn {
	found := map[string]nameOn{}
	for _, m := range nameRow.FindAllStringSubmatch(page, -1) {
		found[html.UnescapeString(m[2])] = nameOn{m[1], m[3]}
	}
	return found
}

var datetime = regexp.MustCompile(`<time datetime="([^"]+)"`)

// The event is moved by a week, over the end of summer time in New York on
// 1 November 2026 (testdata/facts/time.md): every page, the posted text, the
// text under the video and the calendar file mean one instant, the wall time
// stays 8:30 pm. Each version of the calendar file is newer (RFC 5545, 3.8.7.4).
func TestOneInstant(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		opens := time.Date(2026, 10, 26, 16, 0, 0, 0, time.UTC)
		s := start(t, opens.Add(-time.Hour), database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", "2026-08-20T12:00", "2026-10-26T12:00", "2026-08-22T16:00", "2026-10-30T16:00", "2026-08-22T17:40", "2026-10-30T20:30")
		s.clock.set(opens.Add(time.Hour))
		mine := s.post1("robin@example.com")
		before, after := "2026-10-31T00:30:00Z", "2026-11-07T01:30:00Z" // 20:30 at UTC-4, a week later at UTC-5
		s.oneInstant(mine, before, "Friday 30 October 2026, 8:30 pm New York time", 0)
		s.changed("boots", "revision", "1", "closes", "2026-11-06T16:00", "event", "2026-11-06T20:30", "rules", boots)
		s.oneInstant(mine, after, "Friday 6 November 2026, 8:30 pm New York time", 1)
		s.goes("/desk/g/boots", "/desk/g/boots/cancel", "reason", "prize-withdrawn", "seen", "before")
		ics := s.get("/g/boots/calendar.ics").body
		if !strings.Contains(ics, "\r\nSTATUS:CANCELLED\r\n") || !strings.Contains(ics, "\r\nSEQUENCE:2\r\n") {
			t.Errorf("called off: %s", ics)
		}
	})
}

// post1 enters and returns the private page.
func (s *service) post1(email string, more ...string) (path string) {
	s.t.Helper()
	a := s.press("/g/boots", append([]string{"email", email, "system", "womens", "size", "8", "width", "B", "live", "US", "state", "ME",
		"age", "18-or-over", "rules", "yes"}, more...)...)
	if a.status != 303 {
		s.t.Fatalf("enter: status %d: %s", a.status, textOf(a.body))
	}
	return a.to
}

// oneInstant looks for the event's instant wherever it is said.
func (s *service) oneInstant(mine, utc, words string, version int) {
	s.t.Helper()
	for _, path := range []string{"/g/boots", mine, "/desk/g/boots/show"} {
		body := s.get(path).body
		if path != mine && !strings.Contains(textOf(body), words) {
			s.t.Errorf("GET %s lacks %q: %s", path, words, textOf(body))
		}
		if path == "/g/boots" && !strings.Contains(body, `datetime="`+utc+`"`) {
			s.t.Errorf("GET %s has the instants %v, not %s", path, datetime.FindAllStringSubmatch(body, -1), utc)
		}
		if path != "/desk/g/boots/show" && !strings.Contains(body, `href="/g/boots/calendar.ics"`) {
			s.t.Errorf("GET %s: no calendar file", path)
		}
	}
	s.shows("/desk/g/boots/spread", words)
	if version > 0 { // the text itself has no time in it
		s.shows("/g/boots/rules", words)
	}
	if note := s.get("/g/boots/fair/opening.txt").body; !strings.Contains(note, "\nevent "+utc+"\n") {
		s.t.Errorf("posted: %s", note)
	}
	a := s.get("/g/boots/calendar.ics")
	want := strings.NewReplacer("-", "", ":", "").Replace(utc)
	for _, line := range []string{"\r\nDTSTART:" + want + "\r\n", fmt.Sprintf("\r\nSEQUENCE:%d\r\n", version), "\r\nSTATUS:CONFIRMED\r\n", "\r\nUID:draw-boots@localhost\r\n"} {
		if !strings.Contains(a.body, line) {
			s.t.Errorf("the calendar file lacks %q: %s", line, a.body)
		}
	}
	if kind := a.header.Get("Content-Type"); kind != "text/calendar; charset=utf-8" {
		s.t.Errorf("it is sent as %q", kind)
	}
	unfolded := strings.ReplaceAll(a.body, "\r\n ", "")
	if !strings.Contains(unfolded, strings.ReplaceAll(words, ",", `\,`)) || strings.Contains(strings.ReplaceAll(unfolded, "\r\n", ""), "\n") {
		s.t.Errorf("the text: %q", unfolded)
	}
}

// The pages in a browser: nothing is too wide, no fault of axe, the copy button
// copies, and the page before the show looks again by itself.
func TestBeforeTheShowInABrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("needs a browser")
	}
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	s.goes("/desk/g/boots/show/pair", "/desk/g/boots/show/pair")
	s.post1("robin@example.com", "name", strings.Repeat("Wandervogel", 3)+" Rоbin") // one letter is Cyrillic
	b := browsertest.New(t)
	signIn(s, b)
	b.Open(s.base + "/desk/g/boots/show")
	look(t, b, "show-early")
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	browsertest.Eval[bool](b, `document.dispatchEvent(new Event("visibilitychange"))`)
	until(t, b, "[data-fresh]", "It is posted")
	if got := b.Submit(`form:has(input[value="posted"]) button`); got != 200 || !strings.Contains(b.Text("[data-fresh]"), "You said that the list’s fingerprint is posted.") {
		t.Errorf("the tick: status %d: %s", got, b.Text("[data-fresh]"))
	}
	look(t, b, "show-locked")
	for _, id := range []string{"before", "at"} {
		b.Click(`[data-copy="post-` + id + `"]`)
		until(t, b, `[data-copy="post-`+id+`"] + [role=status]`, "Copied.")
	}
	b.Open(s.base + "/desk/g/boots/show/pair")
	if wide := browsertest.Eval[int](b, `document.querySelector("img.qr").naturalWidth`); wide == 0 {
		t.Error("the remote's code is not shown")
	}
	look(t, b, "show-pair")
	b.Open(s.base + "/desk/g/boots/show/names")
	look(t, b, "show-names")
	b.Click(`input[value="like"]`)
	if got := b.Submit(".button"); got != 422 {
		t.Errorf("no words: status %d, want 422", got)
	}
	look(t, b, "show-names-fault")
	s.goes("/desk/g/boots/show/rehearse", "/desk/g/boots/show/rehearse")
	b.Open(s.base + "/desk/g/boots/show/rehearse")
	look(t, b, "show-rehearse")
}
