package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"evenhand/claims"
	"evenhand/giveaway"
)

// AddClaim writes the row of a place that has none.
func (db *DB) AddClaim(ctx context.Context, r claims.Row) error {
	return db.tx(ctx, "write claim", func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, r.Draw, r.Place); err != nil {
			return err
		}
		n, err := exec(ctx, tx, `
			INSERT INTO claims (draw, place, ticket, link_hash, sealed_link, made) VALUES ($1, $2, $3, $4, $5, $6)
			ON CONFLICT DO NOTHING`,
			r.Draw, r.Place, r.Ticket.String(), r.LinkHash[:], r.SealedLink, unix(r.Made))
		if err != nil || n == 1 {
			return err
		}
		return takenOr(ctx, tx, claims.ErrLinkTaken,
			`SELECT 1 FROM claims WHERE draw = $1 AND (place = $2 OR ticket = $3)`, r.Draw, r.Place, r.Ticket.String())
	})
}

// RenewLink replaces the link of a claim, and writes the line into the log.
func (db *DB) RenewLink(ctx context.Context, drawID string, place int, from, to [32]byte, sealedLink []byte, line giveaway.LogLine) error {
	return db.logged(ctx, "renew claim link", drawID, line, func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		held, err := db.holdClaim(ctx, tx, drawID, place)
		if err != nil {
			return err
		}
		if held.link != from || held.saw.Answers > 0 {
			return claims.ErrRace
		}
		// One statement that skips a link in use: an error of a constraint
		// would end a transaction of PostgreSQL.
		return exec1(ctx, tx, claims.ErrLinkTaken, `
			UPDATE claims SET link_hash = $3, sealed_link = $4, made = $5, renewed = CASE WHEN noticed IS NOT NULL THEN CAST($5 AS bigint) END
			WHERE draw = $1 AND place = $2 AND NOT EXISTS (SELECT 1 FROM claims WHERE draw = $1 AND link_hash = $3)`,
			drawID, place, to[:], sealedLink, unix(line.At))
	})
}

// Notice writes when the letter was copied and until when to answer, once for
// each link.
func (db *DB) Notice(ctx context.Context, drawID string, place int, at, until time.Time) error {
	return db.logged(ctx, "note the letter", drawID, placeLine(place, at, claims.LineLetter), func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		n, err := exec(ctx, tx, `
			UPDATE claims SET noticed = $3, until = $4, renewed = NULL
			WHERE draw = $1 AND place = $2 AND (noticed IS NULL OR renewed IS NOT NULL)`,
			drawID, place, unix(at), unix(until))
		if err != nil || n == 1 {
			return err
		}
		return claimThere(ctx, tx, drawID, place)
	})
}

// Answer writes an answer in place of the one of version from; 0: of none.
func (db *DB) Answer(ctx context.Context, drawID string, place, from int, sealed []byte, by string, at time.Time) error {
	what := claims.LineAnswer
	if from > 0 {
		what = claims.LineChange
	}
	return db.logged(ctx, "write answer", drawID, placeLine(place, at, what), func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		held, err := db.holdClaim(ctx, tx, drawID, place)
		if err != nil {
			return err
		}
		if held.sent { // to the address that stands
			return claims.ErrRace
		}
		n, err := exec(ctx, tx, `
			UPDATE claims SET version = $3 + 1, sealed_answer = $4, came_by = $5, answered = $6
			WHERE draw = $1 AND place = $2 AND version = $3`,
			drawID, place, from, sealed, by, unix(at))
		if err != nil || n == 1 {
			return err
		}
		return claimThere(ctx, tx, drawID, place)
	})
}

// claimThere is why a step on a claim changed nothing: somebody was first, or
// there is no such claim.
func claimThere(ctx context.Context, tx *sql.Tx, drawID string, place int) error {
	return takenOr(ctx, tx, claims.ErrNoClaim, `SELECT 1 FROM claims WHERE draw = $1 AND place = $2`, drawID, place)
}

// takenOr is [claims.ErrRace] where the query finds a row, otherwise the other
// error.
func takenOr(ctx context.Context, tx *sql.Tx, other error, query string, args ...any) error {
	var one int
	err := tx.QueryRowContext(ctx, query+` LIMIT 1`, args...).Scan(&one)
	switch {
	case err == nil:
		return claims.ErrRace
	case errors.Is(err, sql.ErrNoRows):
		return other
	}
	return err
}

// A heldClaim is what a step needs of a claim, taken for this transaction.
type heldClaim struct {
	link [32]byte
	saw  claims.Saw
	asks int
	sent bool // the latest mark says so
}

// holdClaim takes a claim's row, so that steps on one place come one after
// another.
func (db *DB) holdClaim(ctx context.Context, tx *sql.Tx, drawID string, place int) (h heldClaim, err error) {
	var link []byte
	err = tx.QueryRowContext(ctx, `SELECT link_hash FROM claims WHERE draw = $1 AND place = $2`+db.dialect.forUpdate, drawID, place).
		Scan(&link)
	if errors.Is(err, sql.ErrNoRows) {
		return h, claims.ErrNoClaim
	}
	if err != nil {
		return h, err
	}
	copy(h.link[:], link)
	// A statement of its own: it sees what was written while this one waited.
	var last string
	err = tx.QueryRowContext(ctx, `
		SELECT version,
			(SELECT COUNT(*) FROM asks WHERE draw = $1 AND place = $2),
			(SELECT COUNT(*) FROM asks WHERE draw = $1 AND place = $2 AND replied IS NOT NULL),
			(SELECT COUNT(*) FROM marks WHERE draw = $1 AND place = $2),
			COALESCE((SELECT kind FROM marks WHERE draw = $1 AND place = $2 ORDER BY n DESC LIMIT 1), '')
		FROM claims WHERE draw = $1 AND place = $2`,
		drawID, place).Scan(&h.saw.Answers, &h.asks, &h.saw.Replies, &h.saw.Marks, &last)
	h.sent = last == claims.MarkShipped || last == claims.MarkDelivered
	return h, err
}
