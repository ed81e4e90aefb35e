package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
)

// told are the listeners of this process.
type told struct {
	mu    sync.Mutex // guards heard
	heard map[int]func(id string)
	next  int
}

func (l *told) add(heard func(id string)) (remove func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.heard == nil {
		l.heard = map[int]func(string){}
	}
	n := l.next
	l.next++
	l.heard[n] = heard
	return func() { l.mu.Lock(); defer l.mu.Unlock(); delete(l.heard, n) }
}

func (l *told) tell(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, heard := range l.heard {
		heard(id)
	}
}

// channel is PostgreSQL's channel of moved shows. A notice carries id and
// version, nothing of what is shown.
const channel = "evenhand_show"

// listenAgain is how long after a lost connection the next one is tried.
const listenAgain = time.Second

// Listen calls heard with the id of each giveaway whose show was moved, by this
// process or, on PostgreSQL, by any other, until the context ends. heard must
// return at once. A notice may be lost with a connection: who listens also
// looks by [DB.Pulse] now and then.
func (db *DB) Listen(ctx context.Context, heard func(id string)) {
	defer db.told.add(heard)()
	if db.url == "" {
		<-ctx.Done()
		return
	}
	for ctx.Err() == nil {
		_ = db.listenOnce(ctx, heard) // the slow look goes on meanwhile
		select {
		case <-ctx.Done():
		case <-time.After(listenAgain):
		}
	}
}

// listenOnce listens on a connection of its own until that is lost.
func (db *DB) listenOnce(ctx context.Context, heard func(id string)) error {
	conn, err := pgx.Connect(ctx, db.url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, "LISTEN "+channel); err != nil {
		return err
	}
	for {
		n, err := conn.WaitForNotification(ctx)
		if err != nil {
			return err
		}
		if id, _, ok := strings.Cut(n.Payload, " "); ok {
			heard(id)
		}
	}
}

// reword is a change of what the stage may be saying now: of a name, or of the
// person behind it. Where names are on the stage its pages are made anew. The
// picture stays the one that whoever presses saw, so its version does too, and
// no press is lost. To be called first in the transaction: whoever moves a show
// takes its row before the giveaway's.
func (db *DB) reword(ctx context.Context, tx *sql.Tx, id string) error {
	var version int64
	err := tx.QueryRowContext(ctx, `
		UPDATE shows SET worded = worded + CASE WHEN step IN ('first', 'next', 'alternates') THEN 1 ELSE 0 END
		WHERE draw = $1 RETURNING version`, id).Scan(&version)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	return db.dialect.tell(ctx, tx, id, version)
}

// postgresTell sends the notice with the commit.
func postgresTell(ctx context.Context, tx *sql.Tx, id string, version int64) error {
	_, err := tx.ExecContext(ctx, "SELECT pg_notify($1, $2)", channel, id+" "+strconv.FormatInt(version, 10))
	return err
}
