package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/giveaway"
)

// uploadLife is how long an uploaded file waits.
const uploadLife = 24 * time.Hour

// uploadPart is how many bytes of an upload are sealed together.
const uploadPart = 1 << 20

// uploadLabel binds a sealed part to its place, so that parts can't be moved or
// mixed up, and the last one can't be cut off.
func uploadLabel(key, name string, part, parts int) string {
	return fmt.Sprintf("upload %s %s %d of %d", key, name, part+1, parts)
}

// SaveUpload keeps bytes that belong to a giveaway for a day, sealed, in place
// of those of the same key and name. The day of all that has one key begins
// with the first of it. Uploads whose day is over are dropped, of all
// giveaways. giveaway.ErrNotFound.
func (db *DB) SaveUpload(ctx context.Context, now time.Time, drawID, key, name string, content []byte) error {
	parts := max(1, (len(content)+uploadPart-1)/uploadPart)
	return db.tx(ctx, "keep an upload", func(tx *sql.Tx) error {
		if _, err := exec(ctx, tx, `DELETE FROM uploads WHERE at < $1`, now.Add(-uploadLife).Unix()); err != nil {
			return err
		}
		var known bool
		var since int64
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM giveaways WHERE id = $1),
			(SELECT COALESCE(MIN(at), CAST($3 AS BIGINT)) FROM uploads WHERE draw = $1 AND key = $2)`, drawID, key, now.Unix()).Scan(&known, &since); err != nil {
			return err
		}
		if _, err := exec(ctx, tx, `DELETE FROM uploads WHERE draw = $1 AND key = $2 AND name = $3`, drawID, key, name); err != nil {
			return err
		}
		if !known {
			return giveaway.ErrNotFound
		}
		for part := range parts {
			piece := content[part*uploadPart : min((part+1)*uploadPart, len(content))]
			sealed, err := db.vault.Seal(uploadLabel(key, name, part, parts), drawID, piece)
			if err != nil {
				return err
			}
			if _, err := exec(ctx, tx, `INSERT INTO uploads (draw, key, name, part, sealed, at) VALUES ($1, $2, $3, $4, $5, $6)`,
				drawID, key, name, part, sealed, since); err != nil {
				return err
			}
		}
		return nil
	})
}

// Upload returns what SaveUpload kept. giveaway.ErrNotFound if it is not there
// or its day is over.
func (db *DB) Upload(ctx context.Context, now time.Time, drawID, key, name string) ([]byte, error) {
	sealed, err := list(ctx, db.read, func(row scanner) (b []byte, err error) { return b, row.Scan(&b) },
		`SELECT sealed FROM uploads WHERE draw = $1 AND key = $2 AND name = $3 AND at >= $4 ORDER BY part`,
		drawID, key, name, now.Add(-uploadLife).Unix())
	if err == nil && len(sealed) == 0 {
		err = giveaway.ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("read an upload: %w", err)
	}
	var content bytes.Buffer
	for part, s := range sealed {
		piece, err := db.vault.Open(uploadLabel(key, name, part, len(sealed)), drawID, s)
		if err != nil {
			return nil, errors.New("read an upload: a part of it does not open")
		}
		content.Write(piece)
	}
	return content.Bytes(), nil
}

// DropUpload forgets all that was kept under a key. Twice is no error.
func (db *DB) DropUpload(ctx context.Context, drawID, key string) error {
	return db.tx(ctx, "drop an upload", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `DELETE FROM uploads WHERE draw = $1 AND key = $2`, drawID, key)
		return err
	})
}

// DropOldUploads forgets the uploads of all giveaways whose day is over.
func (db *DB) DropOldUploads(ctx context.Context, now time.Time) error {
	return db.tx(ctx, "drop old uploads", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `DELETE FROM uploads WHERE at < $1`, now.Add(-uploadLife).Unix())
		return err
	})
}
