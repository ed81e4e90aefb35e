package main

import (
	"regexp"
	"strings"
	"testing"
)

// What Canada wants of a winner (L-C2: Criminal Code s. 206, as the caution
// names it) comes with a paragraph that is ready: one press puts it into the
// rules, and the caution is gone, since the site then does it; pressed twice it
// stands there once. With a text of rules of one's own nothing is offered.
func TestMakingReadyParagraph(t *testing.T) {
	const paragraph = "A winner who lives in Canada is asked a skill question before the prize is sent"
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("own", "/desk/new", good("draw", "own")...)
	if text := textOf(s.get("/desk/g/own/cautions").body); !strings.Contains(text, "promise no skill question") || strings.Contains(text, paragraph) {
		t.Errorf("a text of one's own: %.900s", text)
	}
	s.finishes("boots", "/desk/new", good("rules", "", "paragraphs", "Be kind.\n", "worth_sum", "189", "worth_currency", "USD")...)
	const path = "/desk/g/boots/cautions"
	before := s.get(path).body
	mark := regexp.MustCompile(`name="mark" value="([0-9a-f]{64})"><p class="note">A paragraph that says so`).FindStringSubmatch(before)
	if mark == nil {
		t.Fatalf("no paragraph is offered: %.900s", textOf(before))
	}
	if filled := strings.Count(before, `<button class="button"`); filled != 1 || !strings.Contains(before, `<button class="button" name="do" value="paragraph">Add this paragraph, and go on`) {
		t.Errorf("%d filled buttons, want the one that adds the paragraph: %.900s", filled, textOf(before))
	}
	for range 2 {
		a := s.press(path, "mark", mark[1], "do", "paragraph")
		if to := a.header.Get("Location"); a.status != 303 || !strings.HasPrefix(to, path+"#c-") || strings.Contains(to, mark[1]) {
			t.Errorf("status %d to %s, want the next caution", a.status, to)
		}
		page := s.get(path).body
		if text := textOf(page); strings.Contains(text, paragraph) || strings.Contains(text, "Stop here first") || strings.Contains(text, "skill question") {
			t.Errorf("after the press: %.900s", text)
		}
	}
	if rules := textOf(s.get("/desk/g/boots/rules").body); strings.Count(rules, paragraph) != 2 || // among what is one’s own, and in the whole text
		!strings.Contains(rules, "Be kind.") {
		t.Errorf("the rules say: %.900s", rules)
	}
	if a := s.press(path, "mark", strings.Repeat("ab", 32), "do", "paragraph"); a.status != 409 {
		t.Errorf("a caution that is not there: status %d, want 409", a.status)
	}
}

// What a caution says is missing has its field beside it: the price, by its
// currency; filled in there it is in the terms. No source outside.
func TestMakingPriceBesideItsCaution(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good("worth_sum", "")...)
	const path = "/desk/g/boots/cautions"
	page := s.get(path).body
	mark := regexp.MustCompile(`(?s)name="mark" value="([0-9a-f]{64})"><p><b>No retail value is given`).FindStringSubmatch(page)
	if mark == nil || !strings.Contains(textOf(page), "Price in a shop, in US dollars") {
		t.Fatalf("no field for the price: %.1500s", textOf(page))
	}
	if a := s.press(path, "mark", mark[1], "worth_sum", "a lot"); a.status != 422 || !strings.Contains(textOf(a.body), "Write a sum such as 189") {
		t.Errorf("no sum: status %d", a.status)
	}
	if a := s.press(path, "mark", mark[1], "worth_sum", "189"); a.status != 303 {
		t.Errorf("a sum: status %d", a.status)
	}
	if page := s.get("/desk/g/boots/terms").body; !strings.Contains(page, `name="worth_sum" value="189.00"`) {
		t.Error("the terms lack the sum")
	}
	if text := textOf(s.get(path).body); strings.Contains(text, "No retail value is given") {
		t.Errorf("still missing: %.900s", text)
	}
}
