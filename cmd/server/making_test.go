package main

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// aForm opens a new form and returns its address.
func aForm(t *testing.T, v *visitor) string {
	t.Helper()
	a := v.get("/desk/new")
	if a.status != 303 || !strings.HasPrefix(a.to, "/desk/w/") {
		t.Fatalf("GET /desk/new: status %d to %q", a.status, a.to)
	}
	return a.to
}

var versionField = regexp.MustCompile(`name="version" value="(\d+)"`)

// versionAt is the version that the page at an address shows.
func versionAt(t *testing.T, v *visitor, path string) string {
	t.Helper()
	m := versionField.FindStringSubmatch(v.get(path).body)
	if m == nil {
		t.Fatalf("GET %s: no version", path)
	}
	return m[1]
}

// refused presses a button of a form and wants to be led back to it; it returns
// that page, which can be loaded again.
func (v *visitor) refused(path string, pairs ...string) answer {
	v.t.Helper()
	a := v.press(path, pairs...)
	at, look, _ := strings.Cut(a.to, "?look=")
	if a.status != 303 || look != "faults" && look != "table" {
		v.t.Errorf("POST %s: status %d to %q, want 303 to what is wrong: %.300s", path, a.status, a.to, textOf(a.body))
		return a
	}
	first, again := v.get(a.to), v.get(a.to)
	if first.status != 200 || first.body != again.body || !strings.Contains(first.body, `action="`+at+`"`) {
		v.t.Errorf("GET %s: status %d, or another page when loaded again", a.to, first.status)
	}
	return again
}

var (
	controls    = regexp.MustCompile(`<input ([^>]*)name="([^"]+)" value="([^"]*)"([^>]*)>`)
	firstOption = regexp.MustCompile(`<option value="([^"]*)"`)
)

// asItStands are the values that a form would send, but for long texts.
func asItStands(page string) (pairs []string) {
	for _, m := range controls.FindAllStringSubmatch(page, -1) {
		if (strings.Contains(m[1], "checkbox") || strings.Contains(m[1], "radio")) && !strings.Contains(m[4], "checked") {
			continue
		}
		pairs = append(pairs, m[2], html.UnescapeString(m[3]))
	}
	for _, m := range selects.FindAllStringSubmatch(page, -1) {
		v := chosen.FindStringSubmatch(m[2])
		if v == nil {
			v = firstOption.FindStringSubmatch(m[2])
		}
		pairs = append(pairs, m[1], html.UnescapeString(v[1]))
	}
	return pairs
}

// A form is kept as typed, goes on in another browser, and becomes a draft;
// after that it is gone. Each button pressed twice does what it did once.
func TestMakingIsKept(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		path := aForm(t, s.visitor)
		s.get(path)
		s.get(path)
		if page := s.shows("/desk", "No giveaway here yet."); strings.Contains(page, "Not finished") {
			t.Error("a form that was only looked at is kept")
		}
		s.goes(path, path, "do", "keep", "prize", "Hiking boots, “in your size” <b>", "zone", "Europe/London")
		s.clock.set(during.Add(time.Minute))

		phone := bothIn(t, s)
		phone.shows("/desk", "Not finished", "Hiking boots, “in your size”", "Kept Friday 21 August 2026, 9:00 pm London time")
		if page := phone.get(path).body; !strings.Contains(page, `value="Hiking boots, “in your size” &lt;b&gt;"`) || !strings.Contains(page, "Kept Friday 21 August 2026, 9:00 pm London time.") {
			t.Error("the phone does not show what was typed")
		}
		v := versionAt(t, phone, path)
		a := phone.press(path+"/keep", append(good(), "version", v)...)
		var kept struct {
			Version int64
			At      time.Time
			Said    map[string]string
		}
		must(t, json.Unmarshal([]byte(a.body), &kept))
		if a.status != 200 || fmt.Sprint(kept.Version) == v || !kept.At.Equal(during.Add(time.Minute)) {
			t.Errorf("kept by script: status %d: %s", a.status, a.body)
		}
		if want := "Saturday 22 August 2026, 5:40 pm New York time; that is 21:40 UTC. The list of entries locks itself at 5:10 pm, if you have not locked it before."; kept.Said["event"] != want {
			t.Errorf("the draw is said back as %q, want %q", kept.Said["event"], want)
		}
		if a := s.press(path+"/keep", append(good("prize", "Old boots"), "version", v)...); a.status != 409 {
			t.Errorf("the laptop, which has not seen it: status %d, want 409", a.status)
		}
		a = s.press(path, append(good("prize", "Old boots"), "version", v)...)
		if text := textOf(a.body); a.status != 409 || !strings.Contains(text, "This was changed in another window.") || !strings.Contains(a.body, "Old boots") {
			t.Errorf("the laptop's button: status %d, want 409 and what was typed: %.300s", a.status, text)
		}
		done := append(good(), "version", fmt.Sprint(kept.Version))
		spread(2, func(int) { s.finishes("boots", path, done...) })
		s.finishes("boots", path, done...)
		if a := s.get(path); a.status != 303 || a.to != "/desk/g/boots/terms" {
			t.Errorf("Back to the finished form: status %d to %q", a.status, a.to)
		}
		if page := s.shows("/desk", "One giveaway is here, not posted yet."); strings.Contains(page, "Not finished") {
			t.Error("the finished form is still listed")
		}
	})
}

