package store

import (
	"context"
	"fmt"
	"time"
)

// Clock asks for the database's time. Nil where the database has no clock but
// this computer's.
func (db *DB) Clock() func(context.Context) (time.Time, error) {
	if db.dialect.clock == "" {
		return nil
	}
	return func(ctx context.Context) (time.Time, error) {
		var ms int64
		if err := db.read.QueryRowContext(ctx, db.dialect.clock).Scan(&ms); err != nil {
			return time.Time{}, fmt.Errorf("ask for the database's time: %w", err)
		}
		return time.UnixMilli(ms).UTC(), nil
	}
}
