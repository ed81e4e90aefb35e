package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"sync"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// patience is how long one read of a published file may take: an fs.FS has no
// context to end it.
const patience = 30 * time.Second

// Publication returns the published files of a giveaway. Each file keeps the
// bytes that it had when it was opened, also while a revision replaces them.
// Besides [fs.File] a file is an [io.Seeker], an [io.ReaderAt] that may be
// used from many goroutines, and has Digest, the hash of its bytes.
func (db *DB) Publication(id string) fs.FS { return publication{db, id} }

// A publication is one folder.
type publication struct {
	db *DB
	id string
}

// Open opens a published file, or "." to list them.
func (p publication) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	if name == "." {
		entries, err := p.ReadDir(name)
		return &folder{entries: entries}, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	info, err := scanInfo(p.db.read.QueryRowContext(ctx,
		`SELECT name, version, size, hash FROM published WHERE draw = $1 AND name = $2`, p.id, name))
	if errors.Is(err, sql.ErrNoRows) {
		err = fs.ErrNotExist
	}
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return &file{db: p.db, id: p.id, info: info, have: -1}, nil
}

// ReadDir lists the published files by name. An unknown id is an empty folder.
func (p publication) ReadDir(name string) ([]fs.DirEntry, error) {
	if name != "." {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: fs.ErrNotExist}
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	infos, err := list(ctx, p.db.read, scanInfo,
		`SELECT name, version, size, hash FROM published WHERE draw = $1 ORDER BY name`, p.id)
	if err != nil {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: err}
	}
	entries := make([]fs.DirEntry, len(infos))
	for i, info := range infos {
		entries[i] = fs.FileInfoToDirEntry(info)
	}
	return entries, nil
}

// info describes a published file. It has no time: the files say when.
type info struct {
	name, version string
	size          int64
	hash          draw.Digest
}

func scanInfo(row scanner) (i info, err error) {
	var hash []byte
	err = row.Scan(&i.name, &i.version, &i.size, &hash)
	copy(i.hash[:], hash)
	return i, err
}

func (i info) Name() string       { return i.name }
func (i info) Size() int64        { return i.size }
func (i info) Mode() fs.FileMode  { return 0o444 }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return false }
func (i info) Sys() any           { return nil }

// Digest is the hash of the file's bytes.
func (i info) Digest() draw.Digest { return i.hash }

// A file reads chunks as they are asked for and keeps the last one.
type file struct {
	db   *DB
	id   string
	info info

	mu    sync.Mutex // guards what follows
	pos   int64
	have  int // number of the chunk in bytes; -1: none
	bytes []byte
}

func (f *file) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *file) Close() error               { return nil }

// Digest is the hash of the file's bytes.
func (f *file) Digest() draw.Digest { return f.info.hash }

func (f *file) Read(b []byte) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.pos >= f.info.size {
		return 0, io.EOF
	}
	n, err := f.readChunk(b, f.pos)
	f.pos += int64(n)
	return n, err
}

func (f *file) ReadAt(b []byte, at int64) (n int, err error) {
	if at < 0 {
		return 0, &fs.PathError{Op: "read", Path: f.info.name, Err: fs.ErrInvalid}
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	for n < len(b) && err == nil {
		if at+int64(n) >= f.info.size {
			return n, io.EOF
		}
		var more int
		more, err = f.readChunk(b[n:], at+int64(n))
		n += more
	}
	return n, err
}

func (f *file) Seek(offset int64, whence int) (int64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	base := map[int]int64{io.SeekStart: 0, io.SeekCurrent: f.pos, io.SeekEnd: f.info.size}
	from, known := base[whence]
	if !known || from+offset < 0 {
		return 0, &fs.PathError{Op: "seek", Path: f.info.name, Err: fs.ErrInvalid}
	}
	f.pos = from + offset
	return f.pos, nil
}

// readChunk copies what lies at a place within the file, up to the end of its
// chunk.
func (f *file) readChunk(b []byte, at int64) (int, error) {
	n := int(at / giveaway.ChunkSize)
	if n != f.have {
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		got, err := f.db.publishedChunk(ctx, f.id, f.info.version, n)
		if err == nil && int64(len(got)) != min(giveaway.ChunkSize, f.info.size-int64(n)*giveaway.ChunkSize) {
			err = fmt.Errorf("chunk %d has %d bytes: %w", n, len(got), io.ErrUnexpectedEOF)
		}
		if err != nil {
			return 0, &fs.PathError{Op: "read", Path: f.info.name, Err: err}
		}
		f.have, f.bytes = n, got
	}
	return copy(b, f.bytes[at%giveaway.ChunkSize:]), nil
}

// A folder is the publication opened as a directory.
type folder struct {
	entries []fs.DirEntry
	next    int
}

func (d *folder) Stat() (fs.FileInfo, error) { return folderInfo{}, nil }
func (d *folder) Close() error               { return nil }
func (d *folder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: ".", Err: errors.New("is a directory")}
}

func (d *folder) ReadDir(n int) ([]fs.DirEntry, error) {
	left := d.entries[d.next:]
	if n <= 0 {
		d.next = len(d.entries)
		return slices.Clone(left), nil
	}
	if len(left) == 0 {
		return nil, io.EOF
	}
	left = left[:min(n, len(left))]
	d.next += len(left)
	return slices.Clone(left), nil
}

type folderInfo struct{ info }

func (folderInfo) Name() string      { return "." }
func (folderInfo) Mode() fs.FileMode { return fs.ModeDir | 0o555 }
func (folderInfo) IsDir() bool       { return true }
