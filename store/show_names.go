package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// A DB keeps what is said of tickets.
var _ show.Names = (*DB)(nil)

// named are the entries with a name to be said that are for the draw.
const named = ` FROM entries e LEFT JOIN show_names n ON n.draw = e.draw AND n.ticket = e.ticket
	WHERE e.draw = $1 AND e.name <> '' AND e.reason IS NULL AND e.withdrawn IS NULL AND e.erased IS NULL`

// Names lists the names to be said.
func (db *DB) Names(ctx context.Context, id string, unseen bool, after string, most int) ([]show.Saying, error) {
	all, err := list(ctx, db.read, func(row scanner) (s show.Saying, err error) {
		var ticket string
		if err = row.Scan(&ticket, &s.Name, &s.Say, &s.Words); err == nil {
			s.Ticket, err = draw.ParseTicket(ticket)
		}
		return s, err
	}, `SELECT e.ticket, e.name, COALESCE(n.say, ''), COALESCE(n.words, '')`+named+`
		AND (n.ticket IS NULL OR NOT $2) AND e.ticket > $3 ORDER BY e.ticket LIMIT $4`, id, unseen, after, most)
	if err != nil {
		return nil, fmt.Errorf("read the names of %s: %w", id, err)
	}
	return all, nil
}

// CountNames counts them.
func (db *DB) CountNames(ctx context.Context, id string) (c show.NameCounts, err error) {
	err = db.read.QueryRowContext(ctx, `SELECT COUNT(*), COUNT(*) - COUNT(n.ticket)`+named, id).Scan(&c.All, &c.Unseen)
	if err != nil {
		return c, fmt.Errorf("count the names of %s: %w", id, err)
	}
	return c, nil
}

// See keeps decisions, in one transaction.
func (db *DB) See(ctx context.Context, id string, all []show.Saying, at time.Time) (kept int, err error) {
	err = db.tx(ctx, "keep what is said of tickets", func(tx *sql.Tx) error {
		kept = 0
		if err := db.reword(ctx, tx, id); err != nil {
			return err
		}
		if err := db.unerased(ctx, tx, id, 0); err != nil {
			return err
		}
		for _, s := range all {
			var name string
			err := tx.QueryRowContext(ctx, `SELECT name FROM entries WHERE draw = $1 AND ticket = $2 AND withdrawn IS NULL AND erased IS NULL`+
				db.dialect.forUpdate, id, s.Ticket.String()).Scan(&name)
			if errors.Is(err, sql.ErrNoRows) || (err == nil && (name != s.Name || name == "")) {
				continue
			}
			if err != nil {
				return err
			}
			if _, err := exec(ctx, tx, sayTicket, id, s.Ticket.String(), s.Say, s.Words, unix(at)); err != nil {
				return err
			}
			kept++
		}
		return nil
	})
	if err == nil {
		db.told.tell(id)
	}
	return kept, err
}

const sayTicket = `
	INSERT INTO show_names (draw, ticket, say, words, seen) VALUES ($1, $2, $3, $4, $5)
	ON CONFLICT (draw, ticket) DO UPDATE SET say = excluded.say, words = excluded.words, seen = excluded.seen`

// ChangeName gives an entry another name; nobody has seen that one.
func (db *DB) ChangeName(ctx context.Context, id string, t draw.Ticket, name string) error {
	err := db.tx(ctx, "change a name", func(tx *sql.Tx) error {
		e, err := db.share(ctx, tx, id)
		if err != nil {
			return err
		}
		var old string
		var withdrawn bool
		err = tx.QueryRowContext(ctx, `SELECT name, withdrawn IS NOT NULL FROM entries WHERE draw = $1 AND ticket = $2`+
			db.dialect.forUpdate, id, t.String()).Scan(&old, &withdrawn)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return entries.ErrNoSuchLink
		case err != nil:
			return err
		case e.state != giveaway.StateOpen:
			return entries.ErrLocked
		case withdrawn:
			return entries.ErrWithdrawn
		case old == name:
			return nil
		}
		if _, err := exec(ctx, tx, `UPDATE entries SET name = $3 WHERE draw = $1 AND ticket = $2`, id, t.String(), name); err != nil {
			return err
		}
		_, err = exec(ctx, tx, dropSaying, id, t.String())
		return err
	})
	if err == nil {
		db.sweeper.soon()
	}
	return err
}

const dropSaying = `DELETE FROM show_names WHERE draw = $1 AND ticket = $2`
