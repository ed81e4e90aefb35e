package sample

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
)

// enter sends the forms in, spread evenly over the time from opening to until,
// and withdraws those who change their mind, last of all.
func (l Loader) enter(ctx context.Context, g giveaway.Giveaway, crowd []person, until time.Time) error {
	var t Tally
	var leaving []string
	step := until.Sub(g.Opening.Opens) / time.Duration(len(crowd)+1)
	for i, p := range crowd {
		at := g.Opening.Opens.Add(step * time.Duration(i+1))
		entered, err := l.Intake.Enter(ctx, at, g, p.form)
		t.Sent++
		if err := t.count(err); err != nil {
			return fmt.Errorf("enter for %s: form %d: %w", g.ID, i+1, err)
		}
		if err == nil && p.leaves {
			leaving = append(leaving, entered.Link)
		}
	}
	for _, link := range leaving {
		if err := l.Intake.Withdraw(ctx, until.Add(-time.Second), g.ID, link); err != nil {
			return fmt.Errorf("withdraw from %s: %w", g.ID, err)
		}
		t.Withdrawn++
	}
	if l.Told != nil {
		l.Told(g.ID, t)
	}
	return nil
}

// count counts what came of one form; an error that is not an answer to an
// entrant is returned.
func (t *Tally) count(err error) error {
	var rejected *entries.Rejected
	switch {
	case err == nil:
		t.In++
	case errors.Is(err, entries.ErrAlreadyIn):
		t.Repeats++
	case errors.As(err, &rejected) && rejected.Verdict.Refusal != nil:
		t.Refused++
	default:
		return err
	}
	return nil
}
