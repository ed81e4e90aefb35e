package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"modernc.org/sqlite"

	"evenhand/draw"
	"evenhand/vault"
)

// Config says which database to open.
type Config struct {
	// URL of a PostgreSQL database, "postgres://…"; "" for SQLite.
	URL string
	// File is the path of the SQLite database, used where URL is "". It is
	// made, mode 0600, where there is none; its folder must exist.
	File string
	// Vault seals the secrets that go into the database.
	Vault *vault.Vault
}

// A DB is the open database. Its methods may be called from many goroutines.
type DB struct {
	read, write *sql.DB // one and the same for PostgreSQL
	dialect     dialect
	vault       *vault.Vault
	cache       *chunkCache
	intake      *intake
	sweeper     *sweeper
	url         string // of PostgreSQL; "" for SQLite
	file        string // of SQLite; "" for PostgreSQL
	told        told
	inserts     map[int]*sql.Stmt // by number of rows; not changed after Open

	mu     sync.Mutex
	signer *draw.Signer // guarded by mu; nil before Installation
}

// readers and servers limit the connections of one process: readers of SQLite
// beside its one writer, and connections to PostgreSQL.
const (
	readers = 8
	servers = 20
)

// Open connects, and brings the schema up to date. It refuses a schema newer
// than the program, and a database whose secrets are sealed under another
// master key.
func Open(ctx context.Context, c Config) (*DB, error) {
	db, err := connect(c)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	if err := db.prepare(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open the database: %w", err), db.closeAll())
	}
	db.cache, db.intake, db.sweeper = newChunkCache(), newIntake(db), newSweeper(db)
	return db, nil
}

func connect(c Config) (*DB, error) {
	if c.Vault == nil {
		return nil, errors.New("no vault")
	}
	if c.URL != "" {
		return connectPostgres(c)
	}
	return connectSQLite(c)
}

func connectPostgres(c Config) (*DB, error) {
	if !strings.HasPrefix(c.URL, "postgres://") && !strings.HasPrefix(c.URL, "postgresql://") {
		return nil, errors.New("the database URL must begin with postgres://")
	}
	config, err := pgx.ParseConfig(c.URL)
	if err != nil {
		return nil, errors.New("the database URL can not be read") // the cause may show its password
	}
	// An answer means durable, whatever the server's default.
	config.RuntimeParams["synchronous_commit"] = "on"
	pool := stdlib.OpenDB(*config)
	pool.SetMaxOpenConns(servers)
	pool.SetMaxIdleConns(servers)
	return &DB{read: pool, write: pool, dialect: postgres, vault: c.Vault, url: c.URL}, nil
}

// Collation "C" of PostgreSQL, for SQLite: the order of the bytes.
func init() { sqlite.MustRegisterCollationUtf8("C", strings.Compare) }

func connectSQLite(c Config) (*DB, error) {
	path, err := filepath.Abs(c.File)
	if err != nil || c.File == "" {
		return nil, errors.New("no database file is named")
	}
	// SQLite gives its side files the mode of the database file.
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, err
	}
	write, err := sql.Open("sqlite", sqliteName(path, "_txlock", "immediate"))
	if err != nil {
		return nil, err
	}
	write.SetMaxOpenConns(1) // one writer: the others wait here, in order
	read, err := sql.Open("sqlite", sqliteName(path, "_query_only", "true"))
	if err != nil {
		return nil, errors.Join(err, write.Close())
	}
	read.SetMaxOpenConns(readers)
	read.SetMaxIdleConns(readers)
	return &DB{read: read, write: write, dialect: sqlite3, vault: c.Vault, file: path}, nil
}

// busyTimeout is how long a connection of SQLite waits for another process on
// the file, in milliseconds.
const busyTimeout = "10000"

// sqliteName is the file's address with the settings of every connection:
// what is committed is on the disk (FULL), and what is deleted is
// overwritten.
func sqliteName(path string, more ...string) string {
	q := url.Values{
		"_busy_timeout": {busyTimeout},
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"},
		"_foreign_keys": {"on"},
		"_pragma":       {"secure_delete(on)"},
		"_dqs":          {"false"},
	}
	for i := 0; i < len(more); i += 2 {
		q.Set(more[i], more[i+1])
	}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String()
}

// prepare reaches the database, migrates it, and compares the master key.
func (db *DB) prepare(ctx context.Context) error {
	if err := db.write.PingContext(ctx); err != nil {
		return fmt.Errorf("reach %s: %w", db.dialect.name, err)
	}
	if err := db.migrate(ctx); err != nil {
		return err
	}
	if err := db.checkMaster(ctx); err != nil {
		return err
	}
	return db.prepareInserts(ctx)
}

// Ping tells whether the database answers.
func (db *DB) Ping(ctx context.Context) error {
	if err := db.read.PingContext(ctx); err != nil {
		return fmt.Errorf("reach %s: %w", db.dialect.name, err)
	}
	return nil
}

// Close waits for the writes under way and closes every connection.
func (db *DB) Close() error {
	db.intake.close()
	return errors.Join(db.sweeper.close(), db.closeAll())
}

func (db *DB) closeAll() error {
	err := db.write.Close()
	if db.read != db.write {
		err = errors.Join(db.read.Close(), err)
	}
	return err
}