// Keeping a form to go on later leads to the desk, which says so. What needs no
// answer needs none: the heading, the short name, the widths, the start and the
// numbers follow from the rest. D is the medium width of men's shoes
// (testdata/facts/sizing.json), B that of women's.
func TestMakingNeedsLittle(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	path := aForm(t, s.visitor)
	little := func(change ...string) []string {
		return append(append(asItStands(s.get(path).body), "prize", "A pair of hiking boots in your size", "sponsor", "Larkspur Trail Supply", "channel", "Slow Miles",
			"zone", "America/New_York", "closes", "2026-08-22T16:00", "event", "2026-08-22T17:40", "run_0_from", "7", "run_0_to", "14", "run_1_from", "6", "run_1_to", "9"), change...)
	}
	s.goes("/desk?kept="+strings.TrimPrefix(path, "/desk/w/"), path, little("do", "later")...)
	s.shows("/desk?kept="+strings.TrimPrefix(path, "/desk/w/"), "“A pair of hiking boots in your size” is kept.", "Kept Friday 21 August 2026, 4:00 pm New York time.")
	a := s.refused(path, little("do", "finish")...)
	if text := textOf(a.body); strings.Count(text, "This name is proposed.") != 2 || strings.Count(text, "Nothing is said yet about who gave the prize.") != 2 || strings.Count(a.body, "<li>") != 2 {
		t.Errorf("the rest is not taken: %.900s", text)
	}
	const id = "hiking-boots"
	s.finishes(id, path, append(asItStands(a.body), "do", "finish")...)
	s.shows("/desk/g/"+id+"/terms", "Men’s 7 to 14 in half sizes, widths D; women’s 6 to 9 in half sizes, widths B", "Left empty: as soon as you post it.", "3 are next in line; people’s data are deleted after 90 days; the list locks itself 30 minutes before the draw.")
	s.shows("/desk/g/"+id+"/preview", "Win a pair of hiking boots in your size.", "Back to the day-book")
	if page := s.get("/desk/new"); !strings.Contains(s.get(page.to).body, `name="channel" value="Slow Miles"`) || !strings.Contains(s.get(page.to).body, `name="zone" value="America/New_York"`) {
		t.Error("the next form does not know the channel and the zone")
	}
}

// What may be a slip is asked about once and refused never; another value is
// asked about anew. What can't be is refused in words of its own. Common
// practice, no source.
func TestMakingAsksOnce(t *testing.T) {
	for _, c := range []struct{ field, typed, want string }{
		{"event", "2029-08-22T17:40", "The draw would be in 2029, more than a year from now. Is that the year?"},
		{"closes", "2026-08-21T13:00", "This time is over, so nobody could enter."},
	} {
		s := start(t, during, "", "-data", t.TempDir())
		s.claim()
		path := aForm(t, s.visitor)
		a := s.refused(path, good(c.field, c.typed)...)
		if text := textOf(a.body); strings.Count(text, c.want) != 2 || !strings.Contains(text, "One field needs another look.") {
			t.Errorf("%s %s is not asked about: %.600s", c.field, c.typed, text)
		}
		said := []string{"asked", c.field + ":" + c.typed, "version", versionAt(t, s.visitor, path)}
		if !strings.Contains(a.body, `name="asked" value="`+said[1]+`"`) {
			t.Errorf("%s: the form forgets that it asked", c.field)
		}
		s.finishes("boots", path, append(good(c.field, c.typed), said...)...)
		other := aForm(t, s.visitor)
		s.refused(other, append(good("draw", "other", "event", "2030-08-22T17:40"), "asked", "event:2029-08-22T17:40")...)
		must(t, s.stop())
	}
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	if a := s.refused("/desk/new", good("event", "2026-08-22T15:00")...); strings.Count(textOf(a.body), "The draw would be before entries close. Close them earlier, or draw later.") != 2 {
		t.Errorf("a draw before the close: %.600s", textOf(a.body))
	}
}

