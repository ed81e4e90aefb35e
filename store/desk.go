package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A DB keeps what the desk needs.
var _ giveaway.DeskStore = (*DB)(nil)

// Cancel publishes cancelled.txt. make may be called more than once, while the
// row is held; what it returned last is what is stored.
func (db *DB) Cancel(ctx context.Context, id string, make func(giveaway.Giveaway, time.Time) (draw.Cancelled, []byte, error)) error {
	return db.tx(ctx, "cancel giveaway", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		switch {
		case err != nil:
			return err
		case row.state == giveaway.StateFreezing:
			return giveaway.ErrBusy
		case !row.state.May(giveaway.StateCancelled):
			return giveaway.StateError{State: row.state}
		}
		last, err := lastStamp(ctx, tx, id, row)
		if err != nil {
			return err
		}
		last = max(last, row.frozen)
		g, err := readGiveaway(ctx, tx, id)
		if err != nil {
			return err
		}
		x, text, err := make(g, when(sql.NullInt64{Int64: last}))
		if err != nil {
			return err
		}
		if x.Draw != id || x.Opening != g.OpeningHash || unix(x.At) < last {
			return errors.New("cancelled.txt does not fit the opening or the stamps that are stored")
		}
		return cancel(ctx, tx, x, text)
	})
}

func cancel(ctx context.Context, tx *sql.Tx, x draw.Cancelled, text []byte) error {
	if err := publish(ctx, tx, x.Draw, draw.CancelledFile, draw.CancelledFile, text); err != nil {
		return err
	}
	_, err := exec(ctx, tx, `UPDATE giveaways SET state = 'cancelled', cancelled = $2, cancel_reason = $3, successor = $4 WHERE id = $1`,
		x.Draw, unix(x.At), x.Reason, x.Successor)
	if err != nil {
		return err
	}
	return note(ctx, tx, x.Draw, x.At, "cancelled")
}

// HandIn keeps a second's secret. The first of a role stands.
func (db *DB) HandIn(ctx context.Context, id string, in giveaway.HandedIn) error {
	return db.tx(ctx, "hand in a secret", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		if err != nil {
			return err
		}
		if row.state != giveaway.StateFrozen {
			return giveaway.StateError{State: row.state}
		}
		n, err := exec(ctx, tx, `
			INSERT INTO handed (draw, role, secret, at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (draw, role) DO NOTHING`, id, in.Role, in.Secret[:], unix(in.At))
		if err != nil || n == 0 {
			return err
		}
		return note(ctx, tx, id, in.At, "secret handed in: "+in.Role)
	})
}

// Handed returns the secrets that were handed in.
func (db *DB) Handed(ctx context.Context, id string) ([]giveaway.HandedIn, error) {
	all, err := list(ctx, db.read, scanHanded, handedQuery, id)
	if err != nil {
		return nil, fmt.Errorf("read the secrets that were handed in: %w", err)
	}
	return all, nil
}

const handedQuery = `SELECT role, secret, at FROM handed WHERE draw = $1 ORDER BY role`

func scanHanded(row scanner) (in giveaway.HandedIn, err error) {
	var secret []byte
	var at int64
	err = row.Scan(&in.Role, &secret, &at)
	copy(in.Secret[:], secret)
	in.At = time.Unix(at, 0).UTC()
	return in, err
}

// Keep notes that the recovery sheet is kept. The first time stands.
func (db *DB) Keep(ctx context.Context, id string, at time.Time) error {
	return db.tx(ctx, "note the sheet as kept", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		if err != nil {
			return err
		}
		if row.state == giveaway.StateDraft {
			return giveaway.StateError{State: row.state}
		}
		n, err := exec(ctx, tx, `UPDATE giveaways SET kept = $2 WHERE id = $1 AND kept IS NULL`, id, unix(at))
		if err != nil || n == 0 {
			return err
		}
		return note(ctx, tx, id, at, "recovery sheet kept")
	})
}
