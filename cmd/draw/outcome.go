package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"time"

	"evenhand/draw"
)

// outcome adds one line to the outcome: a place passed or confirmed.
func (p *program) outcome(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	anyway := set.Bool("anyway", false, "")
	rest, chains, err := p.parseWithChains(set, args, 3, 4)
	if err != nil {
		return 0, err
	}
	place, err := strconv.Atoi(rest[2])
	if err != nil || place < 1 {
		return 0, p.usage("want a place such as 1; this is %q", rest[2])
	}
	h, err := hostOf(rest[0])
	if err != nil {
		return 0, err
	}
	o, changes, err := h.nextOutcome()
	if err != nil {
		return 0, err
	}
	if err := o.open(place, rest[1] == "confirm"); err != nil {
		return 0, err
	}
	now, err := p.after(ctx, latest(o))
	if err != nil {
		return 0, err
	}
	switch {
	case rest[1] == "pass" && len(rest) == 4:
		o.pass(draw.Passed{Place: place, Reason: rest[3], At: now})
	case rest[1] == "confirm" && len(rest) == 3:
		o.confirm(draw.Confirmed{Place: place, At: now})
	default:
		return 0, p.usage("want pass PLACE REASON or confirm PLACE")
	}
	note, err := h.sign(draw.OutcomeFile, o.Text())
	if err != nil {
		return 0, err
	}
	note.replaces = o.Revision > 1
	changes = append(changes, note)
	remarks, err := h.precheck(ctx, chains, changes)
	if err == nil && len(remarks) > 0 && !*anyway {
		err = fmt.Errorf("nothing was written: a check would remark, for ever: %s\nwith --anyway it is published all the same", remarks[0].Text)
	}
	if err != nil {
		return 0, err
	}
	if err := p.publish(ctx, h, chains, changes...); err != nil {
		return 0, err
	}
	p.print("outcome %s\n", draw.Hash(o.Text()))
	p.say("revision %d: %d passed, %d confirmed", o.Revision, len(o.Passed), len(o.Confirmed))
	return statusDone, nil
}

// An outcome that is being made.
type nextOutcome struct{ draw.Outcome }

// nextOutcome is a copy of the outcome that stands, as the next revision, and
// the change that keeps the one that stands.
func (h host) nextOutcome() (*nextOutcome, []change, error) {
	r, hash, err := h.record()
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, errors.New("there is no record yet: use draw run first")
	}
	if err != nil {
		return nil, nil, err
	}
	text, err := h.note(draw.OutcomeFile)
	if errors.Is(err, fs.ErrNotExist) {
		return &nextOutcome{draw.Outcome{Draw: r.Draw, Record: hash, Revision: 1}}, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	o, err := draw.ParseOutcome(draw.OutcomeFile, text)
	if err != nil {
		return nil, nil, err
	}
	kept, err := h.kept(draw.OutcomeFile, o.Revision)
	o.Revision, o.Replaces = o.Revision+1, draw.Hash(text)
	return &nextOutcome{o}, []change{kept}, err
}

// open says why nothing can be added about a place that has a line.
func (o *nextOutcome) open(place int, confirm bool) error {
	for _, x := range o.Passed {
		if x.Place == place {
			return fmt.Errorf("place %d was passed %s, and stays passed", place, draw.FormatTime(x.At))
		}
	}
	for _, x := range o.Confirmed {
		if x.Place == place && confirm {
			return fmt.Errorf("place %d is confirmed already", place)
		}
	}
	return nil
}

// pass adds a pass; a confirmed place becomes a passed one.
func (o *nextOutcome) pass(x draw.Passed) {
	o.Confirmed = slices.DeleteFunc(o.Confirmed, func(c draw.Confirmed) bool { return c.Place == x.Place })
	o.Passed = append(o.Passed, x)
	slices.SortStableFunc(o.Passed, func(a, b draw.Passed) int { return a.Place - b.Place })
}

func (o *nextOutcome) confirm(x draw.Confirmed) {
	o.Confirmed = append(o.Confirmed, x)
	slices.SortStableFunc(o.Confirmed, func(a, b draw.Confirmed) int { return a.Place - b.Place })
}

// latest is the time of the latest line.
func latest(o *nextOutcome) (t time.Time) {
	for _, x := range o.Passed {
		if x.At.After(t) {
			t = x.At
		}
	}
	for _, x := range o.Confirmed {
		if x.At.After(t) {
			t = x.At
		}
	}
	return t
}
