package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Log writes a line of a giveaway's log.
func (db *DB) Log(ctx context.Context, id string, l giveaway.LogLine) error {
	return db.tx(ctx, "write log", func(tx *sql.Tx) error {
		if _, err := db.take(ctx, tx, id); err != nil {
			return err
		}
		return note(ctx, tx, id, l.At, l.What)
	})
}

// Logged returns a giveaway's log, the line written last first.
func (db *DB) Logged(ctx context.Context, id string) ([]giveaway.LogLine, error) {
	lines, err := list(ctx, db.read, func(row scanner) (l giveaway.LogLine, err error) {
		var at int64
		err = row.Scan(&at, &l.What)
		l.At = time.Unix(at, 0).UTC()
		return l, err
	}, `SELECT at, what FROM log WHERE draw = $1 ORDER BY n DESC, at DESC`, id)
	if err != nil {
		return nil, fmt.Errorf("read log: %w", err)
	}
	return lines, nil
}

// ReadCaution notes that a caution was read. The first reading stands.
func (db *DB) ReadCaution(ctx context.Context, id string, mark draw.Digest, r giveaway.CautionRead) error {
	return db.tx(ctx, "note a caution as read", func(tx *sql.Tx) error {
		if _, err := db.take(ctx, tx, id); err != nil {
			return err
		}
		n, err := exec(ctx, tx, `
			INSERT INTO cautions_read (draw, mark, code, why, at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (draw, mark) DO NOTHING`, id, mark[:], r.Code, r.Why, unix(r.At))
		if err != nil || n == 0 {
			return err
		}
		line := "caution " + r.Code + " read"
		if r.Why != "" {
			line += "; why to go on: " + r.Why
		}
		return note(ctx, tx, id, r.At, line)
	})
}

// CautionsRead returns the cautions that were read.
func (db *DB) CautionsRead(ctx context.Context, id string) (map[draw.Digest]giveaway.CautionRead, error) {
	type reading struct {
		mark draw.Digest
		giveaway.CautionRead
	}
	all, err := list(ctx, db.read, func(row scanner) (r reading, err error) {
		var mark []byte
		var at int64
		err = row.Scan(&mark, &r.Code, &r.Why, &at)
		copy(r.mark[:], mark)
		r.At = time.Unix(at, 0).UTC()
		return r, err
	}, `SELECT mark, code, why, at FROM cautions_read WHERE draw = $1`, id)
	if err != nil {
		return nil, fmt.Errorf("read the cautions that were read: %w", err)
	}
	read := map[draw.Digest]giveaway.CautionRead{}
	for _, r := range all {
		read[r.mark] = r.CautionRead
	}
	return read, nil
}
