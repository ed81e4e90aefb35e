package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
)

// A DB keeps claims, and finds the entry behind a drawn ticket.
var (
	_ claims.Store   = (*DB)(nil)
	_ claims.Entries = (*DB)(nil)
)

// EntryByTicket finds an entry by its ticket.
func (db *DB) EntryByTicket(ctx context.Context, drawID string, t draw.Ticket) (entries.Stored, error) {
	return db.entry(ctx, `draw = $1 AND ticket = $2`, drawID, t.String())
}

// Claims returns the rows of a giveaway by place.
func (db *DB) Claims(ctx context.Context, drawID string) ([]claims.Row, error) {
	rows, err := db.claims(ctx, `draw = $1`, drawID)
	if err != nil {
		return nil, fmt.Errorf("read claims: %w", err)
	}
	return rows, nil
}

// Claim returns the row of a place.
func (db *DB) Claim(ctx context.Context, drawID string, place int) (claims.Row, error) {
	return db.claim(ctx, claims.ErrNoClaim, `draw = $1 AND place = $2`, drawID, place)
}

// ClaimByLink finds a row by the hash of its link.
func (db *DB) ClaimByLink(ctx context.Context, drawID string, linkHash [32]byte) (claims.Row, error) {
	return db.claim(ctx, claims.ErrNoSuchLink, `draw = $1 AND link_hash = $2`, drawID, linkHash[:])
}

// ClaimByAsk finds a row by the hash of the link of one of its questions, and
// says which question it is.
func (db *DB) ClaimByAsk(ctx context.Context, drawID string, linkHash [32]byte) (claims.Row, int, error) {
	r, err := db.claim(ctx, claims.ErrNoSuchLink,
		`draw = $1 AND place = (SELECT place FROM asks WHERE draw = $1 AND link_hash = $2)`, drawID, linkHash[:])
	if err != nil {
		return claims.Row{}, 0, err
	}
	for _, a := range r.Asks {
		if a.LinkHash == linkHash {
			return r, a.N, nil
		}
	}
	return claims.Row{}, 0, fmt.Errorf("read claim: %w", claims.ErrNoSuchLink)
}

// claim reads the one row of a condition; without one the error is none's.
func (db *DB) claim(ctx context.Context, none error, where string, args ...any) (claims.Row, error) {
	rows, err := db.claims(ctx, where, args...)
	if err == nil && len(rows) == 0 {
		err = none
	}
	if err != nil {
		return claims.Row{}, fmt.Errorf("read claim: %w", err)
	}
	return rows[0], nil
}

// claims reads the rows of a condition with their questions and marks, all as
// they were at one moment. The condition names columns that the three tables
// have in common, but for link_hash of a claim.
func (db *DB) claims(ctx context.Context, where string, args ...any) (all []claims.Row, err error) {
	tx, err := db.read.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer func() {
		if end := tx.Rollback(); !errors.Is(end, sql.ErrTxDone) { // the context ended it already
			err = errors.Join(err, end)
		}
	}()
	all, err = list(ctx, tx, scanClaim, `SELECT `+claimColumns+` FROM claims WHERE `+where+` ORDER BY place`, args...)
	for i := range all {
		r := &all[i]
		if err == nil {
			r.Asks, err = list(ctx, tx, scanAsk, `SELECT `+askColumns+` FROM asks WHERE draw = $1 AND place = $2 ORDER BY n`, r.Draw, r.Place)
		}
		if err == nil {
			r.Marks, err = list(ctx, tx, scanMark, `SELECT `+markColumns+` FROM marks WHERE draw = $1 AND place = $2 ORDER BY n`, r.Draw, r.Place)
		}
	}
	return all, err
}

const (
	claimColumns = `draw, place, ticket, link_hash, sealed_link, made, noticed, until, renewed, version, sealed_answer, answered, COALESCE(came_by, ''),
		skill_again, skill_allowed, skill_shown, skill_answered, COALESCE(skill_outcome, ''), erased`
	askColumns  = `n, kind, link_hash, sealed_link, sealed_ask, asked, noticed, sealed_reply, replied`
	markColumns = `n, kind, sealed_words, at`
)

func scanClaim(row scanner) (r claims.Row, err error) {
	var ticket string
	var link []byte
	var made, noticed, until, renewed, answered, allowed, shown, settled, erased sql.NullInt64
	err = row.Scan(&r.Draw, &r.Place, &ticket, &link, &r.SealedLink, &made, &noticed, &until, &renewed,
		&r.Version, &r.SealedAnswer, &answered, &r.By,
		&r.Skill.Again, &allowed, &shown, &settled, &r.Skill.Outcome, &erased)
	if err != nil {
		return r, err
	}
	copy(r.LinkHash[:], link)
	r.Made, r.Noticed, r.Until, r.Renewed = when(made), when(noticed), when(until), when(renewed)
	r.Answered, r.Erased = when(answered), when(erased)
	r.Skill.Allowed, r.Skill.Shown, r.Skill.Answered = when(allowed), when(shown), when(settled)
	r.Ticket, err = draw.ParseTicket(ticket)
	return r, err
}

func scanAsk(row scanner) (a claims.AskRow, err error) {
	var link []byte
	var asked, noticed, replied sql.NullInt64
	err = row.Scan(&a.N, &a.Kind, &link, &a.SealedLink, &a.SealedAsk, &asked, &noticed, &a.SealedReply, &replied)
	copy(a.LinkHash[:], link)
	a.Asked, a.Noticed, a.Replied = when(asked), when(noticed), when(replied)
	return a, err
}

func scanMark(row scanner) (m claims.MarkRow, err error) {
	var at sql.NullInt64
	err = row.Scan(&m.N, &m.Kind, &m.SealedWords, &at)
	m.At = when(at)
	return m, err
}
