package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// attempts is how often a transaction is tried that the database refused
// without having written anything of it.
const attempts = 10

// querier is what a transaction and a pool have in common.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// tx runs do in one transaction and commits it; durable on return. It may run
// do again from its start, so do must set all that it hands out anew. An
// error of do rolls back and comes out as it is, so that callers can compare
// it; other errors say what was being done.
func (db *DB) tx(ctx context.Context, what string, do func(tx *sql.Tx) error) error {
	for n := range attempts {
		err := db.tryTx(ctx, do)
		if err == nil {
			return nil
		}
		if !db.dialect.again(err) || n == attempts-1 {
			return fmt.Errorf("%s: %w", what, err)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%s: %w", what, ctx.Err())
		case <-time.After(time.Duration(n+1) * 5 * time.Millisecond):
		}
	}
	return nil
}

func (db *DB) tryTx(ctx context.Context, do func(tx *sql.Tx) error) error {
	tx, err := db.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := do(tx); err != nil {
		back := tx.Rollback()
		if errors.Is(back, sql.ErrTxDone) { // the context ended it already
			back = nil
		}
		return errors.Join(err, back)
	}
	return tx.Commit()
}

// exec runs one statement and returns how many rows it changed.
func exec(ctx context.Context, tx *sql.Tx, query string, args ...any) (int64, error) {
	res, err := tx.ExecContext(ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return res.RowsAffected()
}

// exec1 runs one statement that must change one row. Where it changes none
// the error is none's.
func exec1(ctx context.Context, tx *sql.Tx, none error, query string, args ...any) error {
	n, err := exec(ctx, tx, query, args...)
	switch {
	case err != nil:
		return err
	case n == 0:
		return none
	case n > 1:
		return fmt.Errorf("%d rows changed where one was meant", n)
	}
	return nil
}

// scanner is a row to read columns from.
type scanner interface{ Scan(dest ...any) error }

// list reads all rows and closes them before it returns: nothing is written
// while rows are open.
func list[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) (all []T, err error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	return collect(rows, scan)
}

// collect reads all rows and closes them.
func collect[T any](rows *sql.Rows, scan func(scanner) (T, error)) (all []T, err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, rows.Err()
}

// unix is a time as the database keeps it; the zero time is 0.
func unix(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.Unix()
}

// when is the time that a column holds; null and 0 are the zero time.
func when(n sql.NullInt64) time.Time {
	if n.Int64 == 0 {
		return time.Time{}
	}
	return time.Unix(n.Int64, 0).UTC()
}
