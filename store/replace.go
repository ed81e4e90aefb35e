package store

import (
	"context"
	"database/sql"
	"time"

	"evenhand/entries"
)

// ReplaceEntry withdraws the ticket of a link and writes a new entry.
func (db *DB) ReplaceEntry(ctx context.Context, drawID string, now time.Time, oldLink [32]byte, n entries.New) (entries.Stamp, error) {
	a := &arrival{ctx: ctx, draw: drawID, now: now, entry: n}
	err := db.tx(ctx, "replace entry", func(tx *sql.Tx) error {
		e, h, err := db.hold(ctx, tx, drawID, oldLink)
		if err != nil {
			return err
		}
		a.stamp, err = e.take(now)
		switch {
		case err != nil:
			return err
		case h.withdrawn:
			return entries.ErrWithdrawn
		}
		if err := withdraw(ctx, tx, drawID, h.ticket, now); err != nil {
			return err
		}
		wrote, err := db.insert(ctx, tx, []*arrival{a})
		if err != nil || len(wrote) == 1 {
			return err
		}
		if err := db.intake.settle(ctx, tx, a); err != nil {
			return err
		}
		return a.err
	})
	if err != nil {
		return entries.Stamp{}, err
	}
	db.sweeper.soon()
	return a.stamp, nil
}
