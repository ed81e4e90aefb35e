package store

import (
	"context"
	"database/sql"
	"errors"
	"hash/fnv"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
)

// A dialect is all that differs between the two databases.
type dialect struct {
	name   string
	schema goose.Dialect
	// turn takes a giveaway's row until the transaction is over, together with
	// others or alone, and waits in line for it. Whoever moves an opened
	// giveaway or writes what depends on its row takes it so; a row lock that
	// is shared would not do, since it lets in more sharers whoever waits, and
	// keeps away for ever the one who wants the row alone.
	turn func(ctx context.Context, tx *sql.Tx, id string, alone bool) error
	// forUpdate ends a SELECT that takes the row of an entry or a claim until
	// the transaction is over. SQLite needs none: BEGIN IMMEDIATE lets in one
	// writer at a time, so a row that was read there stays as it was read.
	forUpdate string
	// rowsAtOnce are how many rows one INSERT writes, descending to 1; few, so
	// that few statements are planned. PostgreSQL gains by them: each
	// statement is a trip to the server.
	rowsAtOnce []int
	// again tells an error after which the same transaction may be tried
	// again from its start: nothing of it was written.
	again func(error) bool
	// alone runs do while no other server does so.
	alone func(ctx context.Context, db *sql.DB, do func() error) error
	// clock asks for the database's time in milliseconds. "": it has this
	// computer's.
	clock string
	// tell lets the other servers know, with the commit, that a show was
	// moved; see [DB.Listen].
	tell func(ctx context.Context, tx *sql.Tx, id string, version int64) error
	// sweep takes out of the files what the database no longer holds, and
	// tells whether it came to its end. Nil: the database does so by itself.
	sweep func(ctx context.Context, db *sql.DB) (clean bool, err error)
}

var postgres = dialect{
	name:       "PostgreSQL",
	schema:     goose.DialectPostgres,
	forUpdate:  " FOR UPDATE",
	again:      postgresAgain,
	turn:       postgresTurn,
	tell:       postgresTell,
	alone:      postgresAlone,
	clock:      `SELECT (extract(epoch FROM clock_timestamp()) * 1000)::bigint`,
	rowsAtOnce: []int{32, 8, 1},
}

var sqlite3 = dialect{
	name:       "SQLite",
	schema:     goose.DialectSQLite3,
	again:      sqliteAgain,
	turn:       func(context.Context, *sql.Tx, string, bool) error { return nil },  // the writers stand in line already
	tell:       func(context.Context, *sql.Tx, string, int64) error { return nil }, // there is one server
	rowsAtOnce: []int{1},
	sweep:      sqliteSweep,
	alone:      func(_ context.Context, _ *sql.DB, do func() error) error { return do() },
}

// postgresAgain: serialization_failure and deadlock_detected (PostgreSQL,
// appendix A, class 40).
func postgresAgain(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && (e.Code == "40001" || e.Code == "40P01")
}

// sqliteAgain: SQLITE_BUSY and what extends it. The connection has waited its
// busy time already, so this is another process that holds the file long.
func sqliteAgain(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == 5
}

// schemaLock is the number of the advisory lock under which one server at a
// time brings the schema up to date. It means nothing else.
const schemaLock = 0x6576656e68616e64 // "evenhand" in ASCII

func postgresAlone(ctx context.Context, db *sql.DB, do func() error) (err error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock($1)", int64(schemaLock)); err != nil {
		return err
	}
	err = do()
	// Without the caller's cancellation: a lock left behind would stay as
	// long as the connection does.
	_, free := conn.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", int64(schemaLock))
	return errors.Join(err, free)
}

// rowLocks is the class of the advisory locks that order those who want a
// giveaway's row. Locks with a class are apart from those without.
const rowLocks = 0x64726177 // "draw" in ASCII

// postgresTurn takes an advisory lock (PostgreSQL, 13.3.5): its queue is fair.
// It is let go after the commit is seen by all, so whoever comes next reads the
// row as it was left, in a statement of its own. Two ids with one hash wait for one another, no more.
func postgresTurn(ctx context.Context, tx *sql.Tx, id string, alone bool) error {
	h := fnv.New32a()
	h.Write([]byte(id)) // never fails
	query := "SELECT pg_advisory_xact_lock_shared($1, $2)"
	if alone {
		query = "SELECT pg_advisory_xact_lock($1, $2)"
	}
	_, err := tx.ExecContext(ctx, query, int32(rowLocks), int32(h.Sum32()))
	return err
}
