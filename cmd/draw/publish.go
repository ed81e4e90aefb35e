package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// A change is one file of a publication that a command wants to write.
type change struct {
	name     string
	data     []byte
	temp     string // instead of data: a settled temporary file in the folder
	replaces bool   // takes the place of an older file, which is kept under another name
}

// publish writes changes in their order, the note that makes them count last.
// Before that, the publication is checked as it would then be: the tool never
// writes what its own check would fault (draw protocol, "Proof of two faces").
// What a check will remark on the files written is said to the host.
func (p *program) publish(ctx context.Context, h host, chains []beacon.Chain, changes ...change) error {
	remarks, err := h.precheck(ctx, chains, changes)
	if err != nil {
		return err
	}
	for _, c := range changes {
		if err := h.put(c); err != nil {
			return err
		}
	}
	for _, r := range remarks {
		p.say("note: a check will remark: %s", oneLine(r.Text))
	}
	return nil
}

// put writes one file of the publication.
func (h host) put(c change) error {
	switch path := h.public(c.name); {
	case c.temp != "":
		return place(c.temp, path)
	case c.replaces:
		return replace(path, c.data, publicMode)
	default:
		return writeNew(path, c.data, publicMode)
	}
}

// precheck checks the publication as it would be after the changes. It returns
// the remarks on what is changed, or an error with every fault.
func (h host) precheck(ctx context.Context, chains []beacon.Chain, changes []change) (remarks []draw.Finding, err error) {
	over := overlay{base: plainFiles(h.path), changes: map[string]change{}}
	for _, c := range changes {
		over.changes[c.name] = c
	}
	report := draw.Check(ctx, over, draw.Options{Key: h.signer.VerifierKey(), Chains: chains})
	lines := []string{"nothing was written: a check of the result would say"}
	for _, f := range report.Findings {
		_, ours := over.changes[f.File]
		switch {
		case f.Level == draw.Fault || strings.Contains(f.Text, "not checked"):
			lines = append(lines, f.String())
		case f.Level == draw.Remark && ours:
			remarks = append(remarks, f)
		}
	}
	if report.Status != draw.StatusValid {
		return nil, errors.New(strings.Join(lines, "\n"))
	}
	return remarks, nil
}

// sign signs a text into a change.
func (h host) sign(name string, text []byte) (change, error) {
	note, err := h.signer.Sign(text)
	return change{name: name, data: note}, err
}

// kept is the change that keeps a file as it stands under its revision's name.
func (h host) kept(name string, revision int) (change, error) {
	data, err := os.ReadFile(h.public(name))
	return change{name: draw.KeptFile(name, revision), data: data}, err
}

// An overlay is a publication as it would be after changes. It can't list its
// files.
type overlay struct {
	base    fs.FS
	changes map[string]change
}

func (o overlay) Open(name string) (fs.File, error) {
	c, ok := o.changes[name]
	switch {
	case !ok:
		return o.base.Open(name)
	case c.temp != "":
		return os.Open(c.temp)
	}
	return &memoryFile{Reader: bytes.NewReader(c.data), name: name}, nil
}

// A memoryFile is an open file that is nowhere but in memory.
type memoryFile struct {
	*bytes.Reader
	name string
}

func (f *memoryFile) Close() error               { return nil }
func (f *memoryFile) Stat() (fs.FileInfo, error) { return fileInfo{f.name, f.Reader.Size()}, nil }

// fileInfo is what we know of a file that is not on a disk; size is -1 where
// that is not known.
type fileInfo struct {
	name string
	size int64
}

func (i fileInfo) Name() string       { return i.name }
func (i fileInfo) Size() int64        { return i.size }
func (i fileInfo) Mode() fs.FileMode  { return 0o444 }
func (i fileInfo) ModTime() time.Time { return time.Time{} }
func (i fileInfo) IsDir() bool        { return false }
func (i fileInfo) Sys() any           { return nil }

// plainFiles is a folder whose files are opened only if they are plain files:
// opening a pipe would wait for ever, and a link is none of the publication's
// files. The check names such files, since it can list the folder.
type plainFiles string

func (p plainFiles) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) || strings.Contains(name, "/") {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	dir := os.DirFS(string(p))
	info, err := fs.Lstat(dir, name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: not a plain file", name)
	}
	return dir.Open(name)
}

func (p plainFiles) ReadDir(name string) ([]fs.DirEntry, error) {
	return fs.ReadDir(os.DirFS(string(p)), name)
}
