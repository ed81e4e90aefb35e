package vault

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// keyPrefix opens the one line of a master key file:
// "evenhand/master-key/v1 <64 lower-case hex digits>\n".
const keyPrefix = "evenhand/master-key/v1 "

const keyFileSize = len(keyPrefix) + 2*KeySize + 1

// Load reads the master key from the file at path. Where there is no file it
// makes one with a new key from rand, mode 0600, durable on return. Two
// servers that start at once get the same key: the second finds the first's
// file, whole. It refuses a file that others than its owner may read or
// write, one that is not a plain file, and one that does not parse.
func Load(path string, rand io.Reader) (*Vault, error) {
	err := create(path, rand)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("make master key file: %w", err)
	}
	master, err := read(path)
	if err != nil {
		return nil, fmt.Errorf("read master key file: %w", err)
	}
	return New(master, rand)
}

// create writes a new key beside path and links it there: the name appears
// only with the whole key under it. It returns an error that is
// [fs.ErrExist] where path is taken.
func create(path string, rand io.Reader) error {
	if _, err := os.Lstat(path); err == nil {
		return fs.ErrExist
	}
	var key [KeySize]byte
	if _, err := io.ReadFull(rand, key[:]); err != nil {
		return fmt.Errorf("read random bytes: %w", err)
	}
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, ".master-key-*") // CreateTemp makes files with mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.WriteString(keyPrefix + hex.EncodeToString(key[:]) + "\n")
	err = errors.Join(err, f.Sync(), f.Close())
	if err != nil {
		return err
	}
	if err := os.Link(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(dir)
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

func read(path string) (key [KeySize]byte, err error) {
	f, err := os.Open(path)
	if err != nil {
		return key, err
	}
	defer f.Close()
	info, err := f.Stat() // of the file that was opened, not of the name
	if err != nil {
		return key, err
	}
	if !info.Mode().IsRegular() {
		return key, fmt.Errorf("%s is not a plain file", path)
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 {
		return key, fmt.Errorf("%s has mode %04o: others can reach it; give it mode 0600 (chmod 600)", path, mode)
	}
	b, err := io.ReadAll(io.LimitReader(f, int64(keyFileSize)+1))
	if err != nil {
		return key, err
	}
	return parse(path, string(b))
}

// parse reads the one line strictly. The text stays out of the error: it may
// be the key.
func parse(path, text string) (key [KeySize]byte, err error) {
	digits, found := strings.CutPrefix(text, keyPrefix)
	digits, ends := strings.CutSuffix(digits, "\n")
	b, err := hex.DecodeString(digits)
	if !found || !ends || err != nil || len(b) != KeySize || digits != hex.EncodeToString(b) {
		return key, fmt.Errorf("%s is not one line %q and 64 lower-case hex digits", path, strings.TrimSpace(keyPrefix))
	}
	return [KeySize]byte(b), nil
}
