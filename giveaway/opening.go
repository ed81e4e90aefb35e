package giveaway

import (
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// HostRole is the role of the host's own seal.
const HostRole = "host"

// Opening makes the first posted terms from valid terms, the signer's verifier
// key and the seals, the host's among them, by ascending role. It is pure; the
// desk and the command line both use it.
func Opening(t Terms, verifierKey string, seals []draw.SealHash) (draw.Opening, error) {
	o := draw.Opening{
		Draw: t.Draw, Revision: 1, Signer: verifierKey,
		Opens: t.Opens.UTC, Closes: t.Closes.UTC, Event: t.Event.UTC,
		Winners: t.Winners, Alternates: t.Alternates,
		Rules: draw.Hash([]byte(t.Rules)), Seals: seals, Follows: t.Follows,
	}
	if t.Beacon == BeaconQuicknet {
		hash := draw.Digest(beacon.Quicknet().Hash)
		o.Beacon = &hash
	}
	if err := o.Validate(); err != nil {
		return draw.Opening{}, fmt.Errorf("make opening of %s: %w", t.Draw, err)
	}
	return o, nil
}

// Revision applies a change to the terms and their current opening. Revised is
// its stamp; the caller sees to it that it is later than every entry. What can
// not be is returned as [Problems].
func Revision(t Terms, o draw.Opening, c Change, revised time.Time) (Terms, draw.Opening, error) {
	next := o
	next.Revision, next.Replaces, next.Revised = o.Revision+1, draw.Hash(o.Text()), revised
	if c.Closes != nil {
		t.Closes, next.Closes = *c.Closes, c.Closes.UTC
	}
	if c.Event != nil {
		t.Event, next.Event = *c.Event, c.Event.UTC
	}
	problems := c.rules(&t, revised)
	next.Rules = draw.Hash([]byte(t.Rules))
	if problems = append(problems, checkChange(t, o, next)...); len(problems) > 0 {
		return Terms{}, draw.Opening{}, problems
	}
	if err := draw.CheckRevision(o, next); err != nil {
		return Terms{}, draw.Opening{}, fmt.Errorf("revise %s: %w", o.Draw, err)
	}
	return t, next, nil
}

// rules changes the rules. A new text of one's own stands as it is; new
// paragraphs have the rest written anew. A change of times alone leaves the
// text: it says that a later time in the posted terms counts.
func (c Change) rules(t *Terms, revised time.Time) (p Problems) {
	if c.Rules != nil && *c.Rules != t.Rules {
		t.Rules, t.RulesWritten, t.RulesDate = *c.Rules, false, time.Time{}
	}
	if c.Paragraphs == nil || *c.Paragraphs == t.Paragraphs {
		return nil
	}
	if !t.RulesWritten {
		p.add("paragraphs", "These rules are a text of your own. Change that text.")
		return p
	}
	t.Paragraphs = *c.Paragraphs
	*t = t.WithRules(revised)
	return nil
}

// checkChange says in a host's words what the protocol would refuse, and
// leaves time enough to lock the list before the event.
func checkChange(t Terms, old, next draw.Opening) Problems {
	var p Problems
	same := next.Closes.Equal(old.Closes) && next.Event.Equal(old.Event) && next.Rules == old.Rules
	if same {
		p.add("closes", "Change the closing time, the draw’s time or the rules; nothing here differs.")
	}
	if next.Closes.Before(old.Closes) {
		p.add("closes", "Closing can only move to a later time.")
	}
	if next.Event.Before(old.Event) {
		p.add("event", "The draw can only move to a later time.")
	}
	if next.Event.Before(next.Revised.Add(LeastLockMinutes * time.Minute)) {
		p.add("event", "Leave at least %d minutes from now, so that the list can be locked and seen before the draw.", LeastLockMinutes)
	}
	for _, one := range asProblems(t.Validate()) {
		switch one.Field {
		case "closes", "event", "rules", "paragraphs":
			p = append(p, one)
		}
	}
	return p
}

// chainOf returns the beacon chain that an opening names, if it names one that
// a host may use.
func chainOf(o draw.Opening) (beacon.Chain, bool) {
	quicknet := beacon.Quicknet()
	if o.Beacon == nil || *o.Beacon != draw.Digest(quicknet.Hash) {
		return beacon.Chain{}, false
	}
	return quicknet, true
}

func asProblems(err error) Problems {
	p, _ := err.(Problems)
	return p
}
