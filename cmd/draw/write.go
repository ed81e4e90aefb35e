package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// Modes of files for everybody and for their owner only.
const (
	publicMode  fs.FileMode = 0o644
	privateMode fs.FileMode = 0o600
	privateDir  fs.FileMode = 0o700
)

// beside makes a temporary file in the folder of path. Whoever calls it ends
// with discard, which does nothing once the file was put in place.
func beside(path string, mode fs.FileMode) (*os.File, error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.tmp")
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", path, err)
	}
	if err := f.Chmod(mode); err != nil {
		discard(f)
		return nil, fmt.Errorf("write %s: %w", path, err)
	}
	return f, nil
}

// discard closes and removes a temporary file.
func discard(f *os.File) {
	f.Close()
	os.Remove(f.Name())
}

// settle brings a temporary file to the disk and closes it.
func settle(f *os.File) error { return errors.Join(f.Sync(), f.Close()) }

// place gives a settled temporary file its name. It never replaces another
// file: linking fails if the name is taken. A file of the same bytes is left
// as it is, so that an interrupted command can be run again.
func place(temp, path string) error {
	err := link(temp, path)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		err = claim(temp, path)
	}
	if errors.Is(err, fs.ErrExist) {
		if same, err := sameBytes(temp, path); err == nil && same {
			return os.Remove(temp)
		}
		return fmt.Errorf("%s: %w; it was left as it is", path, fs.ErrExist)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := os.Remove(temp); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return syncDir(path)
}

var link = os.Link // a test tries a disk that has no links

// claim is for disks without links, such as memory sticks: it takes the name
// with an empty file and then renames over it.
func claim(temp, path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, privateMode)
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Rename(temp, path))
}

// writeNew writes a file that isn't there yet, whole or not at all.
func writeNew(path string, data []byte, mode fs.FileMode) error {
	return write(path, data, mode, place)
}

// replace writes a file in place of another one, whole or not at all.
func replace(path string, data []byte, mode fs.FileMode) error {
	return write(path, data, mode, func(temp, path string) error {
		return errors.Join(os.Rename(temp, path), syncDir(path))
	})
}

func write(path string, data []byte, mode fs.FileMode, put func(temp, path string) error) error {
	f, err := beside(path, mode)
	if err != nil {
		return err
	}
	defer discard(f)
	if _, err := f.Write(data); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := settle(f); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return put(f.Name(), path)
}

// syncDir brings a new name to the disk. Windows has no such call.
func syncDir(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// sameBytes compares two files without reading either of them whole.
func sameBytes(a, b string) (bool, error) {
	f, err := os.Open(a)
	if err != nil {
		return false, err
	}
	defer f.Close()
	g, err := os.Open(b)
	if err != nil {
		return false, err
	}
	defer g.Close()
	x, y := make([]byte, 64<<10), make([]byte, 64<<10)
	for {
		n, errX := readFull(f, x)
		m, errY := readFull(g, y)
		switch {
		case errX != nil || errY != nil:
			return false, errors.Join(errX, errY)
		case n != m || !bytes.Equal(x[:n], y[:m]):
			return false, nil
		case n < len(x):
			return true, nil
		}
	}
}
