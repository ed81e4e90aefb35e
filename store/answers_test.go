package store

import (
	"slices"
	"testing"
)

// The answers of those in the draw, newest first. What was withdrawn or erased
// is no longer among them: our own rule (who is out is out), and the rules’ promise
// to delete (giveaway/rulestext_after.go).
func TestEachAnswer(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("boots")
		s.open("other")
		tell := func(id, key, answer string, second int) [32]byte {
			n := person(key)
			n.Entry.Answers = map[string]string{"trail": answer}
			if answer == "" {
				n.Entry.Answers = nil
			}
			_, err := s.AddEntry(bg(), id, at(second), n)
			s.must(err)
			return n.LinkHash
		}
		want := func(id string, want ...string) {
			t.Helper()
			var got []string
			s.must(s.EachAnswer(bg(), id, func(answers map[string]string) { got = append(got, answers["trail"]) }))
			if !slices.Equal(got, want) {
				t.Errorf("answers of %s: %q, want %q", id, got, want)
			}
		}
		want("boots")
		tell("boots", "a@example.org", "the long way", 1)
		second := tell("boots", "b@example.org", `"quoted" <b>`, 2)
		tell("boots", "c@example.org", "", 3)
		tell("other", "a@example.org", "elsewhere", 4)
		want("boots", "", `"quoted" <b>`, "the long way")
		s.must(s.Withdraw(bg(), "boots", at(5), second))
		want("boots", "", "the long way")
		want("other", "elsewhere")
		_, err := s.write.Exec(eraseEntries, "boots", unix(at(6)), make([]byte, 32))
		s.must(err)
		want("boots")
	})
}