// What a page sends late, after its form was finished, does not bring it back:
// nor does one that was never kept before.
func TestAFinishedFormIsNoGhost(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		path := aForm(t, s.visitor)
		s.finishes("boots", path, append(good(), "version", "0")...)
		if a := s.press(path+"/keep", append(good(), "version", "0")...); a.status != 409 {
			t.Errorf("kept late: status %d, want 409", a.status)
		}
		terms := "/desk/g/boots/terms"
		_, was := asShown(t, s.visitor, terms)
		change := append(good("prize", "Red boots"), "seen", was, "version", "0")
		s.finishes("boots", terms, change...)
		if a := s.press(terms+"/keep", change...); a.status != 409 {
			t.Errorf("changes kept late: status %d, want 409", a.status)
		}
		// Changes that are not finished go with the draft when it is posted.
		s.goes(terms, terms, append(good("prize", "Blue boots", "do", "keep"), "version", versionAt(t, s.visitor, terms))...)
		s.shows("/desk", "changes of a draft")
		s.posts("boots")
		if page := s.get("/desk").body; strings.Contains(page, "Not finished") || strings.Contains(page, "changes of a draft") {
			t.Error("a finished form is listed")
		}
	})
}

// Two windows at once lose nothing without a word: of two giveaways of one name
// one is kept, and of two changes of one draft.
func TestTwoWindowsFinishAtOnce(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		forms := []string{aForm(t, s.visitor), aForm(t, s.visitor), aForm(t, s.visitor), aForm(t, s.visitor)}
		met := make(chan int, len(forms))
		spread(len(forms), func(n int) {
			a := s.press(forms[n], append(good("prize", fmt.Sprint("Boots ", n)), "version", "0")...)
			if strings.HasSuffix(a.to, "?look=faults") {
				a.status = 422
				s.shows(a.to, "There is a giveaway of this short name already.")
			}
			met <- a.status
		})
		counts := map[int]int{}
		for range forms {
			counts[<-met]++
		}
		if counts[303] != 1 || counts[422] != len(forms)-1 {
			t.Errorf("four new ones of one name: %v, want one made and the others refused", counts)
		}
		terms := "/desk/g/boots/terms"
		_, was := asShown(t, s.visitor, terms)
		spread(len(forms), func(n int) {
			met <- s.press(terms, append(good("prize", fmt.Sprint("Red boots ", n)), "seen", was, "version", "0")...).status
		})
		clear(counts)
		for range forms {
			counts[<-met]++
		}
		if counts[303] != 1 || counts[409] != len(forms)-1 {
			t.Errorf("four changes of one draft: %v, want one 303 and 409s", counts)
		}
		// Posted is what a page has shown, or nothing.
		s.reads("boots")
		for _, seen := range []string{"", was} {
			if a := s.press("/desk/g/boots/post", "seen", seen); a.status != 409 {
				t.Errorf("posted with seen=%q: status %d, want 409", seen, a.status)
			}
		}
	})
}

// Changes of a draft are kept apart from it until they are finished, and can
// be thrown away.
func TestMakingChanges(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good()...)
	terms := "/desk/g/boots/terms"
	_, was := asShown(t, s.visitor, terms)
	change := append(good("prize", "Red boots"), "seen", was)
	s.goes(terms, terms, append(change, "do", "keep")...)
	s.shows("/desk", "changes of a draft")
	s.shows(terms, "These are changes that you have not finished.")
	if page := s.get("/desk/g/boots/preview").body; strings.Contains(page, "Red boots") {
		t.Error("what is not finished is in the draft")
	}
	s.goes("/desk/g/boots", terms+"/drop")
	s.goes("/desk/g/boots", terms+"/drop")
	if page := s.get(terms).body; strings.Contains(page, "Red boots") {
		t.Error("what was thrown away is there")
	}
	s.finishes("boots", terms, append(change, "version", versionAt(t, s.visitor, terms))...)
	if page := s.get("/desk/g/boots/preview").body; !strings.Contains(page, "Red boots") {
		t.Error("what was finished is not in the draft")
	}
}

