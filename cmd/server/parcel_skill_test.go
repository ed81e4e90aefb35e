package main

import (
	"html"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/giveaway"
	"evenhand/internal/browsertest"
)

// askedDesk is a service at whose desk a giveaway was drawn whose rules put a
// skill question to winners who live in Canada, as everybody here does.
func askedDesk(t *testing.T) (s *service, private []string) {
	t.Helper()
	s = start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"min_age"`, `"answer_days": 7, "min_age"`,
		`"rules": "Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n"`, `"paragraphs": "`+giveaway.SkillParagraph+`"`)
	private = drawBoots(t, s)
	s.clock.set(event.Add(time.Hour))
	return s, private
}

var shownSum = regexp.MustCompile(`\((\d+) × (\d+)\) \+ (\d+) − \((\d+) ÷ (\d+)\)`)

// worked reads the sum on a page and works it out step by step, as a person
// does with paper; "" where there is none.
func worked(t *testing.T, page string) (text, result string) {
	t.Helper()
	m := shownSum.FindStringSubmatch(html.UnescapeString(page)) // a plus is written &#43;
	if m == nil {
		return "", ""
	}
	var n [5]int
	for i := range n {
		n[i], _ = strconv.Atoi(m[i+1])
	}
	if n[3]%n[4] != 0 {
		t.Errorf("%s has no whole result", m[0])
	}
	return m[0], strconv.Itoa(n[0]*n[1] + n[2] - n[3]/n[4])
}

const placeOne = "/desk/g/boots/place/1"

// sum is the sum on the claim page, and its result.
func (s *service) sum(claim string) (text, result string) {
	s.t.Helper()
	if a := s.press(claim, "show_sum", "yes"); a.status != 303 || a.to != claim {
		s.t.Fatalf("show the sum: status %d to %q: %s", a.status, a.to, textOf(a.body))
	}
	text, result = worked(s.t.(*testing.T), s.get(claim).body)
	if text == "" {
		s.t.Fatalf("no sum: %s", textOf(s.get(claim).body))
	}
	return text, result
}

// What the rules promise is done: the winner's page puts a sum before the claim,
// a wrong and a late answer come to the creator, who gives other sums; the right
// one leads on. Sponsor's page and private page say nothing of it.
func TestSkillQuestion(t *testing.T) {
	s, private := askedDesk(t)
	s.shows("/g/boots/rules", giveaway.SkillParagraph)
	page := s.leads(placeOne, "The letter to the winner is ready.", "I have sent it")
	if text := textOf(page); !strings.Contains(text, "This winner lives in Canada, and your rules put a skill question to them.") ||
		!strings.Contains(text, "it has a short sum to answer first, in 5 minutes and without help of any kind") {
		t.Errorf("before the letter: %s", text)
	}
	claim := claimLinks.FindString(page)
	s.goes(placeOne, placeOne+"/copied")
	for range 2 { // a GET changes nothing
		if text := s.shows(claim, "A short sum comes first.", "There are 5 minutes for it", "this site’s own choice", "It fits the locked list."); shownSum.MatchString(text) {
			t.Error("the sum stands there before it was asked for")
		}
	}
	if a := s.press(claim, claimFields...); a.status != 409 || !strings.Contains(a.body, "A short sum comes first.") {
		t.Errorf("the claim before the sum: status %d", a.status)
	}
	first, right := s.sum(claim)
	if again, _ := s.sum(claim); again != first {
		t.Errorf("the sum was %s and is %s", first, again)
	}
	// Asked for at 6:40:00 pm there, and five minutes on.
	s.shows(claim, "Work out this sum.", "There is time until Saturday 22 August 2026, 6:45 pm New York time", "No calculator, and no help of any kind.")
	s.shows(placeOne, "The winner has the sum before them. There is time for it until")
	if a := s.press(claim, "sum", "ninety"); a.status != 422 || !strings.Contains(a.body, "Please write the result in digits.") || !strings.Contains(a.body, `href="#f-sum"`) || !strings.Contains(a.body, `value="ninety"`) {
		t.Errorf("no number: status %d: %s", a.status, textOf(a.body))
	}
	s.goes(claim, claim, "sum", right+"0")
	s.shows(claim, "That was not the right answer.", "Slow Miles is told, and decides what comes next")
	s.goes(claim, claim, "sum", right) // the first one counts
	s.shows(claim, "That was not the right answer.")

	if got := filled(s.get("/desk/g/boots").body); len(got) != 1 || got[0] != "Decide about this place" {
		t.Errorf("the day-book's filled button: %q", got)
	}
	s.shows("/desk/g/boots/result", "the skill question was answered wrong")
	page = s.leads(placeOne, "The skill question was answered wrong.", "Let the winner try once more")
	if !strings.Contains(page, `value="ineligible" checked`) || !strings.Contains(textOf(page), "The skill question was answered wrong, on Saturday 22 August 2026, 6:40 pm New York time.") {
		t.Errorf("wrong: %s", textOf(page))
	}
	if a := s.press(placeOne + "/confirm"); a.status != 409 {
		t.Errorf("confirmed after a wrong answer: status %d", a.status)
	}
	for range 2 {
		s.goes(placeOne, placeOne+"/sum", "tried", "0")
	}
	const noted = "You let a winner whose answer to the skill question was wrong try once more, with another sum."
	if text := s.shows("/desk/g/boots", noted); strings.Count(text, noted) != 1 {
		t.Errorf("the day-book says it more than once: %s", text)
	}
	s.shows(placeOne, "The letter is out.", "You let the winner try once more on Saturday 22 August 2026, 6:40 pm")
	s.shows(claim, "Slow Miles lets you try once more, with another sum.")
	second, right := s.sum(claim)
	if second == first {
		t.Errorf("the same sum again: %s", second)
	}
	s.clock.set(s.clock.now().Add(5 * time.Minute))
	s.shows(claim, "The time for the sum is over.")
	s.leads(placeOne, "No answer came to the skill question.", "Let the winner try once more")
	s.goes(claim, claim, "sum", right)
	s.shows(claim, "The time for the sum is over.")
	s.leads(placeOne, "The skill question was answered too late.", "Let the winner try once more")
	s.goes(placeOne, placeOne+"/sum", "tried", "1")
	_, right = s.sum(claim)
	s.goes(claim, claim, "sum", right)
	s.shows(claim, "Your answer to the sum was right.", "Where should it go?")
	if a := s.press(claim, append([]string{"sure", "yes"}, claimFields...)...); a.status != 303 {
		t.Fatalf("the claim: status %d: %s", a.status, textOf(a.body))
	}
	s.leads(placeOne, "The answer is here.", "Confirm")
	s.shows(placeOne, "The skill question was answered right, on Saturday 22 August 2026, 6:45 pm New York time.")
	s.goes(placeOne, placeOne+"/confirm")
	holds(t, s, 0, 1)
	s.shows("/desk/g/boots", "the skill question was answered right.")
	for _, path := range append(private, s.sponsor(), "/g/boots", claim) {
		if text := strings.ToLower(s.shows(path)); strings.Contains(text, "skill") || strings.Contains(text, " sum") {
			t.Errorf("%s speaks of it: %s", path, text)
		}
	}
	onlyPlainWords(t, s)
}

// The other way on: the place is skipped because the rules don't allow it, and
// the winner's page says so. Once the time to answer is over as well, no other
// sum is offered.
func TestSkillQuestionSkipped(t *testing.T) {
	s, _ := askedDesk(t)
	s.goes(placeOne, placeOne+"/copied")
	claim := claimLinks.FindString(s.get(placeOne).body)
	s.sum(claim)
	s.goes(claim, claim, "sum", "0")
	s.clock.set(s.clock.now().Add(8 * 24 * time.Hour))
	s.leads(placeOne, "The skill question was answered wrong.", "Skip this place")
	if strings.Contains(s.get(placeOne).body, "try once more") {
		t.Error("another sum is offered though the page is closed")
	}
	s.goes(placeOne, placeOne+"/skip", "reason", "ineligible")
	if a := s.get(claim); a.status != 410 || !strings.Contains(textOf(a.body), "The reason: the rules don’t allow it.") {
		t.Errorf("the winner's page: status %d: %s", a.status, textOf(a.body))
	}
	if a := s.press(placeOne+"/sum", "tried", "0"); a.status != 409 {
		t.Errorf("another sum after the skip: status %d", a.status)
	}
	if a := s.press(placeOne + "/sum"); a.status != 400 {
		t.Errorf("a press that says nothing: status %d", a.status)
	}
	holds(t, s, 1, 0)
	onlyPlainWords(t, s)
}

// What came by chat or phone needs the creator's tick; there is a sum to read
// out.
func TestSkillQuestionByPhone(t *testing.T) {
	s, _ := askedDesk(t)
	s.get(placeOne)
	text, result := worked(t, s.get(placeOne+"/answer").body)
	if page := html.UnescapeString(textOf(s.get(placeOne + "/answer").body)); text == "" || !strings.Contains(page, "Read out this sum and give 5 minutes: "+text+" The right answer is "+result+".") {
		t.Errorf("no sum to read out: %s", page)
	}
	form := append([]string{"by", "phone"}, claimFields...)
	a := s.press(placeOne+"/answer", form...)
	if a.status != 422 || !strings.Contains(a.body, `href="#f-skill"`) || !strings.Contains(a.body, "tick this once the answer was right") {
		t.Errorf("without the tick: status %d: %s", a.status, textOf(a.body))
	}
	s.goes(placeOne, placeOne+"/answer", append(form, "skill", "yes")...)
	s.shows(placeOne, "The skill question was answered right, as you wrote down on")
	if body := s.get(placeOne + "/answer").body; !strings.Contains(body, `id="f-skill" name="skill" aria-required="true" value="yes" checked`) {
		t.Error("a correction asks for the tick anew")
	}
	s.goes(placeOne, placeOne+"/confirm")
	onlyPlainWords(t, s)
}

// All states in a browser, at every width, dark and light, worked without
// script: axe-core finds nothing.
func TestSkillQuestionInABrowser(t *testing.T) {
	s, _ := askedDesk(t)
	b := browsertest.New(t)
	b.Zone("America/Vancouver")
	b.Open(s.base + "/desk")
	b.Type("#passphrase", passphrase)
	b.Submit(".button")
	desk := func(name string) { t.Helper(); b.Open(s.base + placeOne); look(t, b, name) }
	desk("skill-letter")
	claim := claimLinks.FindString(s.get(placeOne).body)
	b.Submit(".button")
	b.Open(s.base + placeOne + "/answer")
	look(t, b, "skill-phone")

	press := func(selector, want string, status int) {
		t.Helper()
		b.Script(false)
		b.Open(s.base + claim)
		if selector == "#f-sum" {
			b.Type("#f-sum", want)
		}
		if got := b.Submit(selector); got != status {
			t.Fatalf("%s: status %d, want %d: %s", selector, got, status, b.Text("main"))
		}
		b.Script(true)
	}
	winner := func(name, head string) {
		t.Helper()
		b.Open(s.base + claim)
		if got := b.Text("h1"); got != head {
			t.Errorf("%s: heading %q, want %q", name, got, head)
		}
		look(t, b, name)
	}
	winner("skill-first", "Your ticket was drawn.")
	press("button[name=show_sum]", "", 200)
	winner("skill-sum", "Work out this sum.")
	press("#f-sum", "x", 422)
	look(t, b, "skill-sum-faults")
	press("#f-sum", "0", 200)
	winner("skill-wrong", "That was not the right answer.")
	desk("skill-wrong-desk")
	b.Submit(".button")
	press("button[name=show_sum]", "", 200)
	s.clock.set(s.clock.now().Add(6*time.Minute + 7*time.Second))
	winner("skill-late", "The time for the sum is over.")
	b.Open(s.base + placeOne)
	b.Submit(".button")
	press("button[name=show_sum]", "", 200)
	b.Open(s.base + claim)
	// The viewer's own time has the seconds too: 6:46:07 pm there, and five minutes on; Vancouver is three hours behind.
	if page := b.Text("main"); !strings.Contains(page, "6:51:07 pm New York time (3:51:07 pm where you are)") {
		t.Errorf("until when: %s", page)
	}
	_, right := worked(t, b.Text("main"))
	press("#f-sum", right, 200)
	b.Open(s.base + claim)
	if page := b.Text("main"); !strings.Contains(page, "Your answer to the sum was right.") || !strings.Contains(page, "Where should it go?") {
		t.Errorf("after the right answer: %s", page)
	}
	desk("skill-right-desk")
}
