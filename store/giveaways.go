package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A DB keeps giveaways.
var _ giveaway.Store = (*DB)(nil)

// hostSeal is the vault's label for the secrets of host seals.
const hostSeal = "host-seal"

const giveawayColumns = `id, state, terms, sample, created, opened, revision, opening, opening_hash, frozen, drawn,
	released, cancelled, cancel_reason, successor, kept, erased`

// scanGiveaway reads giveawayColumns.
func scanGiveaway(row scanner) (giveaway.Giveaway, error) {
	var g giveaway.Giveaway
	var terms string
	var opening sql.NullString
	var hash []byte
	var created int64
	var opened, frozen, drawn, released, cancelled, kept, erased sql.NullInt64
	err := row.Scan(&g.ID, &g.State, &terms, &g.Sample, &created, &opened, &g.Revision, &opening, &hash, &frozen, &drawn,
		&released, &cancelled, &g.CancelReason, &g.Successor, &kept, &erased)
	if err != nil {
		return g, err
	}
	g.Created = time.Unix(created, 0).UTC()
	g.Opened, g.Frozen, g.Drawn, g.Released = when(opened), when(frozen), when(drawn), when(released)
	g.Cancelled, g.Kept, g.Erased = when(cancelled), when(kept), when(erased)
	if err := json.Unmarshal([]byte(terms), &g.Terms); err != nil {
		return g, fmt.Errorf("read the terms of %s: %w", g.ID, err)
	}
	if !opening.Valid {
		return g, nil
	}
	copy(g.OpeningHash[:], hash)
	g.Opening, err = draw.ParseOpening(draw.OpeningFile, []byte(opening.String))
	return g, err
}

// Giveaway returns the giveaway of that id.
func (db *DB) Giveaway(ctx context.Context, id string) (giveaway.Giveaway, error) {
	return readGiveaway(ctx, db.read, id)
}

func readGiveaway(ctx context.Context, q querier, id string) (giveaway.Giveaway, error) {
	g, err := scanGiveaway(q.QueryRowContext(ctx, `SELECT `+giveawayColumns+` FROM giveaways WHERE id = $1`, id))
	if errors.Is(err, sql.ErrNoRows) {
		err = giveaway.ErrNotFound
	}
	if err != nil {
		return giveaway.Giveaway{}, fmt.Errorf("read giveaway: %w", err)
	}
	return g, nil
}

// Giveaways returns all but rehearsals, newest first.
func (db *DB) Giveaways(ctx context.Context) ([]giveaway.Giveaway, error) {
	all, err := list(ctx, db.read, scanGiveaway, `SELECT `+giveawayColumns+` FROM giveaways WHERE id NOT LIKE $1 ORDER BY created DESC, id`, rehearsals)
	if err != nil {
		return nil, fmt.Errorf("read giveaways: %w", err)
	}
	return all, nil
}

// AddDraft inserts a draft of an id that nobody has.
func (db *DB) AddDraft(ctx context.Context, g giveaway.Giveaway) error {
	terms, err := json.Marshal(g.Terms)
	if err != nil {
		return fmt.Errorf("save draft: %w", err)
	}
	return db.tx(ctx, "save draft", func(tx *sql.Tx) error {
		n, err := exec(ctx, tx, `
			INSERT INTO giveaways (id, state, terms, sample, created) VALUES ($1, 'draft', $2, $3, $4)
			ON CONFLICT (id) DO NOTHING`,
			g.ID, string(terms), g.Sample, unix(g.Created))
		if err == nil && n == 0 {
			return stateOf(ctx, tx, g.ID)
		}
		return err
	})
}

// ChangeDraft replaces the terms of a draft that still has those of the mark.
func (db *DB) ChangeDraft(ctx context.Context, from draw.Digest, t giveaway.Terms) error {
	terms, err := json.Marshal(t)
	if err != nil {
		return fmt.Errorf("change draft: %w", err)
	}
	return db.tx(ctx, "change draft", func(tx *sql.Tx) error {
		if err := db.takeDraft(ctx, tx, t.Draw, from); err != nil {
			return err
		}
		return exec1(ctx, tx, giveaway.ErrState, `UPDATE giveaways SET terms = $2 WHERE id = $1 AND state = 'draft'`, t.Draw, string(terms))
	})
}

// takeDraft has a draft's row for this transaction alone. It must have terms of
// the mark.
func (db *DB) takeDraft(ctx context.Context, tx *sql.Tx, id string, mark draw.Digest) error {
	if err := db.dialect.turn(ctx, tx, id, true); err != nil {
		return err
	}
	g, err := readGiveaway(ctx, tx, id)
	switch {
	case err != nil:
		return err
	case g.State != giveaway.StateDraft:
		return giveaway.StateError{State: g.State}
	case g.Terms.Mark() != mark:
		return giveaway.ErrStale
	}
	return nil
}

// takePlaceOf has the row of the giveaway that an opening follows for this
// transaction alone, after its own: of several that follow it one is opened.
func (db *DB) takePlaceOf(ctx context.Context, tx *sql.Tx, o draw.Opening) error {
	if o.Follows == "" {
		return nil
	}
	if err := db.dialect.turn(ctx, tx, o.Follows, true); err != nil {
		return err
	}
	all, err := list(ctx, tx, scanGiveaway, `SELECT `+giveawayColumns+` FROM giveaways WHERE opening IS NOT NULL`)
	if err != nil {
		return err
	}
	for _, g := range all {
		if g.ID != o.Draw && g.Opening.Follows == o.Follows || g.ID == o.Follows && g.Successor != "" && g.Successor != o.Draw {
			return giveaway.ErrFollowed
		}
	}
	return nil
}

