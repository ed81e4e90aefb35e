package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/giveaway"
)

// typedForm is the vault's label for forms. In the place of the draw id stands
// the form's key: a row copied to another key opens nothing.
const typedForm = "typed-form"

// formContent is what is sealed of a form.
type formContent struct {
	Title  string `json:"title"`
	Values []byte `json:"values"`
}

// SaveForm keeps a form as it was typed, and returns its new version. f.Version
// is the version that it was made from, 0 for a form that was never saved; if
// another one is stored it is [giveaway.ErrState], and nothing has changed. The
// first version is the time of f.At in Unix seconds, and each save adds one.
func (db *DB) SaveForm(ctx context.Context, f giveaway.TypedForm) (version int64, err error) {
	if f.Key == "" || f.Version < 0 {
		return 0, errors.New("save form: no key, or no version")
	}
	plain, err := json.Marshal(formContent{Title: f.Title, Values: f.Values})
	if err != nil {
		return 0, fmt.Errorf("save form: %w", err)
	}
	sealed, err := db.vault.Seal(typedForm, f.Key, plain)
	if err != nil {
		return 0, fmt.Errorf("save form: %w", err)
	}
	version = f.Version + 1
	if f.Version == 0 {
		version = max(1, unix(f.At))
	}
	err = db.tx(ctx, "save form", func(tx *sql.Tx) error {
		query := `UPDATE typed_forms SET version = $2, sealed = $3, at = $4 WHERE key = $1 AND version = $2 - 1`
		if f.Version == 0 {
			query = `INSERT INTO typed_forms (key, version, sealed, at) VALUES ($1, $2, $3, $4) ON CONFLICT (key) DO NOTHING`
		}
		return exec1(ctx, tx, giveaway.ErrState, query, f.Key, version, sealed, unix(f.At))
	})
	if err != nil {
		return 0, err
	}
	db.sweeper.soon() // what was typed before may have been taken back
	return version, nil
}

// Form returns a form; [giveaway.ErrNotFound] where there is none. Of one that
// was dropped Key and Version are returned with that error: whoever begins anew
// does so from that version.
func (db *DB) Form(ctx context.Context, key string) (giveaway.TypedForm, error) {
	f, err := db.scanForm(db.read.QueryRowContext(ctx, `SELECT key, version, sealed, at FROM typed_forms WHERE key = $1`, key))
	if errors.Is(err, sql.ErrNoRows) {
		err = giveaway.ErrNotFound
	}
	if errors.Is(err, giveaway.ErrNotFound) {
		return giveaway.TypedForm{Key: f.Key, Version: f.Version}, fmt.Errorf("read form: %w", err)
	}
	if err != nil {
		return giveaway.TypedForm{}, fmt.Errorf("read form: %w", err)
	}
	return f, nil
}

// Forms returns all forms, the one saved last first.
func (db *DB) Forms(ctx context.Context) ([]giveaway.TypedForm, error) {
	all, err := list(ctx, db.read, db.scanForm, `SELECT key, version, sealed, at FROM typed_forms WHERE length(sealed) > 0 ORDER BY at DESC, key`)
	if err != nil {
		return nil, fmt.Errorf("read forms: %w", err)
	}
	return all, nil
}

// DropForm forgets what was typed into a form. One that is not there is no
// error. Its key and a version stay, so that what a page of before sends late,
// or once more, does not bring it back.
func (db *DB) DropForm(ctx context.Context, key string) error {
	err := db.tx(ctx, "drop form", func(tx *sql.Tx) error {
		return dropForm(ctx, tx, key)
	})
	if err == nil {
		db.sweeper.soon()
	}
	return err
}

func dropForm(ctx context.Context, tx *sql.Tx, key string) error {
	_, err := exec(ctx, tx, `
		INSERT INTO typed_forms (key, version, sealed, at) VALUES ($1, 1, $2, 0)
		ON CONFLICT (key) DO UPDATE SET version = typed_forms.version + 1, sealed = excluded.sealed, at = 0`,
		key, []byte{})
	return err
}

func (db *DB) scanForm(row scanner) (f giveaway.TypedForm, err error) {
	var sealed []byte
	var at int64
	if err := row.Scan(&f.Key, &f.Version, &sealed, &at); err != nil {
		return f, err
	}
	if len(sealed) == 0 { // dropped
		return f, giveaway.ErrNotFound
	}
	plain, err := db.vault.Open(typedForm, f.Key, sealed)
	if err != nil {
		return f, err
	}
	var c formContent
	if json.Unmarshal(plain, &c) != nil {
		return f, errors.New("a form can not be read") // the cause may show it
	}
	f.Title, f.Values, f.At = c.Title, c.Values, time.Unix(at, 0).UTC()
	return f, nil
}
