package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Copies makes copies of the database while everything goes on, each a file that
// holds all of it as it was at one moment. To close one deletes it. Nil for
// PostgreSQL, which has its own tools for that.
func (db *DB) Copies() func(context.Context) (io.ReadSeekCloser, error) {
	if db.file == "" {
		return nil
	}
	return func(ctx context.Context) (io.ReadSeekCloser, error) { return db.copy(ctx) }
}

// A passing file is deleted when it is closed.
type passing struct{ *os.File }

func (f passing) Close() error { return errors.Join(f.File.Close(), os.Remove(f.Name())) }

// copy has SQLite write the file, in the database's own folder: it holds what
// that holds, and nobody else can read it. What was deleted before is not in it.
// SQLite, "VACUUM INTO", https://www.sqlite.org/lang_vacuum.html: an empty file
// is filled, and the copy is of one transaction.
func (db *DB) copy(ctx context.Context) (passing, error) {
	f, err := os.CreateTemp(filepath.Dir(db.file), "copy-*.db") // mode 0600
	if err != nil {
		return passing{}, fmt.Errorf("copy the database: %w", err)
	}
	c := passing{f}
	if err := db.vacuumInto(ctx, f.Name()); err != nil {
		return c, errors.Join(fmt.Errorf("copy the database: %w", err), c.Close())
	}
	return c, nil
}

// vacuumInto takes a connection of its own: the readers' may write no file, and
// whoever enters would wait for the writer's.
func (db *DB) vacuumInto(ctx context.Context, path string) error {
	own, err := sql.Open("sqlite", sqliteName(db.file))
	if err != nil {
		return err
	}
	_, err = own.ExecContext(ctx, `VACUUM INTO $1`, path)
	return errors.Join(err, own.Close())
}
