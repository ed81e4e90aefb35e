// Package testneed decides what a test does when a program it needs is not
// on the machine: at home it skips and says so, under CI=true it fails.
//
// A skipped test is easy to overlook, so nothing may be missing where the
// project's own checks run.
package testneed

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// CI reports whether this run must not skip anything: CI=true is set.
func CI() bool { return os.Getenv("CI") == "true" }

// Missing ends the test: skipped at home, failed under CI=true. what names the
// missing thing and, where known, the cause.
func Missing(t testing.TB, what string) {
	t.Helper()
	if CI() {
		t.Fatalf("missing under CI=true: %s (make needs installs it)", what)
	}
	t.Skipf("SKIPPED, nothing was tested: %s (make needs installs it)", what)
}

// Command returns the path of the first of names that is in PATH or in one of
// the system folders that an ordinary user's PATH may lack. Without any it ends
// the test as Missing does.
func Command(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
		for _, dir := range []string{"/usr/sbin", "/sbin", "/usr/bin"} {
			if path, err := exec.LookPath(filepath.Join(dir, name)); err == nil {
				return path
			}
		}
	}
	Missing(t, "none of these programs was found: "+strings.Join(names, ", "))
	return ""
}
