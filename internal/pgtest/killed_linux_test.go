package pgtest

import (
	"errors"
	"os"
	osexec "os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestChild is the process that TestKilled kills.
func TestChild(t *testing.T) {
	out := os.Getenv("PGTEST_CHILD")
	if out == "" {
		t.Skip("only as a child of TestKilled")
	}
	Start(t)
	line := strconv.Itoa(shared.server.cmd.Process.Pid) + " " + shared.server.folder
	if err := os.WriteFile(out, []byte(line), 0o600); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Minute)
}

// A test process that is killed leaves no server behind.
func TestKilled(t *testing.T) {
	if os.Getenv("EVENHAND_TEST_POSTGRES") != "" {
		t.Skip("a server from outside is not ours to end")
	}
	Start(t) // skips or fails here where there is no PostgreSQL
	out := t.TempDir() + "/pid"
	cmd := osexec.Command(os.Args[0], "-test.run=^TestChild$")
	cmd.Env = append(os.Environ(), "PGTEST_CHILD="+out)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var line []byte
	soon(t, "the child's server runs", func() bool { line, _ = os.ReadFile(out); return len(line) > 0 })
	word, folder, _ := strings.Cut(string(line), " ")
	pid, err := strconv.Atoi(word)
	if err != nil || !alive(pid) {
		t.Fatalf("the child's server %q does not run: %v", word, err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // killed, as meant
	soon(t, "the child's server ends", func() bool { return !alive(pid) })
}

// alive reports whether a process is there and not just a zombie.
func alive(pid int) bool {
	if syscall.Kill(pid, 0) != nil {
		return false
	}
	stat, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat")
	if err != nil {
		return !errors.Is(err, os.ErrNotExist)
	}
	_, after, _ := strings.Cut(string(stat), ") ")
	return !strings.HasPrefix(after, "Z")
}

func soon(t *testing.T, what string, done func() bool) {
	t.Helper()
	for range 600 {
		if done() {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatalf("waited a minute in vain: %s", what)
}
