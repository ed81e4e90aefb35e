package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

var (
	versionOn = regexp.MustCompile(`name="version" value="(\d+)"`)
	stageStep = regexp.MustCompile(`data-step="([a-z]+)"`)
	practised = regexp.MustCompile(`id="stage-full" readonly>[^<]*/g/(rehearsal-[0-9a-f]+)/stage\?key=(\w+)<`)
	pressedOn = regexp.MustCompile(`class="button" href="[^"]*(/remote/\w+)"`)
)

// A rehearsal goes through the whole evening, is marked on every screen, is
// nowhere in public, and leaves nothing: neither in the giveaway that it was
// made for nor, once it has ended, anywhere. What it must not do is the issue's
// own list, no outside source.
func TestRehearsal(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots", `"min_age": 18`, `"min_age": 21`) // whatever is asked of real people
		s.post1("robin@example.com", "name", "Robin L.", "age", "21-or-over")
		const page = "/desk/g/boots/show/rehearse"
		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")
		eve := event.Add(-time.Minute) // a rehearsal's number is then the one that was published
		s.clock.set(eve)
		before := s.publicBoots()
		s.shows(page, "Practise the whole evening.")
		if a := s.press(page); a.status != 303 {
			t.Fatalf("status %d: %s", a.status, s.logs)
		}
		html := s.get(page).body
		stage, remote := practised.FindStringSubmatch(html), pressedOn.FindStringSubmatch(html)
		if stage == nil || remote == nil {
			t.Fatalf("no addresses: %s", textOf(html))
		}
		id, guest := stage[1], visit(t, s.base)
		screen := fmt.Sprintf("/g/%s/stage?key=%s", id, stage[2])
		seen := map[string]bool{}
		for range 10 {
			a, b := guest.get(screen), guest.get(remote[1])
			step := stageStep.FindStringSubmatch(a.body)
			if a.status != 200 || b.status != 200 || step == nil {
				t.Fatalf("stage %d, remote %d: %s %s", a.status, b.status, textOf(b.body), s.logs)
			}
			over := guest.get(screen + "&overlay=1")
			if !strings.Contains(over.body, `class="mark">REHEARSAL<`) {
				t.Errorf("the overlay at %s is not marked: %s", step[1], over.body)
			}
			for where, body := range map[string]string{"the stage": a.body, "the remote": b.body} {
				if !strings.Contains(body, "REHEARSAL") || !strings.Contains(body, "Nobody can win anything in it.") {
					t.Errorf("%s at %s is not marked: %s", where, step[1], body)
				}
			}
			if seen[step[1]] = true; step[1] == "next" {
				break
			}
			if step[1] == "number" {
				if a := guest.press(remote[1]+"/forward", "version", versionOn.FindStringSubmatch(b.body)[1]); a.status != 409 || !strings.Contains(a.body, "It is not time yet") {
					t.Errorf("before its number: status %d: %s", a.status, textOf(a.body))
				}
				s.clock.set(event.Add(time.Second))
			}
			guest.goes(remote[1], remote[1]+"/forward", "version", versionOn.FindStringSubmatch(b.body)[1])
		}
		if len(seen) != 8 {
			t.Errorf("the pictures were %v, want soon to next", seen)
		}
		for _, path := range []string{"", "/rules", "/fair/", "/fair/" + draw.OpeningFile, "/fair/" + draw.RecordFile, "/check", "/line", "/line.bin", "/sheet", "/live", "/calendar.ics", "/t/"} {
			if a := guest.get("/g/" + id + path); a.status != 404 {
				t.Errorf("GET /g/%s%s: status %d, want 404", id, path, a.status)
			}
		}
		for _, path := range []string{"/desk", "/desk/g/boots", "/now", "/"} {
			if body := s.get(path).body; strings.Contains(body, giveaway.RehearsalID) {
				t.Errorf("GET %s has the rehearsal", path)
			}
		}
		s.clock.set(eve)
		if after := s.publicBoots(); after != before {
			t.Errorf("the giveaway was %s and is %s", before, after)
		}
		if a := s.press(page, "number", "no"); a.status != 303 {
			t.Errorf("without a number: status %d", a.status)
		}
		remote = pressedOn.FindStringSubmatch(s.get(page).body)
		for range 7 {
			guest.goes(remote[1], remote[1]+"/forward", "version", versionOn.FindStringSubmatch(guest.get(remote[1]).body)[1])
		}
		s.goes("/desk/g/boots/show", page+"/end")
		for _, path := range []string{screen, remote[1]} {
			if a := guest.get(path); a.status != 404 {
				t.Errorf("GET %s after the end: status %d, want 404", path, a.status)
			}
		}
		s.shows(page, "Practise the whole evening.")
		onlyPlainWords(t, s)
		if a := s.press("/desk/file", "terms", strings.Replace(bootsTerms(t), `"boots"`, `"rehearsal-boots"`, 1)); a.status != 422 {
			t.Errorf("terms of that name: status %d, want 422: %s", a.status, textOf(a.body))
		}
	})
}

// publicBoots is what the public has of the real giveaway.
func (s *service) publicBoots() string {
	note := s.get("/g/boots/fair/" + draw.OpeningFile)
	return fmt.Sprint(note.status, note.body, textOf(s.get("/g/boots/fair/").body))
}
