package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"evenhand/giveaway"
)

// logged is a transaction that ends with a line of the giveaway's log. It has
// the giveaway's row alone, from its start: who shares it never gets it so.
func (db *DB) logged(ctx context.Context, what, drawID string, line giveaway.LogLine, step func(tx *sql.Tx) error) error {
	return db.tx(ctx, what, func(tx *sql.Tx) error {
		if err := db.dialect.turn(ctx, tx, drawID, true); err != nil {
			return err
		}
		if err := step(tx); err != nil {
			return err
		}
		return note(ctx, tx, drawID, line.At, line.What)
	})
}

// placeLine is what happened to a place, as [claims.ReadPlaceLine] reads it. It
// names nobody and stays when personal data is deleted.
func placeLine(place int, at time.Time, what string) giveaway.LogLine {
	return giveaway.LogLine{At: at, What: fmt.Sprintf("place %d: %s", place, what)}
}
