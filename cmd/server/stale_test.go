package main

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"evenhand/draw"
)

var hiddenField = regexp.MustCompile(`<input type="hidden" name="(revision|seen)" value="([^"]*)"`)

// asShown reads the hidden field by which the desk knows what a window showed.
func asShown(t testing.TB, v *visitor, path string) (name, value string) {
	t.Helper()
	m := hiddenField.FindStringSubmatch(v.get(path).body)
	if m == nil {
		t.Fatalf("GET %s: no hidden field", path)
	}
	return m[1], m[2]
}

// bothIn is a second browser at the desk.
func bothIn(t *testing.T, s *service) *visitor {
	t.Helper()
	v := visit(t, s.base)
	v.goes("/desk", "/desk/in", "passphrase", passphrase)
	return v
}

const boots = "Rules of the Slow Miles boot giveaway\n\nThis giveaway is invented. One entry for each person.\n"

// Two windows: what the second posted is never undone by the first (what is
// posted binds; nobody may change it without seeing it).
func TestStaleChange(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		a, b := s.visitor, bothIn(t, s)
		name, was := asShown(t, a, "/desk/g/boots/later")
		b.changed("boots", name, was,
			"closes", "2026-08-22T16:00", "event", "2026-08-22T17:40", "rules", boots+"Boots only.\n")
		again := a.press("/desk/g/boots/later", name, was,
			"closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", boots)
		if again.status != http.StatusConflict || !strings.Contains(textOf(again.body), "These terms were changed in another window; look again.") {
			t.Errorf("a stale window: status %d, want 409: %s", again.status, textOf(again.body))
		}
		if !strings.Contains(again.body, "Boots only.") || !strings.Contains(again.body, `name="revision" value="2"`) || strings.Contains(again.body, "T18:40") {
			t.Error("the form is not filled anew from the terms as they are")
		}
		if rules := s.get("/g/boots/fair/" + draw.RulesFile).body; rules != boots+"Boots only.\n" {
			t.Errorf("the posted rules: %q", rules)
		}
		name, was = asShown(t, a, "/desk/g/boots/later")
		a.changed("boots", name, was,
			"closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", boots+"Boots only.\n")
		if note := s.get("/g/boots/fair/" + draw.OpeningFile).body; !strings.Contains(note, "\nevent 2026-08-22T22:40:00Z\n") {
			t.Errorf("the event did not move: %s", note)
		}
		if rules := s.get("/g/boots/fair/" + draw.RulesFile).body; rules != boots+"Boots only.\n" {
			t.Errorf("the rules went back: %q", rules)
		}
		// pressed twice, the second is led to the day-book
		a.changed("boots", name, was,
			"closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", boots+"Boots only.\n")
		if plain := a.press("/desk/g/boots/later", "closes", "2026-08-22T16:00", "event", "2026-08-22T19:40", "rules", boots); plain.status != http.StatusConflict {
			t.Errorf("a form that says nothing of what it showed: status %d, want 409", plain.status)
		}
	})
}

// A draft changed in another window is neither overwritten nor posted unseen.
func TestStaleDraft(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good()...)
	a, b := s.visitor, bothIn(t, s)
	name, was := asShown(t, a, "/desk/g/boots/terms")
	b.finishes("boots", "/desk/g/boots/terms", good(name, was, "prize", "One left boot")...)
	a.reads("boots")
	for _, page := range []string{"/desk/g/boots/terms", "/desk/g/boots/post"} {
		again := a.press(page, good(name, was)...)
		if text := textOf(again.body); again.status != http.StatusConflict || !strings.Contains(text, "These terms were changed in another window; look again.") || !strings.Contains(again.body, "One left boot") {
			t.Errorf("POST %s: status %d, want 409 and the draft as it is: %.300s", page, again.status, text)
		}
	}
	if got := s.get("/g/boots").status; got != http.StatusNotFound {
		t.Errorf("it was posted unseen: status %d", got)
	}
	name, was = asShown(t, a, "/desk/g/boots/post")
	a.goes("/desk/g/boots/spread", "/desk/g/boots/post", name, was)
	a.goes("/desk/g/boots/spread", "/desk/g/boots/post", name, was)
}
