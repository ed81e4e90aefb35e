package claims_test

import (
	"context"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Who is last in line is promised nobody after them (the rules: "If nobody is
// left in line, the prize is not given"). A letter that was sent stays as it was.
func TestLetterOfTheLastInLine(t *testing.T) {
	r := newRig(t, 2, 1)
	ctx := context.Background()
	letter := func(place int) string {
		t.Helper()
		l, err := r.c.Letter(ctx, event.Add(2*hour), boots, place)
		r.must(err)
		return l.Text
	}
	const next, none = "If nothing has come by then, the prize goes to the ticket that is next in line.", "If nothing has come by then, the prize is not given: nobody is next in line any more."
	r.link(event.Add(hour), 1)
	sent := letter(1)
	if !strings.Contains(sent, next) || strings.Contains(sent, none) {
		t.Errorf("while somebody is next in line:\n%s", sent)
	}
	_, err := r.c.Pass(ctx, event.Add(2*hour), boots, giveaway.Passing{Place: 2, Reason: draw.Withdrawn})
	r.must(err)
	last := letter(3)
	if !strings.Contains(last, none) || strings.Contains(last, next) || !strings.Contains(last, "was drawn as next in line, number 1, and now it is its turn.") {
		t.Errorf("the last in line:\n%s", last)
	}
	if again := letter(1); again != sent {
		t.Errorf("the letter that was sent has changed:\n%s", again)
	}
}
