package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"evenhand/draw"
	"evenhand/giveaway"
)

// cancel explains that the draw will never be made.
func (p *program) cancel(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	successor := set.String("successor", "", "")
	rest, chains, err := p.parseWithChains(set, args, 2, 2)
	if err != nil {
		return 0, err
	}
	h, err := hostOf(rest[0])
	if err != nil {
		return 0, err
	}
	switch {
	case h.has(draw.RecordFile):
		return 0, errors.New("the draw was made: it can't be cancelled any more")
	case h.has(draw.CancelledFile):
		return 0, fmt.Errorf("%s: %w", h.public(draw.CancelledFile), fs.ErrExist)
	case !draw.ValidRole(rest[1]):
		return 0, p.usage("want a reason's code such as prize-withdrawn: a-z, 0-9 and inner hyphens")
	case *successor != "" && !draw.ValidID(*successor):
		return 0, p.usage("--successor: want a draw id")
	}
	x, err := giveaway.Cancellation(h.opening, p.clock(), rest[1], *successor)
	if err != nil {
		return 0, err
	}
	note, err := h.sign(draw.CancelledFile, x.Text())
	if err != nil {
		return 0, err
	}
	if err := p.publish(ctx, h, chains, note); err != nil {
		return 0, err
	}
	p.print("cancelled %s\n", draw.Hash(x.Text()))
	return statusDone, nil
}
