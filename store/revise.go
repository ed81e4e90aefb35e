package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A row is what the moves need of a giveaway's row, read under a lock.
type row struct {
	state        giveaway.State
	revision     int
	rulesVersion int
	hash         []byte // of the opening
	closes       int64
	event        int64
	revised      int64
	attempt      string
	alive        int64
	frozen       int64
}

// take has a giveaway's row for this transaction alone, and reads it.
func (db *DB) take(ctx context.Context, tx *sql.Tx, id string) (r row, err error) {
	if err := db.dialect.turn(ctx, tx, id, true); err != nil {
		return r, err
	}
	err = tx.QueryRowContext(ctx, `
		SELECT state, revision, rules_version, opening_hash, COALESCE(closes, 0), COALESCE(event, 0), revised,
			COALESCE(attempt, ''), COALESCE(attempt_alive, 0), COALESCE(frozen, 0)
		FROM giveaways WHERE id = $1`, id).
		Scan(&r.state, &r.revision, &r.rulesVersion, &r.hash, &r.closes, &r.event, &r.revised, &r.attempt, &r.alive, &r.frozen)
	if errors.Is(err, sql.ErrNoRows) {
		err = giveaway.ErrNotFound
	}
	return r, err
}

// lastStamp is the greatest stamp written for a draw: of an entry or of the
// opening. The caller holds the row alone, so no later one is on its way.
func lastStamp(ctx context.Context, tx *sql.Tx, id string, r row) (int64, error) {
	var entered int64
	err := tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(entered), 0) FROM entries WHERE draw = $1`, id).Scan(&entered)
	return max(entered, r.revised), err
}

// Revise replaces the opening by the one that make returns, and keeps the old
// one readable. make may be called more than once, while the row is held; what
// it returned last is what is stored.
func (db *DB) Revise(ctx context.Context, id string, from int, make func(time.Time) (giveaway.Revised, error)) error {
	return db.tx(ctx, "revise giveaway", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		if err != nil {
			return err
		}
		if row.state != giveaway.StateOpen || row.revision != from {
			return giveaway.StateError{State: row.state}
		}
		last, err := lastStamp(ctx, tx, id, row)
		if err != nil {
			return err
		}
		r, err := make(when(sql.NullInt64{Int64: last}))
		if err != nil {
			return err
		}
		if r.Opening.Revision != from+1 || unix(r.Opening.Revised) <= last {
			return fmt.Errorf("revision %d with stamp %d after revision %d with last stamp %d",
				r.Opening.Revision, unix(r.Opening.Revised), from, last)
		}
		return revise(ctx, tx, id, row, r)
	})
}

func revise(ctx context.Context, tx *sql.Tx, id string, old row, r giveaway.Revised) error {
	terms, err := json.Marshal(r.Terms)
	if err != nil {
		return err
	}
	next, rules := r.Opening.Revision, old.rulesVersion
	err = replace(ctx, tx, id, draw.OpeningFile, old.revision, version(draw.OpeningFile, next), r.Note)
	if err == nil && r.Rules != nil {
		rules = next
		err = replace(ctx, tx, id, draw.RulesFile, old.revision, version(draw.RulesFile, next), r.Rules)
	}
	if err != nil {
		return err
	}
	text := r.Opening.Text()
	hash := draw.Hash(text)
	err = exec1(ctx, tx, giveaway.ErrState, `
		UPDATE giveaways SET terms = $2, revision = $3, opening = $4, opening_hash = $5, opens = $6, closes = $7,
			event = $8, revised = $9, rules_version = $10
		WHERE id = $1`,
		id, string(terms), next, string(text), hash[:], unix(r.Opening.Opens), unix(r.Opening.Closes),
		unix(r.Opening.Event), unix(r.Opening.Revised), rules)
	if err != nil {
		return err
	}
	return note(ctx, tx, id, r.Opening.Revised, "revised")
}