// Open moves a draft to open and publishes opening.txt and rules.txt.
func (db *DB) Open(ctx context.Context, o giveaway.Opened) error {
	sealed, err := db.vault.Seal(hostSeal, o.ID, o.HostSecret[:])
	if err != nil {
		return fmt.Errorf("open giveaway: %w", err)
	}
	terms, err := json.Marshal(o.Terms)
	if err != nil {
		return fmt.Errorf("open giveaway: %w", err)
	}
	text := o.Opening.Text()
	hash := draw.Hash(text)
	err = db.tx(ctx, "open giveaway", func(tx *sql.Tx) error {
		err := db.takeDraft(ctx, tx, o.ID, o.From)
		if err == nil {
			err = db.takePlaceOf(ctx, tx, o.Opening)
		}
		if err == nil {
			err = dropForm(ctx, tx, "g/"+o.ID)
		}
		if err != nil {
			return err
		}
		err = db.move(ctx, tx, o.ID, `
			UPDATE giveaways SET state = 'open', terms = $2, opened = $3, revision = $4, opening = $5, opening_hash = $6,
				opens = $7, closes = $8, event = $9, rules_version = $4, host_secret = $10
			WHERE id = $1 AND state = 'draft'`,
			o.ID, string(terms), unix(o.At), o.Opening.Revision, string(text), hash[:],
			unix(o.Opening.Opens), unix(o.Opening.Closes), unix(o.Opening.Event), sealed)
		if err != nil {
			return err
		}
		rev := o.Opening.Revision
		if err := publish(ctx, tx, o.ID, draw.OpeningFile, version(draw.OpeningFile, rev), o.Note); err != nil {
			return err
		}
		if err := publish(ctx, tx, o.ID, draw.RulesFile, version(draw.RulesFile, rev), o.Rules); err != nil {
			return err
		}
		return note(ctx, tx, o.ID, o.At, "opened")
	})
	if err == nil {
		db.sweeper.soon() // for the form that was dropped
	}
	return err
}

// Record moves frozen to drawn and publishes record.txt. A secret that was
// handed in must be opened there: HandIn and this wait for one another, so none
// is taken and then left out.
func (db *DB) Record(ctx context.Context, id string, text []byte, drawn, released time.Time) error {
	return db.tx(ctx, "store record", func(tx *sql.Tx) error {
		err := db.move(ctx, tx, id,
			`UPDATE giveaways SET state = 'drawn', drawn = $2, released = $3 WHERE id = $1 AND state = 'frozen'`,
			id, unix(drawn), unix(released))
		if err != nil {
			return err
		}
		handed, err := list(ctx, tx, scanHanded, handedQuery, id)
		if err != nil {
			return err
		}
		for _, in := range handed {
			line := fmt.Appendf(nil, "\nsecret %s %x\n", in.Role, in.Secret) // protocol, record.txt
			if !bytes.Contains(text, line) {
				return giveaway.ErrMissed
			}
		}
		if err := publish(ctx, tx, id, draw.RecordFile, draw.RecordFile, text); err != nil {
			return err
		}
		return note(ctx, tx, id, drawn, "drawn")
	})
}

// HostSecret opens the secret of the host's seal.
func (db *DB) HostSecret(ctx context.Context, id string) (secret [32]byte, err error) {
	var sealed []byte
	err = db.read.QueryRowContext(ctx, `SELECT host_secret FROM giveaways WHERE id = $1`, id).Scan(&sealed)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return secret, fmt.Errorf("read host secret: %w", giveaway.ErrNotFound)
	case err != nil:
		return secret, fmt.Errorf("read host secret: %w", err)
	case sealed == nil:
		return secret, fmt.Errorf("read host secret: %w", giveaway.StateError{State: giveaway.StateDraft})
	}
	plain, err := db.vault.Open(hostSeal, id, sealed)
	if err != nil || len(plain) != len(secret) {
		return secret, fmt.Errorf("read host secret: %w", errors.Join(err, errLength(len(plain), len(secret))))
	}
	return [32]byte(plain), nil
}

func errLength(got, want int) error {
	if got == want {
		return nil
	}
	return fmt.Errorf("%d bytes where %d were stored", got, want)
}

// move runs a compare-and-swap on one giveaway. Where no row changed it
// says why: there is no such giveaway, or it is in another state.
func (db *DB) move(ctx context.Context, tx *sql.Tx, id, query string, args ...any) error {
	if err := db.dialect.turn(ctx, tx, id, true); err != nil {
		return err
	}
	n, err := exec(ctx, tx, query, args...)
	if err == nil && n == 0 {
		return stateOf(ctx, tx, id)
	}
	return err
}

// stateOf is the error that tells in which state a giveaway is.
func stateOf(ctx context.Context, tx *sql.Tx, id string) error {
	var state giveaway.State
	err := tx.QueryRowContext(ctx, `SELECT state FROM giveaways WHERE id = $1`, id).Scan(&state)
	if errors.Is(err, sql.ErrNoRows) {
		return giveaway.ErrNotFound
	}
	if err != nil {
		return err
	}
	return giveaway.StateError{State: state}
}

// note writes a line of the log. what is one of the program's own words or
// what the host wrote for the log, never personal data. The caller holds the
// giveaway's row alone, so that lines have numbers of their own.
func note(ctx context.Context, tx *sql.Tx, id string, at time.Time, what string) error {
	_, err := exec(ctx, tx, `
		INSERT INTO log (draw, at, what, n) VALUES ($1, $2, $3, (SELECT COALESCE(MAX(n), 0) + 1 FROM log WHERE draw = $1))`,
		id, unix(at), what)
	return err
}
