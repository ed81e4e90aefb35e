package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhand/giveaway"
	"evenhand/show"
)

// A DB keeps rehearsals.
var _ show.RehearsalStore = (*DB)(nil)

// rehearsals is the pattern of their ids; none of its characters but the last
// means anything to LIKE.
const rehearsals = giveaway.RehearsalID + "%"

// isRehearsal is the condition on a giveaway's row; its argument is rehearsals.
// The name alone is not enough to delete by: a rehearsal is invented, too.
const isRehearsal = `id LIKE $1 AND sample`

// Rehearsal finds the newest rehearsal.
func (db *DB) Rehearsal(ctx context.Context) (id string, err error) {
	err = db.read.QueryRowContext(ctx, `SELECT id FROM giveaways WHERE `+isRehearsal+` ORDER BY created DESC, id LIMIT 1`, rehearsals).Scan(&id)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("look for a rehearsal: %w", err)
	}
	return id, nil
}

// ofGiveaway are the tables with rows of a giveaway, those first that point to
// others.
var ofGiveaway = []string{"show_names", "show_keys", "shows", "marks", "asks", "claims", "sponsor_visits", "sponsor_links",
	"handed", "cautions_read", "uploads", "log", "published", "file_chunks", "entries"}

// DropRehearsals deletes every row of every rehearsal.
func (db *DB) DropRehearsals(ctx context.Context) error {
	err := db.tx(ctx, "delete rehearsals", func(tx *sql.Tx) error {
		for _, table := range ofGiveaway {
			if _, err := exec(ctx, tx, `DELETE FROM `+table+` WHERE draw IN (SELECT id FROM giveaways WHERE `+isRehearsal+`)`, rehearsals); err != nil {
				return err
			}
		}
		_, err := exec(ctx, tx, `DELETE FROM giveaways WHERE `+isRehearsal, rehearsals)
		return err
	})
	if err == nil {
		db.sweeper.soon()
	}
	return err
}
