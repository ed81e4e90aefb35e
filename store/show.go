package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/show"
)

// A DB keeps shows.
var _ show.Store = (*DB)(nil)

// reachedRow is a picture that was shown, in the column reached.
type reachedRow struct {
	Step  show.Step `json:"step"`
	Place int       `json:"place,omitempty"`
	At    int64     `json:"at"` // milliseconds
}

// Show returns where a giveaway's show stands.
func (db *DB) Show(ctx context.Context, id string) (show.State, error) {
	st := show.State{Draw: id}
	var step, reached string
	var moved int64
	err := db.read.QueryRowContext(ctx, `SELECT version, step, place, held, dark, delay, moved, reached FROM shows WHERE draw = $1`, id).
		Scan(&st.Version, &step, &st.Place, &st.Held, &st.Dark, &st.Delay, &moved, &reached)
	if errors.Is(err, sql.ErrNoRows) {
		return st, nil
	}
	if err == nil {
		st.Step, err = show.ParseStep(step)
	}
	var rows []reachedRow
	if err == nil {
		err = json.Unmarshal([]byte(reached), &rows)
	}
	if err != nil {
		return show.State{}, fmt.Errorf("read the show of %s: %w", id, err)
	}
	st.Moved = time.UnixMilli(moved).UTC()
	for _, r := range rows {
		st.Reached = append(st.Reached, show.Reached{Step: r.Step, Place: r.Place, At: time.UnixMilli(r.At).UTC()})
	}
	return st, nil
}

// MoveShow replaces the state of version from.
func (db *DB) MoveShow(ctx context.Context, from int64, next show.State, release time.Time) error {
	if next.Version != from+1 {
		return fmt.Errorf("move the show of %s: version %d is not the one after %d", next.Draw, next.Version, from)
	}
	rows := []reachedRow{}
	for _, r := range next.Reached {
		rows = append(rows, reachedRow{r.Step, r.Place, r.At.UnixMilli()})
	}
	reached, err := json.Marshal(rows)
	if err != nil {
		return fmt.Errorf("move the show of %s: %w", next.Draw, err)
	}
	query := `UPDATE shows SET version = $2, step = $3, place = $4, held = $5, dark = $6, delay = $7, moved = $8, reached = $9
		WHERE draw = $1 AND version = $10`
	args := []any{next.Draw, next.Version, next.Step.String(), next.Place, next.Held, next.Dark, next.Delay, next.Moved.UnixMilli(), string(reached)}
	if from == 0 {
		query = `INSERT INTO shows (draw, version, step, place, held, dark, delay, moved, reached)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT DO NOTHING`
	} else {
		args = append(args, from)
	}
	err = db.tx(ctx, "move the show", func(tx *sql.Tx) error {
		if err := exec1(ctx, tx, show.ErrMoved, query, args...); err != nil {
			return err
		}
		if !release.IsZero() {
			if err := db.release(ctx, tx, next.Draw, release); err != nil && !errors.Is(err, giveaway.ErrState) {
				return err
			}
		}
		return db.dialect.tell(ctx, tx, next.Draw, next.Version)
	})
	if err == nil {
		db.told.tell(next.Draw)
	}
	return err
}

// Pulse is a word that differs whenever what a show's pages are made of does:
// one small read. "" for an unknown id.
func (db *DB) Pulse(ctx context.Context, id string) (string, error) {
	var state string
	var version, worded, revision, released int64
	err := db.read.QueryRowContext(ctx, `
		SELECT g.state, g.revision, COALESCE(g.released, 0), COALESCE(s.version, 0), COALESCE(s.worded, 0)
		FROM giveaways g LEFT JOIN shows s ON s.draw = g.id WHERE g.id = $1`, id).Scan(&state, &revision, &released, &version, &worded)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("read how %s stands: %w", id, err)
	}
	return fmt.Sprint(state, " ", revision, " ", released, " ", version, " ", worded), nil
}

// Said returns what is to be said of tickets.
func (db *DB) Said(ctx context.Context, id string, tickets []draw.Ticket) (map[draw.Ticket]string, error) {
	said := map[draw.Ticket]string{}
	for _, t := range tickets {
		var words string
		err := db.read.QueryRowContext(ctx, `
			SELECT CASE n.say WHEN 'name' THEN e.name WHEN 'like' THEN n.words ELSE '' END
			FROM show_names n JOIN entries e ON e.draw = n.draw AND e.ticket = n.ticket
			WHERE n.draw = $1 AND n.ticket = $2 AND e.erased IS NULL`, id, t.String()).Scan(&words)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return nil, fmt.Errorf("read what is said of a ticket of %s: %w", id, err)
		}
		if words = strings.TrimSpace(words); words != "" {
			said[t] = words
		}
	}
	return said, nil
}

// Newest is the giveaway whose show was moved last, of those whose event is
// not after a time; rehearsals don't count.
func (db *DB) Newest(ctx context.Context, last time.Time) (string, error) {
	var id string
	err := db.read.QueryRowContext(ctx, `
		SELECT s.draw FROM shows s JOIN giveaways g ON g.id = s.draw
		WHERE s.draw NOT LIKE $1 AND g.event <= $2 ORDER BY s.moved DESC, s.draw LIMIT 1`, rehearsals, unix(last)).Scan(&id)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("find the show that was moved last: %w", err)
	}
	return id, nil
}

// LastDelay is the delay of the show that was moved last.
func (db *DB) LastDelay(ctx context.Context) (int, error) {
	var seconds int
	err := db.read.QueryRowContext(ctx, `SELECT delay FROM shows ORDER BY moved DESC, draw LIMIT 1`).Scan(&seconds)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("read the last show's delay: %w", err)
	}
	return seconds, nil
}
