package main

import (
	"errors"
	"fmt"
	"io"
	"os"
)

// maxSmall bounds the files that are read whole, in bytes: a note is 1 MiB at
// most, and nothing else that is read whole is longer.
const maxSmall = 1 << 20

// readSmall reads a small file whole.
func readSmall(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxSmall+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("read %s: %w", path, err)
	case len(b) > maxSmall:
		return nil, fmt.Errorf("read %s: longer than %d bytes", path, maxSmall)
	}
	return b, nil
}

// readFull fills b as far as the input goes. The end is no error.
func readFull(r io.Reader, b []byte) (int, error) {
	n, err := io.ReadFull(r, b)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return n, err
}
