package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// deadAfter is how many seconds without a sign of life end an attempt.
const deadAfter = 20

// BeginFreeze moves open to freezing, or takes over from a dead attempt. Where
// closes has not come it is [giveaway.ErrTooEarly]. Where the stamp would not
// be before the event it is [giveaway.ErrTooLate], and a dead attempt's
// giveaway is open again, so that it can be revised.
func (db *DB) BeginFreeze(ctx context.Context, id, attempt string, now time.Time) (frozen time.Time, g giveaway.Giveaway, err error) {
	late := false
	err = db.tx(ctx, "begin freeze", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		if err != nil {
			return err
		}
		stamp, err := freezeStamp(ctx, tx, id, row, now.Unix())
		if err != nil {
			return err
		}
		late = stamp >= row.event
		if late && row.state == giveaway.StateOpen {
			return giveaway.ErrTooLate
		}
		if row.state == giveaway.StateFreezing {
			if err := drop(ctx, tx, id, row.attempt); err != nil || late {
				return err
			}
		}
		_, err = exec(ctx, tx, `UPDATE giveaways SET state = 'freezing', attempt = $2, attempt_alive = $3, frozen = $4 WHERE id = $1`,
			id, attempt, now.Unix(), stamp)
		if err != nil {
			return err
		}
		if g, err = readGiveaway(ctx, tx, id); err != nil {
			return err
		}
		frozen = g.Frozen
		return note(ctx, tx, id, now, "freeze begun")
	})
	if err == nil && late {
		err = fmt.Errorf("begin freeze: %w", giveaway.ErrTooLate)
	}
	if err != nil {
		return time.Time{}, giveaway.Giveaway{}, err
	}
	return frozen, g, nil
}

// freezeStamp looks whether a freeze may begin, and returns what it is
// stamped: now, or the second after the last stamp.
func freezeStamp(ctx context.Context, tx *sql.Tx, id string, r row, now int64) (int64, error) {
	switch {
	case r.state == giveaway.StateFreezing && now-r.alive < deadAfter:
		return 0, giveaway.ErrBusy
	case r.state != giveaway.StateOpen && r.state != giveaway.StateFreezing:
		return 0, giveaway.StateError{State: r.state}
	}
	last, err := lastStamp(ctx, tx, id, r)
	if err != nil {
		return 0, err
	}
	stamp := max(now, last+1)
	if stamp < r.closes {
		return 0, giveaway.ErrTooEarly{Until: time.Unix(r.closes, 0).UTC()}
	}
	return stamp, nil
}

// drop ends an attempt: its chunks go, and the giveaway is open.
func drop(ctx context.Context, tx *sql.Tx, id, attempt string) error {
	for _, name := range []string{draw.RollFile, draw.ExcludedFile} {
		_, err := exec(ctx, tx, `DELETE FROM file_chunks WHERE draw = $1 AND version = $2`, id, attemptVersion(name, attempt))
		if err != nil {
			return err
		}
	}
	_, err := exec(ctx, tx, `UPDATE giveaways SET state = 'open', attempt = NULL, attempt_alive = NULL, frozen = NULL WHERE id = $1`, id)
	return err
}

// Tickets returns the issued tickets after one, in order.
func (db *DB) Tickets(ctx context.Context, id string, after draw.Ticket, limit int) ([]giveaway.TicketLine, error) {
	from := ""
	if after != (draw.Ticket{}) {
		from = after.String()
	}
	lines, err := list(ctx, db.read, scanTicketLine, `
		SELECT ticket, commitment, COALESCE(reason, '') FROM entries
		WHERE draw = $1 AND ticket > $2 ORDER BY ticket LIMIT $3`, id, from, limit)
	if err != nil {
		return nil, fmt.Errorf("read tickets: %w", err)
	}
	return lines, nil
}

func scanTicketLine(row scanner) (l giveaway.TicketLine, err error) {
	var ticket string
	var commitment []byte
	if err := row.Scan(&ticket, &commitment, &l.Reason); err != nil {
		return l, err
	}
	copy(l.Commitment[:], commitment)
	l.Ticket, err = draw.ParseTicket(ticket)
	return l, err
}

