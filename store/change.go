package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
)

// A held row is what a change needs of an entry, taken for this transaction.
type held struct {
	ticket    string
	entered   int64
	withdrawn bool
}

// hold takes the giveaway's row under the shared lock and then the entry's
// own.
func (db *DB) hold(ctx context.Context, tx *sql.Tx, drawID string, linkHash [32]byte) (e edge, h held, err error) {
	if e, err = db.share(ctx, tx, drawID); err != nil {
		return e, h, err
	}
	err = tx.QueryRowContext(ctx, `
		SELECT ticket, entered, withdrawn IS NOT NULL FROM entries WHERE draw = $1 AND link = $2`+db.dialect.forUpdate,
		drawID, linkHash[:]).Scan(&h.ticket, &h.entered, &h.withdrawn)
	if errors.Is(err, sql.ErrNoRows) {
		err = entries.ErrNoSuchLink
	}
	return e, h, err
}

// ChangeEntry writes another size, with its new salt and commitment.
func (db *DB) ChangeEntry(ctx context.Context, drawID string, now time.Time, c entries.Change) (stamp entries.Stamp, err error) {
	err = db.tx(ctx, "change entry", func(tx *sql.Tx) error {
		e, h, err := db.hold(ctx, tx, drawID, c.LinkHash)
		stamp = e.stamp(now)
		switch {
		case err != nil:
			return err
		case e.state != giveaway.StateOpen:
			return entries.ErrLocked
		case h.withdrawn:
			return entries.ErrWithdrawn
		case stamp.Entered.Unix() <= h.entered:
			return entries.ErrTooSoon
		}
		system, size, width := sizeColumns(c.Entry.Size)
		_, err = exec(ctx, tx, `
			UPDATE entries SET size_system = $3, size = $4, size_width = $5, salt = $6, commitment = $7, opening = $8, entered = $9
			WHERE draw = $1 AND ticket = $2`,
			drawID, h.ticket, system, size, width, c.Salt[:], c.Commitment[:], stamp.Opening[:], stamp.Entered.Unix())
		return err
	})
	if err != nil {
		return entries.Stamp{}, err
	}
	return stamp, nil
}

// Withdraw takes a ticket out, frees its address, and drops all of the entry
// that neither receipt nor entry text is made of. Of the address the form that
// counts is left: the entry's own text has it.
func (db *DB) Withdraw(ctx context.Context, drawID string, now time.Time, linkHash [32]byte) error {
	err := db.tx(ctx, "withdraw entry", func(tx *sql.Tx) error {
		e, h, err := db.hold(ctx, tx, drawID, linkHash)
		switch {
		case err != nil:
			return err
		case h.withdrawn:
			return nil
		case e.state != giveaway.StateOpen:
			return entries.ErrLocked
		}
		return withdraw(ctx, tx, drawID, h.ticket, now)
	})
	if err == nil {
		db.sweeper.soon()
	}
	return err
}

// withdraw takes out a ticket that the transaction holds.
func withdraw(ctx context.Context, tx *sql.Tx, drawID, ticket string, now time.Time) error {
	_, err := exec(ctx, tx, `
		UPDATE entries SET withdrawn = $3, reason = 'withdrawn', typed = key, live = '', live_state = '', ship_state = '',
			friend = false, name = '', age = '', step = false, answers = '{}'
		WHERE draw = $1 AND ticket = $2`,
		drawID, ticket, now.Unix())
	if err != nil {
		return err
	}
	_, err = exec(ctx, tx, dropSaying, drawID, ticket)
	return err
}
