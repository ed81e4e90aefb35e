package main

import (
	"regexp"
	"strings"
	"testing"
)

// What Canada wants of a winner (L-C2: Criminal Code s. 206, as the caution
// names it) comes with a paragraph that is ready: one press puts it into the
// rules, pressed twice it stands there once, and the reason to go on is
// proposed. With a text of rules of one's own nothing is offered.
func TestMakingReadyParagraph(t *testing.T) {
	const paragraph = "A winner who lives in Canada is asked a skill question before the prize is sent"
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("own", "/desk/new", good("draw", "own")...)
	if text := textOf(s.get("/desk/g/own/cautions").body); !strings.Contains(text, "no step here puts a skill question") || strings.Contains(text, paragraph) {
		t.Errorf("a text of one's own: %.900s", text)
	}
	s.finishes("boots", "/desk/new", good("rules", "", "paragraphs", "Be kind.\n")...)
	const path = "/desk/g/boots/cautions"
	mark := regexp.MustCompile(`name="mark" value="([0-9a-f]{64})"><p class="note">A paragraph that says so`).FindStringSubmatch(s.get(path).body)
	if mark == nil {
		t.Fatalf("no paragraph is offered: %.900s", textOf(s.get(path).body))
	}
	for range 2 {
		s.goes(path+"#c-"+mark[1], path, "mark", mark[1], "do", "paragraph")
		page := s.get(path)
		if text := textOf(page.body); strings.Count(text, paragraph) != 1 || !strings.Contains(text, "Your rules have this paragraph now") || !strings.Contains(page.body, `value="The rules have a paragraph about it."`) {
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
	s.readsOn(path, "mark", mark[1], "why", "The rules have a paragraph about it.")
}
