package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// A DB deletes personal data.
var _ giveaway.EraseStore = (*DB)(nil)

// Parcels returns the last that the sponsor said of each parcel that was sent.
func (db *DB) Parcels(ctx context.Context, id string) (map[int]giveaway.Parcel, error) {
	type mark struct {
		place int
		kind  string
		at    int64
	}
	marks, err := list(ctx, db.read, func(row scanner) (m mark, err error) {
		err = row.Scan(&m.place, &m.kind, &m.at)
		return m, err
	}, `SELECT place, kind, at FROM marks WHERE draw = $1 ORDER BY place, n`, id)
	if err != nil {
		return nil, fmt.Errorf("read parcels: %w", err)
	}
	parcels := map[int]giveaway.Parcel{}
	for _, m := range marks {
		switch m.kind {
		case claims.MarkShipped, claims.MarkDelivered:
			parcels[m.place] = giveaway.Parcel{At: time.Unix(m.at, 0).UTC(), Delivered: m.kind == claims.MarkDelivered}
		default:
			delete(parcels, m.place) // something was wrong with it: it is not sent any more
		}
	}
	return parcels, nil
}

// eraseEntries takes from entries all that neither receipt nor list is made of:
// the ticket stands in the place of the address, and the salt goes as well,
// without which nobody can tell from the published list what was entered. The
// condition is about columns of entries; its arguments follow $3.
const eraseEntries = `
	UPDATE entries SET erased = $2, key = ticket, typed = '', size_system = '', size = '', size_width = '',
		live = '', live_state = '', ship = '', ship_state = '', friend = false, name = '', age = '', step = false,
		answers = '{}', salt = $3
	WHERE draw = $1 AND erased IS NULL`

// eraseClaims empties claims and what belongs to them, in the order of its
// statements. Nothing that can be read without the master key goes but the
// links and how a skill question went, which tells where somebody lives; what was
// written goes whether it can be read or not.
var eraseClaims = []string{
	`UPDATE marks SET sealed_words = $2 WHERE draw = $1`,
	`UPDATE asks SET sealed_link = $2, sealed_ask = $2 WHERE draw = $1`,
	`UPDATE asks SET sealed_reply = $2 WHERE draw = $1 AND sealed_reply IS NOT NULL`,
	`UPDATE claims SET sealed_answer = $2 WHERE draw = $1 AND sealed_answer IS NOT NULL`,
	`UPDATE claims SET sealed_link = $2, erased = $3, skill_again = 0, skill_allowed = NULL, skill_shown = NULL,
		skill_answered = NULL, skill_outcome = NULL WHERE draw = $1`,
}

// Erase deletes the personal data of a giveaway, once.
func (db *DB) Erase(ctx context.Context, id string, e giveaway.Erasure) error {
	terms, err := json.Marshal(e.Terms)
	if err != nil {
		return fmt.Errorf("delete personal data: %w", err)
	}
	err = db.tx(ctx, "delete personal data", func(tx *sql.Tx) error {
		if err := db.reword(ctx, tx, id); err != nil {
			return err
		}
		err := db.move(ctx, tx, id, `
			UPDATE giveaways SET erased = $2, terms = $3
			WHERE id = $1 AND state = $4 AND state IN ('drawn', 'cancelled') AND outcome_revision = $5 AND erased IS NULL`,
			id, unix(e.At), string(terms), e.State, e.Outcome)
		if err != nil {
			return err
		}
		if _, err := exec(ctx, tx, eraseEntries, id, unix(e.At), make([]byte, 32)); err != nil {
			return err
		}
		if err := eraseClaim(ctx, tx, "", id, e.At); err != nil {
			return err
		}
		if err := eraseRest(ctx, tx, id, e.At); err != nil {
			return err
		}
		return note(ctx, tx, id, e.At, "personal data deleted")
	})
	if err == nil {
		db.told.tell(id)
		db.sweeper.soon()
	}
	return err
}

// eraseClaim empties the claims of a condition.
func eraseClaim(ctx context.Context, tx *sql.Tx, and, id string, at time.Time, more ...any) error {
	for i, query := range eraseClaims {
		args := []any{id, []byte{}}
		if i == len(eraseClaims)-1 {
			args = append(args, unix(at))
		}
		if and != "" {
			query += fmt.Sprintf(and, len(args)+1)
		}
		if _, err := exec(ctx, tx, query, append(args, more...)...); err != nil {
			return err
		}
	}
	return nil
}