// The wall times of testdata/facts/time.md (IANA 2026f): one that never comes
// is refused with its neighbours to choose, one that comes twice is asked.
func TestMakingTimes(t *testing.T) {
	for _, c := range []struct {
		id, zone, local string
		ask, choice     string // field and value that is offered
		utc, said       string
	}{
		{"TZ-03", "America/New_York", "2026-03-08T02:30", "event_take", "2026-03-08T01:59", "2026-03-08T06:59:00Z", "Sunday 8 March 2026, 1:59 am New York time; that is 06:59 UTC."},
		{"TZ-03", "America/New_York", "2026-03-08T02:30", "event_take", "2026-03-08T03:00", "2026-03-08T07:00:00Z", "Sunday 8 March 2026, 3:00 am New York time; that is 07:00 UTC."},
		{"TZ-09", "America/New_York", "2026-11-01T01:30", "event_which", "1", "2026-11-01T05:30:00Z", "Sunday 1 November 2026, 1:30 am New York time; that is 05:30 UTC."},
		{"TZ-09", "America/New_York", "2026-11-01T01:30", "event_which", "2", "2026-11-01T06:30:00Z", "Sunday 1 November 2026, 1:30 am New York time; that is 06:30 UTC."},
		{"TZ-46", "Australia/Sydney", "2027-04-04T02:30", "event_which", "1", "2027-04-03T15:30:00Z", "Sunday 4 April 2027, 2:30 am Sydney time; that is 15:30 UTC on Saturday 3 April."},
		{"TZ-46", "Australia/Sydney", "2027-04-04T02:30", "event_which", "2", "2027-04-03T16:30:00Z", "Sunday 4 April 2027, 2:30 am Sydney time; that is 16:30 UTC on Saturday 3 April."},
	} {
		s := start(t, time.Date(2026, 2, 1, 12, 0, 0, 0, time.UTC), "", "-data", t.TempDir())
		s.claim()
		form := good("zone", c.zone, "event", c.local, "opens", "2026-02-02T12:00", "closes", "2026-02-09T12:00")
		a := s.refused("/desk/new", form...)
		if a.status != 200 || !strings.Contains(a.body, fmt.Sprintf(`type="radio" name="%s" value="%s"`, c.ask, c.choice)) {
			t.Errorf("%s: status %d, and %s is not offered: %s", c.id, a.status, c.choice, textOf(a.body))
			continue
		}
		s.finishes("boots", "/desk/new", append(form, c.ask, c.choice, "asked", "event:"+c.local)...)
		s.shows("/desk/g/boots/terms", c.said)
		s.posts("boots")
		if note := s.get("/g/boots/fair/" + draw.OpeningFile).body; !strings.Contains(note, "\nevent "+c.utc+"\n") {
			t.Errorf("%s: the posted terms: %s", c.id, note)
		}
		must(t, s.stop())
	}
}

// A pasted table goes into the rows; its numbers are not kept, and the page
// says so. What can't be read stays in its field. Source: invented.
func TestMakingTable(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	path := aForm(t, s.visitor)
	a := s.refused(path, "do", "table", "prize", "Boots", "table", "Men's\tD\t2E\n10\t4\tlots\n")
	if text := textOf(a.body); a.status != 200 || strings.Count(text, "Line 2: “lots” is neither a mark nor a number.") != 2 || !strings.Contains(a.body, "lots\n</textarea>") && !strings.Contains(a.body, "lots") {
		t.Errorf("a table that can't be read: status %d: %s", a.status, text)
	}
	a = s.press(path, "do", "table", "prize", "Boots", "version", versionAt(t, s.visitor, path), "run_0_system", "womens", "run_0_from", "6", "run_0_to", "9", "run_0_step", "half", "run_0_widths", "B",
		"scale", "3", "table", "Men's\tD\t2E\n10\t4\t0\n10.5\t1\t2\n")
	if a.status != 303 {
		t.Fatalf("a table: status %d: %s", a.status, textOf(a.body))
	}
	to, _, _ := strings.Cut(a.to, "#")
	s.shows(to, "Its numbers of pairs are not kept.",
		"Men’s 10 to 10½ in half sizes, widths D; men’s 10½, widths 2E; women’s 6 to 9 in half sizes, widths B: 10 sizes in all.")
}

