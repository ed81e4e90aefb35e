package store

import (
	"context"
	"database/sql"
	"time"

	"evenhand/claims"
)

// AddMark writes the next mark of a place, and with it the question that it
// may ask.
func (db *DB) AddMark(ctx context.Context, drawID string, place int, saw claims.Saw, m claims.MarkRow, a *claims.AskRow) error {
	return db.logged(ctx, "write mark", drawID, placeLine(place, m.At, m.Kind), func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		held, err := db.holdClaim(ctx, tx, drawID, place)
		if err != nil {
			return err
		}
		if held.saw != saw || m.N != saw.Marks+1 || a != nil && a.N != held.asks+1 {
			return claims.ErrRace
		}
		_, err = exec(ctx, tx, `INSERT INTO marks (draw, place, n, kind, sealed_words, at) VALUES ($1, $2, $3, $4, $5, $6)`,
			drawID, place, m.N, m.Kind, m.SealedWords, unix(m.At))
		if err != nil || a == nil {
			return err
		}
		return exec1(ctx, tx, claims.ErrLinkTaken, `
			INSERT INTO asks (draw, place, n, kind, link_hash, sealed_link, sealed_ask, asked) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
			ON CONFLICT (draw, link_hash) DO NOTHING`,
			drawID, place, a.N, a.Kind, a.LinkHash[:], a.SealedLink, a.SealedAsk, unix(a.Asked))
	})
}

// NoticeAsk writes when the letter with a question was copied, once.
func (db *DB) NoticeAsk(ctx context.Context, drawID string, place, n int, at time.Time) error {
	return db.tx(ctx, "note the letter of a question", func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		wrote, err := exec(ctx, tx, `UPDATE asks SET noticed = $4 WHERE draw = $1 AND place = $2 AND n = $3 AND noticed IS NULL`,
			drawID, place, n, unix(at))
		if err != nil || wrote == 1 {
			return err
		}
		return askThere(ctx, tx, drawID, place, n)
	})
}

// askThere is why a step on a question changed nothing.
func askThere(ctx context.Context, tx *sql.Tx, drawID string, place, n int) error {
	return takenOr(ctx, tx, claims.ErrNoClaim, `SELECT 1 FROM asks WHERE draw = $1 AND place = $2 AND n = $3`, drawID, place, n)
}

// Reply writes the winner's answer to a question, once.
func (db *DB) Reply(ctx context.Context, drawID string, place int, saw claims.Saw, n int, sealed []byte, at time.Time) error {
	return db.logged(ctx, "write reply", drawID, placeLine(place, at, claims.LineReply), func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		held, err := db.holdClaim(ctx, tx, drawID, place)
		if err != nil {
			return err
		}
		if held.saw != saw {
			return askThere(ctx, tx, drawID, place, n)
		}
		wrote, err := exec(ctx, tx, `
			UPDATE asks SET sealed_reply = $4, replied = $5 WHERE draw = $1 AND place = $2 AND n = $3 AND replied IS NULL`,
			drawID, place, n, sealed, unix(at))
		if err != nil || wrote == 1 {
			return err
		}
		return askThere(ctx, tx, drawID, place, n)
	})
}
