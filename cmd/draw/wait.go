package main

import (
	"context"
	"fmt"
	"time"

	"evenhand/draw"
)

// until waits for a time if asked to, or says how long it is until then.
func (p *program) until(ctx context.Context, at time.Time, wait bool, what string) error {
	left := at.Sub(p.now())
	if left <= 0 {
		return nil
	}
	if !wait {
		return fmt.Errorf("too early: %s is possible from %s, in %s\nwith --wait it waits until then",
			what, draw.FormatTime(at), roughly(left))
	}
	p.say("waiting for %s, in %s", draw.FormatTime(at), roughly(left))
	return p.sleepUntil(ctx, at)
}

// sleepUntil looks at the clock again after each nap, since a computer may
// sleep, or its clock be set, in between.
func (p *program) sleepUntil(ctx context.Context, at time.Time) error {
	for {
		left := at.Sub(p.now())
		if left <= 0 {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(min(left, time.Second)):
		}
	}
}

// roughly rounds a wait up to whole seconds.
func roughly(d time.Duration) time.Duration {
	return (d + time.Second - 1).Truncate(time.Second)
}

// stampAfter is the clock's time for a new stamp of a draw: later than all
// its stamps before. Stamps never run backwards, so it waits for the next
// second where that is needed, and refuses a clock that is behind.
func (p *program) stampAfter(ctx context.Context, h host) (time.Time, error) {
	last := h.opening.Revised
	if a, err := h.imported(); err == nil && a.Entered.After(last) {
		last = a.Entered
	}
	if last.IsZero() {
		return p.clock(), nil
	}
	return p.after(ctx, last.Add(time.Second))
}

// after is the clock's time, once it is at least at. A clock that is far
// behind is an error: something is wrong with it.
func (p *program) after(ctx context.Context, at time.Time) (time.Time, error) {
	if left := at.Sub(p.now()); left > 5*time.Second {
		return time.Time{}, fmt.Errorf("this computer's clock is %s behind an earlier stamp of this draw", roughly(left))
	}
	if err := p.sleepUntil(ctx, at); err != nil {
		return time.Time{}, err
	}
	return p.clock(), nil
}
