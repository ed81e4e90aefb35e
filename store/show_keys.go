package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/show"
)

// A DB keeps the keys of shows.
var _ show.Keys = (*DB)(nil)

// showKey is the vault's label for the keys of shows.
const showKey = "show key"

// AddKey keeps a new key.
func (db *DB) AddKey(ctx context.Context, k show.Key) error {
	sealed, err := db.vault.Seal(showKey, k.Draw, []byte(k.Secret))
	if err != nil {
		return fmt.Errorf("keep a key of a show: %w", err)
	}
	hash := sha256.Sum256([]byte(k.Secret))
	return db.tx(ctx, "keep a key of a show", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `INSERT INTO show_keys (hash, kind, draw, sealed, made) VALUES ($1, $2, $3, $4, $5)`,
			hash[:], k.Kind, k.Draw, sealed, unix(k.Made))
		return err
	})
}

// Key finds a key that stands.
func (db *DB) Key(ctx context.Context, kind, secret string) (show.Key, error) {
	k := show.Key{Kind: kind, Secret: secret}
	hash := sha256.Sum256([]byte(secret))
	var made int64
	err := db.read.QueryRowContext(ctx, `SELECT draw, made FROM show_keys WHERE hash = $1 AND kind = $2 AND revoked IS NULL`,
		hash[:], kind).Scan(&k.Draw, &made)
	if errors.Is(err, sql.ErrNoRows) {
		err = show.ErrNoKey
	}
	if err != nil {
		return show.Key{}, fmt.Errorf("find a key of a show: %w", err)
	}
	k.Made = time.Unix(made, 0).UTC()
	return k, nil
}

// KeysOf returns the keys of a show that stand.
func (db *DB) KeysOf(ctx context.Context, id string) ([]show.Key, error) {
	type row struct {
		key    show.Key
		sealed []byte
	}
	rows, err := list(ctx, db.read, func(s scanner) (r row, err error) {
		var made int64
		var seen sql.NullInt64
		err = s.Scan(&r.key.Kind, &r.sealed, &made, &seen)
		r.key.Draw, r.key.Made, r.key.Seen = id, time.Unix(made, 0).UTC(), when(seen)
		return r, err
	}, `SELECT kind, sealed, made, seen FROM show_keys WHERE draw = $1 AND revoked IS NULL ORDER BY made DESC, hash`, id)
	if err != nil {
		return nil, fmt.Errorf("read the keys of a show: %w", err)
	}
	var keys []show.Key
	for _, r := range rows {
		plain, err := db.vault.Open(showKey, id, r.sealed)
		if err != nil {
			return nil, fmt.Errorf("read the keys of a show: %w", err)
		}
		r.key.Secret = string(plain)
		keys = append(keys, r.key)
	}
	return keys, nil
}

// KeySeen notes that a screen is there. It never goes back.
func (db *DB) KeySeen(ctx context.Context, kind, secret string, at time.Time) error {
	hash := sha256.Sum256([]byte(secret))
	return db.tx(ctx, "note that a screen is there", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `UPDATE show_keys SET seen = $3 WHERE hash = $1 AND kind = $2 AND revoked IS NULL AND COALESCE(seen, 0) < $3`, hash[:], kind, unix(at))
		return err
	})
}

// RevokeKeys ends all keys of a kind.
func (db *DB) RevokeKeys(ctx context.Context, id, kind string, at time.Time) error {
	return db.tx(ctx, "revoke keys of a show", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `UPDATE show_keys SET revoked = $3 WHERE draw = $1 AND kind = $2 AND revoked IS NULL`, id, kind, unix(at))
		return err
	})
}
