package claims_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// A new link: the letter has to be sent again, the log says so, and the time to
// answer, seven days in the rules, runs anew from then and is never shorter.
func TestNewLinkHasToBeSent(t *testing.T) {
	ctx, r := context.Background(), newRig(t, 1, 2)
	r.link(event, 1)
	place := func() claims.Place {
		t.Helper()
		p, err := r.c.Place(ctx, event.Add(day), boots, 1)
		r.must(err)
		return p
	}
	told := place().Notice.Until
	l, err := r.c.NewLink(ctx, event.Add(day), boots, 1)
	r.must(err)
	again, err := r.c.NewLink(ctx, event.Add(day), boots, 1) // a double click
	r.must(err)
	if again.Link != l.Link {
		t.Error("pressed twice, there are two new links")
	}
	if p := place(); p.Notice != nil || p.Lapsed == nil || !p.Lapsed.Until.Equal(told) || l.Noticed || !l.Until.Equal(told.Add(day)) {
		t.Errorf("after a new link: notice %v, lapsed %v, letter until %v", p.Notice, p.Lapsed, l.Until)
	}
	log, err := r.db.Logged(ctx, boots)
	r.must(err)
	lines := 0
	for _, one := range log {
		if strings.Contains(one.What, "The letter has to be sent again") && one.At.Equal(event.Add(day)) {
			lines++
		}
	}
	if lines != 1 {
		t.Errorf("%d lines in the log, want one: %+v", lines, log)
	}
	_, err = r.c.Pass(ctx, told.Add(-hour), boots, giveaway.Passing{Place: 1, Reason: draw.NoReply})
	var soon giveaway.ErrTooEarly
	if !errors.As(err, &soon) || !soon.Until.Equal(told) {
		t.Errorf("skipped before the time that was told: %v", err)
	}
	if p, err := r.c.Place(ctx, told.Add(hour), boots, 1); err != nil || len(p.Proposals) != 0 {
		t.Errorf("a skip is proposed though the winner has no letter: %+v, %v", p.Proposals, err)
	}
	if _, err := r.c.Claim(ctx, told.Add(hour), boots, secret(l.Link)); err != nil {
		t.Errorf("the new link, after the time of the old letter: %v", err)
	}
	r.link(event.Add(2*day), 1)
	if p := place(); p.Notice == nil || p.Lapsed != nil || !p.Notice.Until.Equal(told.Add(2*day)) {
		t.Errorf("sent again: notice %v, lapsed %v", p.Notice, p.Lapsed)
	}
	_, err = r.c.Answer(ctx, event.Add(3*day), boots, secret(l.Link), sure(goodForm()))
	r.must(err)
	if _, err = r.c.NewLink(ctx, event.Add(3*day), boots, 1); !errors.Is(err, claims.ErrRace) {
		t.Errorf("a new link once there is an answer: %v", err)
	}
}
