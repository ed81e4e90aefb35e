package store

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"strconv"

	"evenhand/draw"
	"evenhand/giveaway"
)

// stored is a version of a file whose chunks are all written.
type stored struct {
	version string
	size    int64
	hash    draw.Digest
}

// version names the bytes that a revision brought.
func version(name string, revision int) string { return name + "@" + strconv.Itoa(revision) }

// attemptVersion names the bytes of a list in the making.
func attemptVersion(name, attempt string) string { return name + "@" + attempt }

// publish writes a small file and lets everybody read it under a name that
// was not published before.
func publish(ctx context.Context, tx *sql.Tx, id, name, version string, b []byte) error {
	s, err := write(ctx, tx, id, version, b)
	if err != nil {
		return fmt.Errorf("publish %s: %w", name, err)
	}
	return point(ctx, tx, id, name, s)
}

// replace points a published name at new bytes, and keeps the old ones
// readable as those of revision from.
func replace(ctx context.Context, tx *sql.Tx, id, name string, from int, version string, b []byte) error {
	s, err := write(ctx, tx, id, version, b)
	if err != nil {
		return fmt.Errorf("publish %s: %w", name, err)
	}
	kept, err := exec(ctx, tx, `
		INSERT INTO published (draw, name, version, size, hash)
		SELECT draw, $3, version, size, hash FROM published WHERE draw = $1 AND name = $2`,
		id, name, draw.KeptFile(name, from))
	if err != nil {
		return fmt.Errorf("keep %s: %w", name, err)
	}
	now, err := exec(ctx, tx, `UPDATE published SET version = $3, size = $4, hash = $5 WHERE draw = $1 AND name = $2`,
		id, name, s.version, s.size, s.hash[:])
	if err == nil && (kept != 1 || now != 1) {
		err = fmt.Errorf("%s was not published before", name)
	}
	return err
}

// point lets everybody read a stored version under a new name.
func point(ctx context.Context, tx *sql.Tx, id, name string, s stored) error {
	_, err := exec(ctx, tx, `INSERT INTO published (draw, name, version, size, hash) VALUES ($1, $2, $3, $4, $5)`,
		id, name, s.version, s.size, s.hash[:])
	if err != nil {
		return fmt.Errorf("publish %s: %w", name, err)
	}
	return nil
}

// write stores all of b in chunks.
func write(ctx context.Context, tx *sql.Tx, id, version string, b []byte) (stored, error) {
	s := stored{version: version, size: int64(len(b)), hash: draw.Hash(b)}
	for n := 0; len(b) > 0; n++ {
		piece := b[:min(len(b), giveaway.ChunkSize)]
		if err := writeChunk(ctx, tx, id, version, n, piece); err != nil {
			return s, err
		}
		b = b[len(piece):]
	}
	return s, nil
}

// writeChunk writes a chunk once. The same bytes again are no error: the
// answer to the first time may have been lost on its way.
func writeChunk(ctx context.Context, tx *sql.Tx, id, version string, n int, b []byte) error {
	if b == nil {
		b = []byte{}
	}
	wrote, err := exec(ctx, tx, `
		INSERT INTO file_chunks (draw, version, chunk, bytes) VALUES ($1, $2, $3, $4)
		ON CONFLICT (draw, version, chunk) DO NOTHING`, id, version, n, b)
	if err != nil || wrote == 1 {
		return err
	}
	var was []byte
	err = tx.QueryRowContext(ctx, chunkQuery, id, version, n).Scan(&was)
	if err == nil && !bytes.Equal(was, b) {
		err = fmt.Errorf("chunk %d is written already, with other bytes", n)
	}
	return err
}

const chunkQuery = `SELECT bytes FROM file_chunks WHERE draw = $1 AND version = $2 AND chunk = $3`

// chunk reads one chunk; sql.ErrNoRows where there is none.
func (db *DB) chunk(ctx context.Context, id, version string, n int) (b []byte, err error) {
	err = db.read.QueryRowContext(ctx, chunkQuery, id, version, n).Scan(&b)
	return b, err
}
