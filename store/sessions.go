package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"github.com/alexedwards/scs/v2"
)

// Sessions keeps the desk's sessions. Of a token only the SHA-256 is stored:
// whoever reads the database can not take over a session. now tells which
// sessions are over.
func (db *DB) Sessions(now func() time.Time) scs.CtxStore { return sessions{db, now} }

type sessions struct {
	db  *DB
	now func() time.Time
}

// FindCtx returns a session's data, if there is one that is not over.
func (s sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	hash := sha256.Sum256([]byte(token))
	err = s.db.read.QueryRowContext(ctx, `SELECT data FROM sessions WHERE token = $1 AND expires > $2`,
		hash[:], s.now().Unix()).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("read session: %w", err)
	}
	return data, true, nil
}

// CommitCtx writes a session, and clears away those that are over.
func (s sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	hash := sha256.Sum256([]byte(token))
	return s.db.tx(ctx, "write session", func(tx *sql.Tx) error {
		if _, err := exec(ctx, tx, `DELETE FROM sessions WHERE expires <= $1`, s.now().Unix()); err != nil {
			return err
		}
		_, err := exec(ctx, tx, `
			INSERT INTO sessions (token, data, expires) VALUES ($1, $2, $3)
			ON CONFLICT (token) DO UPDATE SET data = excluded.data, expires = excluded.expires`,
			hash[:], data, expiry.Unix())
		return err
	})
}

// DeleteCtx ends a session. One that is not there is no error.
func (s sessions) DeleteCtx(ctx context.Context, token string) error {
	hash := sha256.Sum256([]byte(token))
	return s.db.tx(ctx, "end session", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `DELETE FROM sessions WHERE token = $1`, hash[:])
		return err
	})
}

// Find, Commit and Delete are for callers without a context.
func (s sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

func (s sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

func (s sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
