package store

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"
)

// sweepAfter is how long a sweep waits for more of a burst.
const sweepAfter = 2 * time.Second

// A sweeper empties the write-ahead log of SQLite a moment after personal data
// was taken out of the database. The database file itself is overwritten at
// once (secure_delete), but the log holds pages as they were before, until a
// checkpoint cuts it short. PostgreSQL clears away by itself (autovacuum).
type sweeper struct {
	db   *DB
	due  chan struct{} // of one: a burst is one sweep
	once sync.Once     // closes stop
	stop chan struct{}
	done chan struct{}
}

func newSweeper(db *DB) *sweeper {
	s := &sweeper{db: db, due: make(chan struct{}, 1), stop: make(chan struct{}), done: make(chan struct{})}
	if db.dialect.sweep == nil {
		close(s.done)
		return s
	}
	s.soon() // what a crash left
	go s.run()
	return s
}

// soon asks for a sweep.
func (s *sweeper) soon() {
	select {
	case s.due <- struct{}{}:
	default: // asked already
	}
}

func (s *sweeper) run() {
	defer close(s.done)
	for {
		select {
		case <-s.due:
		case <-s.stop:
			return
		}
		select {
		case <-time.After(sweepAfter):
		case <-s.stop:
			return
		}
		if clean, err := s.sweep(); err != nil || !clean {
			s.soon() // somebody reads; Close reports what does not end
		}
	}
}

func (s *sweeper) sweep() (clean bool, err error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return s.db.dialect.sweep(ctx, s.db.write)
}

// close ends the sweeper with a last sweep. That one is not clean while
// another process reads, which then empties the log itself.
func (s *sweeper) close() (err error) {
	s.once.Do(func() {
		close(s.stop)
		<-s.done
		if s.db.dialect.sweep != nil {
			_, err = s.sweep()
		}
	})
	return err
}

// sqliteSweep moves the log into the database file and cuts it to nothing
// (https://www.sqlite.org/pragma.html, wal_checkpoint). It waits for readers
// for a tenth of a second only, since the writers wait behind it.
func sqliteSweep(ctx context.Context, db *sql.DB) (clean bool, err error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = 100"); err != nil {
		return false, err
	}
	var busy, inLog, moved int
	err = conn.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &inLog, &moved)
	_, back := conn.ExecContext(context.WithoutCancel(ctx), "PRAGMA busy_timeout = "+busyTimeout)
	return busy == 0, errors.Join(err, back)
}
