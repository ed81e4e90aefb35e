package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/claims"
)

const sponsorColumns = `draw, link_hash, sealed_link, made, revoked`

func scanSponsor(row scanner) (r claims.SponsorRow, err error) {
	var link []byte
	var made, revoked sql.NullInt64
	err = row.Scan(&r.Draw, &link, &r.SealedLink, &made, &revoked)
	copy(r.LinkHash[:], link)
	r.Made, r.Revoked = when(made), when(revoked)
	return r, err
}

// also scans a row with one column more.
type also struct {
	scanner
	more any
}

func (a also) Scan(dest ...any) error { return a.scanner.Scan(append(dest, a.more)...) }

// SponsorLinks returns all links of a giveaway, oldest first.
func (db *DB) SponsorLinks(ctx context.Context, drawID string) ([]claims.SponsorRow, error) {
	rows, err := list(ctx, db.read, scanSponsor,
		`SELECT `+sponsorColumns+` FROM sponsor_links WHERE draw = $1 ORDER BY made, link_hash`, drawID)
	if err != nil {
		return nil, fmt.Errorf("read sponsor links: %w", err)
	}
	return rows, nil
}

// SponsorByLink finds a link that opens the page of some giveaway, or did so
// until it was revoked or the data was deleted.
func (db *DB) SponsorByLink(ctx context.Context, linkHash [32]byte) (claims.SponsorRow, error) {
	var erased bool
	r, err := scanSponsor(also{db.read.QueryRowContext(ctx,
		`SELECT `+sponsorColumns+`, revoked IS NOT NULL AND revoked = COALESCE((SELECT erased FROM giveaways WHERE id = draw), -1)
			FROM sponsor_links WHERE link_hash = $1`, linkHash[:]), &erased})
	switch {
	case errors.Is(err, sql.ErrNoRows):
		err = claims.ErrNoSuchLink
	case err == nil && erased:
		err = claims.ErrErased
	case err == nil && !r.Revoked.IsZero():
		err = claims.ErrClosed
	}
	if err != nil {
		return claims.SponsorRow{}, fmt.Errorf("read sponsor link: %w", err)
	}
	return r, nil
}

// AddSponsorLink writes the link of a giveaway that has none that stands.
func (db *DB) AddSponsorLink(ctx context.Context, r claims.SponsorRow) error {
	return db.tx(ctx, "write sponsor link", func(tx *sql.Tx) error {
		if err := db.unerased(ctx, tx, r.Draw, 0); err != nil {
			return err
		}
		n, err := exec(ctx, tx, `
			INSERT INTO sponsor_links (draw, link_hash, sealed_link, made) VALUES ($1, $2, $3, $4)
			ON CONFLICT DO NOTHING`, r.Draw, r.LinkHash[:], r.SealedLink, unix(r.Made))
		if err != nil || n == 1 {
			return err
		}
		return takenOr(ctx, tx, claims.ErrLinkTaken, `SELECT 1 FROM sponsor_links WHERE draw = $1 AND revoked IS NULL`, r.Draw)
	})
}

// RevokeSponsorLink ends the link that stands.
func (db *DB) RevokeSponsorLink(ctx context.Context, drawID string, at time.Time) error {
	return db.tx(ctx, "revoke sponsor link", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `UPDATE sponsor_links SET revoked = $2 WHERE draw = $1 AND revoked IS NULL`, drawID, unix(at))
		return err
	})
}

// AddVisit notes a visit to the sponsor's page.
func (db *DB) AddVisit(ctx context.Context, drawID string, at time.Time) error {
	return db.tx(ctx, "note visit", func(tx *sql.Tx) error {
		_, err := exec(ctx, tx, `INSERT INTO sponsor_visits (draw, at) VALUES ($1, $2)`, drawID, unix(at))
		return err
	})
}

// Visits returns the times of all visits, oldest first.
func (db *DB) Visits(ctx context.Context, drawID string) ([]time.Time, error) {
	all, err := list(ctx, db.read, func(row scanner) (time.Time, error) {
		var at sql.NullInt64
		err := row.Scan(&at)
		return when(at), err
	}, `SELECT at FROM sponsor_visits WHERE draw = $1 ORDER BY at`, drawID)
	if err != nil {
		return nil, fmt.Errorf("read visits: %w", err)
	}
	return all, nil
}
