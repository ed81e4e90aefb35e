package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A DB keeps outcomes.
var _ giveaway.OutcomeStore = (*DB)(nil)

// Outcome publishes a revision of outcome.txt, and keeps the one that it
// replaces readable under its number.
func (db *DB) Outcome(ctx context.Context, id string, from int, o draw.Outcome, text []byte) error {
	if o.Draw != id || from < 0 || o.Revision != from+1 {
		return fmt.Errorf("store outcome: revision %d of another draw or not the one after %d", o.Revision, from)
	}
	return db.tx(ctx, "store outcome", func(tx *sql.Tx) error {
		err := db.move(ctx, tx, id, `
			UPDATE giveaways SET outcome_revision = $3 WHERE id = $1 AND state = 'drawn' AND outcome_revision = $2`,
			id, from, o.Revision)
		if err != nil {
			return err
		}
		bytes := version(draw.OutcomeFile, o.Revision)
		if from == 0 {
			err = publish(ctx, tx, id, draw.OutcomeFile, bytes, text)
		} else {
			err = replace(ctx, tx, id, draw.OutcomeFile, from, bytes, text)
		}
		if err != nil {
			return err
		}
		return note(ctx, tx, id, latest(o), fmt.Sprintf("outcome %d", o.Revision))
	})
}

// latest is the greatest stamp of an outcome; zero where it has no line.
func latest(o draw.Outcome) (at time.Time) {
	for _, p := range o.Passed {
		if p.At.After(at) {
			at = p.At
		}
	}
	for _, c := range o.Confirmed {
		if c.At.After(at) {
			at = c.At
		}
	}
	return at
}
