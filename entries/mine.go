package entries

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/giveaway"
)

// Mine returns what the entrant's private page shows. [ErrNoSuchLink] for a
// link that opens nothing, whatever is wrong with it.
func (i Intake) Mine(ctx context.Context, drawID, link string) (Private, error) {
	if !validLink(link) {
		return Private{}, ErrNoSuchLink
	}
	row, err := i.Store.EntryByLink(ctx, drawID, linkHash(drawID, link))
	if err != nil {
		return Private{}, fmt.Errorf("read private page: %w", err)
	}
	e, err := i.entered(drawID, row.ticketed(), row.Stamp)
	if err != nil {
		return Private{}, err
	}
	if !row.Erased.IsZero() {
		e.EntryText = nil // it was made of what is gone
	}
	return Private{Entered: e, Erased: row.Erased, Withdrawn: row.Withdrawn, Reason: row.Reason, Origin: row.Origin}, nil
}

func (s Stored) ticketed() Ticketed {
	return Ticketed{Ticket: s.Ticket, Salt: s.Salt, Commitment: s.Commitment, Entry: s.Entry}
}

// ChangeSize takes a new size from the form's size fields, until the lock. The
// ticket stays; salt, commitment and receipt are new. The same size changes
// nothing. Errors: [Rejected] (fields only), [ErrLocked], [ErrWithdrawn],
// [ErrNoSuchLink].
//
// Two changes of one entry never bear one second (draw protocol, "Proof of two
// faces"): the second waits for the next, with ctx.
func (i Intake) ChangeSize(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f Form) (Private, error) {
	mine, err := i.Mine(ctx, g.ID, link)
	switch {
	case err != nil:
		return Private{}, err
	case mine.Withdrawn:
		return mine, ErrWithdrawn
	case g.State != giveaway.StateOpen:
		return mine, ErrLocked
	}
	d := decision{form: f, terms: g.Terms}
	d.readSize()
	if len(d.Fields) > 0 {
		return mine, &Rejected{Verdict: d.Verdict}
	}
	if d.Entry.Size == mine.Entry.Size {
		return mine, nil
	}
	t := mine.Ticketed
	t.Entry.Size = d.Entry.Size
	if err := t.commit(i.Rand, g.ID); err != nil {
		return mine, fmt.Errorf("change size: %w", err)
	}
	if err := i.change(ctx, now, g.ID, link, t); err != nil {
		return mine, fmt.Errorf("change size: %w", err)
	}
	return i.Mine(ctx, g.ID, link)
}

// change writes a change, in a later second if this one already has one.
func (i Intake) change(ctx context.Context, now time.Time, drawID, link string, t Ticketed) error {
	c := Change{LinkHash: linkHash(drawID, link), Salt: t.Salt, Commitment: t.Commitment, Entry: t.Entry}
	for try := 0; ; try++ {
		_, err := i.Store.ChangeEntry(ctx, drawID, now, c)
		if !errors.Is(err, ErrTooSoon) || try == 3 {
			return err
		}
		wait := now.Truncate(time.Second).Add(time.Second).Sub(now)
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(wait):
			now = now.Add(wait)
		}
	}
}

// Withdraw takes the ticket out, until the lock; the address may enter again
// and gets a new ticket. Withdrawing twice is no error. Errors: [ErrLocked],
// [ErrNoSuchLink].
func (i Intake) Withdraw(ctx context.Context, now time.Time, drawID, link string) error {
	if !validLink(link) {
		return ErrNoSuchLink
	}
	if err := i.Store.Withdraw(ctx, drawID, now, linkHash(drawID, link)); err != nil {
		return fmt.Errorf("withdraw: %w", err)
	}
	return nil
}
