package store

import (
	"context"
	"database/sql"
	"time"
)

// Release makes the time from which on the public may know the result an
// earlier one.
func (db *DB) Release(ctx context.Context, id string, at time.Time) error {
	return db.tx(ctx, "release the result", func(tx *sql.Tx) error { return db.release(ctx, tx, id, at) })
}

// release takes the row. A time before the draw was made is that of the draw.
func (db *DB) release(ctx context.Context, tx *sql.Tx, id string, at time.Time) error {
	return db.move(ctx, tx, id, `
		UPDATE giveaways SET released = CASE WHEN $2 >= released THEN released WHEN $2 < drawn THEN drawn ELSE $2 END
		WHERE id = $1 AND state = 'drawn'`, id, unix(at))
}