// The short name is proposed from the heading, free of those that are taken,
// and asked about once. A sentence on who gave the prize is not.
func TestMakingProposes(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good()...)
	path := aForm(t, s.visitor)
	a := s.refused(path, good("draw", "", "disclosure", "")...)
	if want := `name="draw" value="boots-2"`; a.status != 200 || !strings.Contains(a.body, want) {
		t.Errorf("status %d, want %s", a.status, want)
	}
	if strings.Contains(a.body, `name="disclosure_kind" value="nothing" checked`) || !strings.Contains(a.body, `id="f-disclosure" name="disclosure" value=""`) {
		t.Error("who gave the prize is answered, though nobody said it")
	}
	s.finishes("boots-2", path, good("draw", "boots-2", "version", versionAt(t, s.visitor, path))...)
}

// Nothing is said of who gave the prize before somebody chooses it; then it is
// what they chose, and the form brings it back. Source: the sentences of the
// form itself; the caution is L-A9a (16 CFR 255): it stays until something is said.
func TestMakingDisclosure(t *testing.T) {
	const begin = "Larkspur Trail Supply gives the prize, and pays Slow Miles "
	const also = "Larkspur Trail Supply gives the prize, and also gives Slow Miles "
	for _, c := range []struct{ kind, more, own, want string }{
		{"", "", "", ""},
		{"nothing", "", "", begin + "nothing else."},
		{"more", "a fee for this video.", "", also + "a fee for this video."},
		{"own", "", "The boots are a gift.", "The boots are a gift."},
		{"nothing", "left over", "Left over.", begin + "nothing else."},
	} {
		s := start(t, during, "", "-data", t.TempDir())
		s.claim()
		s.finishes("boots", "/desk/new", good("disclosure_kind", c.kind, "disclosure_more", c.more, "disclosure", c.own, "asked", "disclosure_kind:")...)
		cautions := textOf(s.get("/desk/g/boots/cautions").body)
		if asked := strings.Contains(cautions, "no sentence says so to viewers."); asked != (c.want == "") {
			t.Errorf("%q: it is asked who gave the prize: %v", c.kind, asked)
		}
		terms := s.get("/desk/g/boots/terms").body
		if c.kind != "" && !strings.Contains(terms, `name="disclosure_kind" value="`+c.kind+`" checked`) {
			t.Errorf("%q does not come back", c.kind)
		}
		s.reads("boots")
		if post := textOf(s.get("/desk/g/boots/post").body); c.want != "" && !strings.Contains(post, c.want) || c.want == "" && strings.Contains(post, "gives the prize") {
			t.Errorf("%q: the page to post from lacks %q: %.600s", c.kind, c.want, post)
		}
		must(t, s.stop())
	}
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	for kind, want := range map[string]string{"more": "Say what else, such as: a fee for this video.", "own": "Write the sentence, or choose one of the two above."} {
		if a := s.refused("/desk/new", good("disclosure_kind", kind, "disclosure", "")...); a.status != 200 || strings.Count(textOf(a.body), want) != 2 {
			t.Errorf("%q with nothing: status %d, want %q twice", kind, a.status, want)
		}
	}
}

// A time zone that can't be read hides nothing else: all is said at once.
func TestMakingFaultsAtOnce(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	a := s.refused("/desk/new", good("zone", "EST", "opens", "", "closes", "2026-08-22T16:00", "event", "2026-08-22T16:05", "winners", "many", "prize", "", "draw", "Boots!",
		"run_0_widths", "", "run_1_from", "9", "run_1_to", "6", "run_1_widths", "B", "min_age", "old", "keep_days", "ever")...)
	for _, want := range []string{"Choose a zone by its area and a place", "Leave at least 10 minutes between", "How many win one : Write a number from 1 to 10000.",
		"What is given away : Fill this in.", "Write a short name of", "The largest size is below the smallest", "Youngest age : Write a number from 0 to 99.", "Days after the end until people’s data are deleted : Write a number from 1 to 3650."} {
		if a.status != 200 || !strings.Contains(textOf(a.body), want) {
			t.Errorf("status %d, want %q among the rest: %.900s", a.status, want, textOf(a.body))
		}
	}
}

