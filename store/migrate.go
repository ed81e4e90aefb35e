package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"evenhand/migrations"
)

// ErrNewer says that the schema was written by a newer program: this one
// would not know what it means.
var ErrNewer = errors.New("the database is newer than this program; install the newer program")

func (db *DB) migrate(ctx context.Context) error {
	return db.migrateWith(ctx, migrations.Files)
}

// migrateWith runs what is missing of the files, one server at a time.
func (db *DB) migrateWith(ctx context.Context, files fs.FS) error {
	p, err := goose.NewProvider(db.dialect.schema, db.write, files,
		goose.WithTableName("schema_version"), goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	err = db.dialect.alone(ctx, db.write, func() error {
		has, knows, err := p.GetVersions(ctx)
		if err != nil {
			return err
		}
		if has > knows {
			return fmt.Errorf("schema %d, this program knows %d: %w", has, knows, ErrNewer)
		}
		_, err = p.Up(ctx)
		return err
	})
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	return nil
}
