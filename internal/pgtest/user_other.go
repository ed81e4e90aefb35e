//go:build !linux

package pgtest

import (
	"os"
	osexec "os/exec"
)

// command prepares a program that works in folder, as the current user.
func command(folder, path string, args ...string) (*osexec.Cmd, error) {
	cmd := osexec.Command(path, args...)
	cmd.Dir = folder
	cmd.Env = append(os.Environ(), "LC_ALL=C")
	return cmd, nil
}

// handOver does nothing: the server runs as the current user.
func handOver(string) error { return nil }