// An empty form is told what it lacks, and not what follows from the rest.
func TestMakingOfNothing(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	path := aForm(t, s.visitor)
	a := s.refused(path, append(asItStands(s.get(path).body), "do", "finish")...)
	var labels []string
	for _, m := range regexp.MustCompile(`<li><a href="#f-[a-z_0-9]+">([^<]+)</a>`).FindAllStringSubmatch(a.body, -1) {
		labels = append(labels, m[1])
	}
	if got, want := strings.Join(labels, ", "), "What is given away, Who sends the prize, Your channel, Who gave the prize, Time zone, Entries close, The draw"; got != want {
		t.Errorf("it lacks %s, want %s", got, want)
	}
	s.finishes("boots", "/desk/new", good()...)
	if text := textOf(s.get(aForm(t, s.visitor)).body); !strings.Contains(text, "Or start from an earlier one: Win boots .") && !strings.Contains(text, "Or start from an earlier one: Win boots.") || strings.Contains(text, "boots..") {
		t.Errorf("earlier ones: %.500s", text)
	}
}

// The next one starts from an earlier one: all but its name, its times and
// the others' secrets.
func TestMakingTheNextOne(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good("worth_sum", "189.50", "worth_currency", "CAD", "second_0_who", "The shop", "second_0_hash", strings.Repeat("ab", 32),
		"q_0_label", "Which trail?", "q_0_kind", "text", "barred", "Staff of the shop.\njune@larkspur.example", "barred_tick", "yes")...)
	a := s.get("/desk/new?from=boots")
	page := s.get(a.to).body
	for _, want := range []string{`value="189.50"`, `value="CAD" selected`, `value="Which trail?"`, "june@larkspur.example", `name="barred_tick" value="yes" checked`, `value="The shop"`, `name="zone" value="America/New_York"`} {
		if !strings.Contains(page, want) {
			t.Errorf("%s is not taken over", want)
		}
	}
	for _, not := range []string{strings.Repeat("ab", 32), `value="boots"`, "2026-08-22"} {
		if strings.Contains(page, not) {
			t.Errorf("%s is taken over", not)
		}
	}
	if a := s.get("/desk/w/aaaaaaaaaaaaaaaaaaaa?from=nothing"); a.status != 404 {
		t.Errorf("from a giveaway that is not there: status %d", a.status)
	}
}

// Nothing that is typed breaks the form: it answers with sentences.
func TestMakingHostile(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	big := strings.Repeat("ä", 1<<19)
	for _, change := range [][]string{
		{"title", big}, {"prize", "a\tb"}, {"winners", "99999999999999999999999"}, {"winners", "-1"}, {"worth_sum", "999999999999999999999"},
		{"worth_sum", "0"}, {"zone", "../../etc/passwd"}, {"zone", "America/New_York\x00"}, {"zone", strings.Repeat("A/", 9999)}, {"event", "9999-12-31T23:59"}, {"event", big},
		{"run_0_from", "1e9"}, {"run_0_to", "99999999999"}, {"run_0_except", strings.Repeat("9,", 9999)}, {"run_0_widths", big}, {"run_0_system", "kids"}, {"run_0_step", "odd"}, {"scale", "-4"},
		{"live", big}, {"not_ship", "US-XX"}, {"barred", strings.Repeat("x\n", 999)}, {"carriers", "owl"}, {"q_0_label", "a", "q_0_kind", "odd"},
		{"q_0_label", "a", "q_0_kind", "choice", "q_0_choices", "one"}, {"second_0_hash", "zz"}, {"second_0_who", "host", "second_0_hash", strings.Repeat("ab", 32)}, {"follows", "boots"},
		{"rules", strings.Repeat("r", 300_000)}, {"paragraphs", strings.Repeat("r", 30_000)}, {"table", big}, {"worth_currency", "XXX", "worth_sum", "5"},
	} {
		a := s.refused("/desk/new", good(change...)...)
		if text := textOf(a.body); a.status != 200 || !strings.Contains(text, "need") {
			t.Errorf("%s %.30q: status %d, want sentences: %.300s", change[0], change[1], a.status, text)
		}
	}
	s.finishes("boots", "/desk/new", good("prize", "a\x00b", "sponsor", "\xff\xfe")...)
	if page := s.get("/desk/g/boots/terms").body; !strings.Contains(page, "value=\"a\uFFFDb\"") {
		t.Error("a byte that no text has was not marked")
	}
	for _, path := range []string{"/desk/w/short", "/desk/w/" + strings.Repeat("x", 99), "/desk/w/..%2f..%2fxxxxxxxxxxxxxxxx"} {
		if a := s.get(path); a.status != 404 {
			t.Errorf("GET %s: status %d, want 404", path, a.status)
		}
	}
	if a := s.press("/desk/new", good("rules", strings.Repeat("r", 5<<20))...); a.status != 413 {
		t.Errorf("5 MB: status %d, want 413", a.status)
	}
	if a := s.do("POST", "/desk/new", "application/x-www-form-urlencoded", "title=%zz"); a.status != 400 && a.status != 422 {
		t.Errorf("a broken form: status %d", a.status)
	}
	if a := visit(t, s.base).press("/desk/w/aaaaaaaaaaaaaaaaaaaa/keep", "prize", "x"); a.status != 401 {
		t.Errorf("a stranger keeps a form: status %d, want 401 for the page's script", a.status)
	}
	s.shows("/desk", "Not finished")
}

