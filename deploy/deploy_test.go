//go:build linux

// Package deploy_test tries the example files of this folder with the programs
// that will read them.
package deploy_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/internal/testneed"
)

// replace fails when a text of the example is not there any more: then the
// test would try something else than what people are given.
func replace(t *testing.T, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("the example has no %q", pairs[i])
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// unit writes the service file with a program that is there on every machine.
func unit(t *testing.T, pairs ...string) string {
	t.Helper()
	pairs = append([]string{"/usr/local/bin/evenhand", "/bin/true"}, pairs...)
	path := filepath.Join(t.TempDir(), "evenhand.service")
	write(t, path, replace(t, read(t, "evenhand.service"), pairs...))
	return path
}

// Source: systemd-analyze(1), verify: it prints what it does not know, and
// fails on what it cannot load.
func TestUnitVerifies(t *testing.T) {
	analyze := testneed.Command(t, "systemd-analyze")
	verify := func(path string) (string, error) {
		out, err := exec.Command(analyze, "--man=no", "verify", path).CombinedOutput()
		return string(out), err
	}
	if out, err := verify(unit(t)); err != nil || strings.Contains(out, "evenhand.service") {
		t.Errorf("systemd-analyze verify: %v: %s", err, out)
	}
	// The same check must see a mistake.
	if out, err := verify(unit(t, "ProtectSystem=strict", "ProtectSystem=srtict")); err == nil && !strings.Contains(out, "evenhand.service") {
		t.Errorf("a misspelt value was not noticed: %s", out)
	}
}

// Source: systemd-analyze(1), security: exposure from 0 (none) to 10; the
// threshold is ten times that. It rates a unit without any hardening near 9.6.
func TestUnitIsHardened(t *testing.T) {
	analyze := testneed.Command(t, "systemd-analyze")
	out, err := exec.Command(analyze, "security", "--offline=true", "--threshold=20", "--no-pager", unit(t)).CombinedOutput()
	if err != nil {
		t.Errorf("systemd-analyze security: exposure above 2.0: %v: %s", err, out)
	}
}