// eraseRest ends the sponsor's links, and drops forms and files that wait.
func eraseRest(ctx context.Context, tx *sql.Tx, id string, at time.Time) error {
	for _, one := range []struct {
		query string
		args  []any
	}{
		{`UPDATE sponsor_links SET revoked = $2 WHERE draw = $1 AND revoked IS NULL`, []any{id, unix(at)}},
		{`UPDATE sponsor_links SET sealed_link = $2 WHERE draw = $1`, []any{id, []byte{}}},
		{`DELETE FROM typed_forms WHERE key = $1`, []any{"g/" + id}},
		{`DELETE FROM uploads WHERE draw = $1`, []any{id}},
		{`DELETE FROM show_names WHERE draw = $1`, []any{id}},
	} {
		if _, err := exec(ctx, tx, one.query, one.args...); err != nil {
			return err
		}
	}
	return nil
}

// EraseTicket deletes the personal data of one ticket.
func (db *DB) EraseTicket(ctx context.Context, id string, t draw.Ticket, state giveaway.State, listed bool, at time.Time) error {
	err := db.tx(ctx, "delete personal data of a ticket", func(tx *sql.Tx) error {
		if err := db.reword(ctx, tx, id); err != nil {
			return err
		}
		row, err := db.take(ctx, tx, id)
		switch {
		case err != nil:
			return err
		case row.state != state:
			return giveaway.StateError{State: row.state}
		}
		var inDraw bool
		err = tx.QueryRowContext(ctx, `SELECT reason IS NULL FROM entries WHERE draw = $1 AND ticket = $2`, id, t.String()).Scan(&inDraw)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return giveaway.ErrNoTicket
		case err != nil:
			return err
		case inDraw && !listed:
			return giveaway.ErrMayWin
		}
		n, err := exec(ctx, tx, eraseEntries+` AND ticket = $4`, id, unix(at), make([]byte, 32), t.String())
		if err != nil || n == 0 {
			return err
		}
		if err := eraseClaim(ctx, tx, ` AND place = (SELECT c.place FROM claims c WHERE c.draw = $1 AND c.ticket = $%d)`, id, at, t.String()); err != nil {
			return err
		}
		if _, err := exec(ctx, tx, `DELETE FROM show_names WHERE draw = $1 AND ticket = $2`, id, t.String()); err != nil {
			return err
		}
		return note(ctx, tx, id, at, "The personal data of one ticket was deleted, as its holder asked.")
	})
	if err == nil {
		db.told.tell(id)
		db.sweeper.soon()
	}
	return err
}

// TicketsOf returns the tickets whose address counts as key.
func (db *DB) TicketsOf(ctx context.Context, id, key string) ([]draw.Ticket, error) {
	all, err := list(ctx, db.read, func(row scanner) (draw.Ticket, error) {
		var text string
		if err := row.Scan(&text); err != nil {
			return draw.Ticket{}, err
		}
		return draw.ParseTicket(text)
	}, `SELECT ticket FROM entries WHERE draw = $1 AND key = $2 AND erased IS NULL ORDER BY ticket`, id, key)
	if err != nil {
		return nil, fmt.Errorf("find tickets of an address: %w", err)
	}
	return all, nil
}

// unerased keeps a step on a claim, or a sponsor's page, from bringing personal
// data back: it waits for a deletion, and is then [claims.ErrErased]. Place 0
// is none.
func (db *DB) unerased(ctx context.Context, tx *sql.Tx, id string, place int) error {
	if err := db.dialect.turn(ctx, tx, id, false); err != nil {
		return err
	}
	var one int
	err := tx.QueryRowContext(ctx, `
		SELECT 1 FROM giveaways g WHERE g.id = $1
			AND (g.erased IS NOT NULL OR EXISTS (SELECT 1 FROM claims c WHERE c.draw = $1 AND c.place = $2 AND c.erased IS NOT NULL))`,
		id, place).Scan(&one)
	switch {
	case err == nil:
		return claims.ErrErased
	case errors.Is(err, sql.ErrNoRows):
		return nil
	}
	return err
}
