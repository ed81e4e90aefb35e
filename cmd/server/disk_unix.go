//go:build linux || darwin

package main

import (
	"fmt"
	"syscall"
)

// freeAt is how many bytes a folder's disk has free for this program.
func freeAt(folder string) (uint64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(folder, &s); err != nil {
		return 0, fmt.Errorf("look for room on the disk: %w", err)
	}
	return s.Bavail * uint64(s.Bsize), nil
}
