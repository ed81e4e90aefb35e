package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"evenhand/draw"
	"evenhand/giveaway"
)

// revise publishes the opening anew with what may change: a later closes or
// event, other rules.
func (p *program) revise(ctx context.Context, path string, t giveaway.Terms) (int, error) {
	h, err := hostOf(path)
	if err != nil {
		return 0, err
	}
	for _, name := range []string{draw.FreezeFile, draw.CancelledFile} {
		if h.has(name) {
			return 0, fmt.Errorf("%s stands: the posted terms can't be changed any more", name)
		}
	}
	old, err := h.terms()
	if err != nil {
		return 0, err
	}
	if err := onlyRevises(old, t); err != nil {
		return 0, err
	}
	stamp, err := p.stampAfter(ctx, h)
	if err != nil {
		return 0, err
	}
	base, c := changes(old, t)
	t, o, err := giveaway.Revision(base, h.opening, c, stamp)
	if err != nil {
		return 0, err
	}
	files, err := h.revision(o, t.Rules)
	if err != nil {
		return 0, err
	}
	if err := p.publish(ctx, h, nil, files...); err != nil {
		return 0, err
	}
	if err := h.keepTerms(t); err != nil {
		return 0, err
	}
	p.afterOpening(h, o, t)
	return statusDone, nil
}

// changes says what new terms change in those that stand. Rules left out stay
// what they are; other paragraphs have written rules written anew.
func changes(old, new giveaway.Terms) (giveaway.Terms, giveaway.Change) {
	c := giveaway.Change{Closes: &new.Closes, Event: &new.Event}
	if new.Rules == "" || new.RulesWritten && new.Rules == old.Rules {
		c.Paragraphs = &new.Paragraphs
	} else {
		c.Rules = &new.Rules
		old.Paragraphs = new.Paragraphs
	}
	return old, c
}

// onlyRevises refuses terms that differ in what a revision can't change. Second
// secrets that were given beside the terms stand in the old ones alone.
func onlyRevises(old, new giveaway.Terms) error {
	old.Closes, old.Event, old.Paragraphs = new.Closes, new.Event, new.Paragraphs
	old.Rules, old.RulesWritten, old.RulesDate = new.Rules, new.RulesWritten, new.RulesDate
	if len(new.Seconds) == 0 {
		old.Seconds = nil
	}
	a, errA := old.JSON()
	b, errB := new.JSON()
	if err := errors.Join(errA, errB); err != nil {
		return err
	}
	if string(a) != string(b) {
		return errors.New("these terms differ in more than closes, event and rules, and nothing else can be revised: " +
			"if they must, cancel this draw and open another")
	}
	return nil
}

// revision lists the files of a revision: what stood is kept first, and the
// new opening comes last.
func (h host) revision(o draw.Opening, rules string) ([]change, error) {
	kept, err := h.kept(draw.OpeningFile, h.opening.Revision)
	if err != nil {
		return nil, err
	}
	changes := []change{kept}
	if o.Rules != h.opening.Rules {
		old, err := h.oldRules()
		if err != nil {
			return nil, err
		}
		changes = append(changes, old, change{name: draw.RulesFile, data: []byte(rules), replaces: true})
	}
	note, err := h.sign(draw.OpeningFile, o.Text())
	note.replaces = true
	return append(changes, note), err
}

// oldRules keeps the rules that the opening names. After an interrupted
// revision they are kept already, and rules.txt is ahead of its opening.
func (h host) oldRules() (change, error) {
	name := draw.KeptFile(draw.RulesFile, h.opening.Revision)
	for _, from := range []string{draw.RulesFile, name} {
		data, err := os.ReadFile(h.public(from))
		if err == nil && draw.Hash(data) == h.opening.Rules {
			return change{name: name, data: data}, nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return change{}, err
		}
	}
	return change{}, fmt.Errorf("%s is not the text that the opening names", h.public(draw.RulesFile))
}
