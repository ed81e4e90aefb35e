//go:build linux

package deploy_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenhand/internal/child"
)

// The service as an operator runs it, with its sample, behind the example
// proxy: one person enters and looks at the private page, and neither the
// proxy's files nor the service's log hold the private path or the person.
func TestEntryThroughTheProxy(t *testing.T) {
	address := free(t)
	logs := service(t, address)
	p := startBefore(t, address)

	const entry = `{"email":"mia.walker@example.com","system":"womens","size":"8","width":"B","live":"US","state":"ME",` +
		`"name":"Mia Planted","age":"18-or-over","rules":true}`
	status, answer := p.send(t, "POST", "/g/trail-boots", entry, "Content-Type", "application/json", "User-Agent", "Agent/7")
	if status != http.StatusCreated {
		t.Fatalf("an entry: status %d, want 201: %s", status, answer)
	}
	link := privateLink(t, answer)
	if status, page := p.send(t, "GET", link, "", "User-Agent", "Agent/7"); status != 200 || !strings.Contains(page, "mia.walker@example.com") {
		t.Errorf("the private page: status %d: %.500s", status, page)
	}
	p.stop(t)

	planted := append([]string{filepath.Base(link), "walker", "Planted"}, secrets...)
	p.searchFiles(t, planted)
	if log := read(t, p.log); !strings.Contains(log, "POST /g/trail-boots 201") || !strings.Contains(log, "GET /g/trail-boots/r/- 200") {
		t.Errorf("the proxy's log lacks the two requests:\n%s", log)
	}
	text := logs.String()
	if !strings.Contains(text, "draw=trail-boots") {
		t.Errorf("the service's log lacks the requests:\n%s", text)
	}
	for _, word := range []string{filepath.Base(link), "walker", "Planted", "Agent/7"} {
		if strings.Contains(text, word) {
			t.Errorf("the service's log holds %q:\n%s", word, text)
		}
	}
}

// privateLink is the path of the private page in the answer to an entry.
func privateLink(t *testing.T, answer string) string {
	t.Helper()
	var fields map[string]any
	if err := json.Unmarshal([]byte(answer), &fields); err != nil {
		t.Fatalf("answer to an entry: %v", err)
	}
	for _, v := range fields {
		if s, ok := v.(string); ok && strings.Contains(s, "/g/trail-boots/r/") {
			return strings.TrimPrefix(s, "https://"+host)
		}
	}
	t.Fatalf("the answer holds no private link: %s", answer)
	return ""
}

// service builds and starts the program with the settings of an operator whose
// proxy is on this machine. The buffer holds what it writes.
func service(t *testing.T, address string) *output {
	t.Helper()
	dir := t.TempDir()
	program := filepath.Join(dir, "evenhand")
	if out, err := exec.Command("go", "build", "-o", program, "evenhand/cmd/server").CombinedOutput(); err != nil {
		t.Fatalf("build the service: %v: %s", err, out)
	}
	cmd := exec.Command(program, "-sample", "-addr", address, "-url", "https://"+host,
		"-trusted-proxy", "127.0.0.1/32", "-data", filepath.Join(dir, "data"))
	cmd.Env = append(os.Environ(), "DATABASE_URL=")
	var logs output
	cmd.Stdout, cmd.Stderr = &logs, &logs
	exited, err := child.Start(cmd)
	if err != nil {
		t.Fatalf("start the service: %v", err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM) // it may have ended by itself
		select {
		case <-exited:
		case <-time.After(30 * time.Second):
			t.Errorf("the service did not heed SIGTERM: %v", cmd.Process.Kill())
		}
	})
	for range 600 {
		if strings.Contains(logs.String(), "msg=serving") {
			return &logs
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("the service does not come up:\n%s", logs.String())
	return nil
}

// output collects what a program writes.
type output struct {
	mu sync.Mutex // guards b
	b  bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) { o.mu.Lock(); defer o.mu.Unlock(); return o.b.Write(p) }
func (o *output) String() string              { o.mu.Lock(); defer o.mu.Unlock(); return o.b.String() }