// WriteList keeps one chunk of a list in the making. A chunk is written once.
func (db *DB) WriteList(ctx context.Context, id, attempt, name string, chunk int, b []byte, now time.Time) error {
	if (name != draw.RollFile && name != draw.ExcludedFile) || len(b) > giveaway.ChunkSize {
		return fmt.Errorf("write list: %s with a chunk of %d bytes is none of a freeze", name, len(b))
	}
	return db.tx(ctx, "write list", func(tx *sql.Tx) error {
		err := db.move(ctx, tx, id, `
			UPDATE giveaways SET attempt_alive = CASE WHEN attempt_alive < $3 THEN $3 ELSE attempt_alive END
			WHERE id = $1 AND state = 'freezing' AND attempt = $2`, id, attempt, now.Unix())
		if err != nil {
			return err
		}
		return writeChunk(ctx, tx, id, attemptVersion(name, attempt), chunk, b)
	})
}

// Freeze moves freezing to frozen and publishes the lists and freeze.txt.
// Before that it reads the lists back: what is published for ever is what
// freeze.txt says.
func (db *DB) Freeze(ctx context.Context, f giveaway.Frozen) error {
	roll, err := db.readBack(ctx, f.ID, attemptVersion(draw.RollFile, f.Attempt))
	if err != nil {
		return fmt.Errorf("freeze: %w", err)
	}
	excluded, err := db.readBack(ctx, f.ID, attemptVersion(draw.ExcludedFile, f.Attempt))
	if err != nil {
		return fmt.Errorf("freeze: %w", err)
	}
	return db.tx(ctx, "freeze", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, f.ID)
		if err != nil {
			return err
		}
		if row.state != giveaway.StateFreezing || row.attempt != f.Attempt {
			return giveaway.StateError{State: row.state}
		}
		if roll.hash != f.Freeze.RollHash || excluded.hash != f.Freeze.ExcludedHash ||
			string(row.hash) != string(f.Freeze.Opening[:]) || row.frozen != f.Freeze.Frozen.Unix() {
			return errors.New("freeze.txt does not fit the lists, the opening or the stamp that are stored")
		}
		return freeze(ctx, tx, f, roll, excluded)
	})
}

func freeze(ctx context.Context, tx *sql.Tx, f giveaway.Frozen, roll, excluded stored) error {
	if err := point(ctx, tx, f.ID, draw.RollFile, roll); err != nil {
		return err
	}
	if err := point(ctx, tx, f.ID, draw.ExcludedFile, excluded); err != nil {
		return err
	}
	if err := publish(ctx, tx, f.ID, draw.FreezeFile, draw.FreezeFile, f.Note); err != nil {
		return err
	}
	_, err := exec(ctx, tx, `UPDATE giveaways SET state = 'frozen', attempt = NULL, attempt_alive = NULL WHERE id = $1`, f.ID)
	if err != nil {
		return err
	}
	return note(ctx, tx, f.ID, f.Freeze.Frozen, "frozen")
}

// AbandonFreeze moves freezing back to open.
func (db *DB) AbandonFreeze(ctx context.Context, id, attempt string) error {
	return db.tx(ctx, "abandon freeze", func(tx *sql.Tx) error {
		row, err := db.take(ctx, tx, id)
		if err != nil {
			return err
		}
		if row.state != giveaway.StateFreezing || row.attempt != attempt {
			return giveaway.StateError{State: row.state}
		}
		return drop(ctx, tx, id, attempt)
	})
}

// readBack goes over the chunks of one version: they must follow one another
// from 0, each full but the last.
func (db *DB) readBack(ctx context.Context, id, version string) (stored, error) {
	s := stored{version: version}
	sum := sha256.New()
	for n := 0; ; n++ {
		b, err := db.chunk(ctx, id, version, n)
		if errors.Is(err, sql.ErrNoRows) {
			sum.Sum(s.hash[:0])
			return s, nil
		}
		if err != nil {
			return s, fmt.Errorf("read list back: %w", err)
		}
		if s.size != int64(n)*giveaway.ChunkSize {
			return s, fmt.Errorf("read list back: a chunk before number %d is not full", n)
		}
		sum.Write(b)
		s.size += int64(len(b))
	}
}