// A test entry leaves no trace: neither in counts nor lists nor any table.
func TestPreviewLeavesNoTrace(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		data := t.TempDir()
		s := start(t, during, database, "-data", data)
		s.claim()
		s.finishes("boots", "/desk/new", good("barred", "Staff.", "barred_tick", "yes", "q_0_label", "Which trail?", "q_0_kind", "text")...)
		before := allRows(t, data, database)
		s.shows("/desk/g/boots/preview", "Only you see this.", "Closes Saturday 22 August, 4:00 pm New York time", "Win boots.", "I am none of these people.", "Which trail?", "Enter")
		preview := func(change ...string) answer {
			form := []string{"email", "robin@example.com", "system", "mens", "size", "10.5", "width", "D", "live", "US", "state", "ME", "age", "18-or-over", "rules", "yes", "barred", "yes"}
			return s.press("/desk/g/boots/preview", append(form, change...)...)
		}
		a := preview()
		if text := textOf(a.body); a.status != 200 || !strings.Contains(text, "Only you see this.") || !strings.Contains(a.body, "TEST") || !strings.Contains(text, "men’s 10½ D") {
			t.Errorf("a test entry: status %d: %s", a.status, text)
		}
		preview() // twice is no repeat
		if a := preview("barred", ""); a.status != 422 || !strings.Contains(textOf(a.body), "Please tick this if it is so.") {
			t.Errorf("without the tick: status %d", a.status)
		}
		if a := preview("age", "under-18"); a.status != 422 || !strings.Contains(textOf(a.body), "18") {
			t.Errorf("a refusal: status %d: %s", a.status, textOf(a.body))
		}
		if after := allRows(t, data, database); after != before {
			t.Errorf("the tables changed:\n%s\nbecame\n%s", before, after)
		}
		if a := s.get("/g/boots"); a.status != 404 {
			t.Errorf("others see the draft: status %d", a.status)
		}
		if a := visit(t, s.base).get("/desk/g/boots/preview"); a.status != 401 {
			t.Errorf("a stranger sees the preview: status %d", a.status)
		}
		s.posts("boots")
		s.shows("/desk/g/boots", "Nobody is in yet.")
		preview()
		s.shows("/desk/g/boots", "Nobody is in yet.")
		if logs := s.logs.String(); strings.Contains(logs, "robin") {
			t.Error("the log bears an address")
		}
	})
}

// allRows counts the rows of every table but the sessions.
func allRows(t *testing.T, data, database string) string {
	t.Helper()
	driver, source := "sqlite", "file:"+data+"/evenhand.db?mode=ro"
	list := `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name`
	if database != "" {
		driver, source = "pgx", database
		list = `SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema() ORDER BY table_name`
	}
	db, err := sql.Open(driver, source)
	must(t, err)
	defer db.Close()
	rows, err := db.Query(list)
	must(t, err)
	var names []string
	for rows.Next() {
		var name string
		must(t, rows.Scan(&name))
		names = append(names, name)
	}
	must(t, rows.Err())
	var b strings.Builder
	for _, name := range names {
		var n int
		must(t, db.QueryRow(`SELECT count(*) FROM `+name).Scan(&n))
		if name != "sessions" {
			fmt.Fprintf(&b, "%s %d\n", name, n)
		}
	}
	if len(names) < 5 {
		t.Fatalf("only %d tables", len(names))
	}
	return b.String()
}
