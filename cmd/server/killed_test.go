package main

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/internal/browsertest"
	"evenhand/internal/child"
)

// A process is the program in a process of its own, with a clock from a file.
type process struct {
	*service
	cmd      *exec.Cmd
	exited   <-chan struct{}
	database string
	data     string
	relay    string
	addr     string // where it listens; "": a free port
}

// newProcess starts one on an empty data folder.
func newProcess(t *testing.T, database string) *process {
	t.Helper()
	p := &process{service: &service{clock: &clock{}, visitor: visit(t, "")}, database: database, data: t.TempDir(), relay: standIn(t)}
	p.setClock(during)
	p.run()
	t.Cleanup(func() { p.cmd.Process.Kill(); <-p.exited })
	return p
}

// setClock sets the time for the process.
func (p *process) setClock(at time.Time) {
	p.t.Helper()
	next := filepath.Join(p.data, "clock.new")
	must(p.t, os.WriteFile(next, []byte(at.Format(time.RFC3339)), 0o600))
	must(p.t, os.Rename(next, filepath.Join(p.data, "clock")))
	p.clock.set(at)
}

// run starts the process on the data of the one before.
func (p *process) run() {
	p.t.Helper()
	self, err := os.Executable()
	must(p.t, err)
	p.cmd = exec.Command(self, "-addr", cmp.Or(p.addr, "127.0.0.1:0"), "-data", filepath.Join(p.data, "data"), "-url", "http://localhost")
	p.cmd.Env = append(os.Environ(), childClock+"="+filepath.Join(p.data, "clock"), childRelay+"="+p.relay, "DATABASE_URL="+p.database)
	p.logs = &buffer{}
	p.cmd.Stderr = p.logs
	out, err := p.cmd.StdoutPipe()
	must(p.t, err)
	p.exited, err = child.Start(p.cmd)
	must(p.t, err)
	p.code = said(p.t, out)
	jar := p.client.Jar // the session outlives the process; the cookie is one of 127.0.0.1, whatever the port
	p.visitor = visit(p.t, p.listening())
	p.client.Jar = jar
}

// kill ends the process as a power cut does.
func (p *process) kill() {
	p.t.Helper()
	must(p.t, p.cmd.Process.Kill())
	<-p.exited
}

// files are the published files as they are served now.
func (p *process) files() map[string]string {
	p.t.Helper()
	files := map[string]string{}
	for _, name := range []string{draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile, draw.FreezeFile, draw.RecordFile} {
		if a := p.get("/g/boots/fair/" + name); a.status == http.StatusOK {
			files[name] = a.body
		} else if a.status != http.StatusNotFound {
			p.t.Fatalf("%s: status %d", name, a.status)
		}
	}
	return files
}

// Each button is pressed while the process is killed, after waits from nothing
// up to longer than the press takes. After each restart the bytes published
// before are the bytes served after, groups of files are whole or absent, and
// pressing again comes to a publication that passes the protocol's check.
func TestKilled(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		p := newProcess(t, database)
		p.claim()
		b, err := os.ReadFile("testdata/boots.json")
		must(t, err)
		p.goes("/desk/g/boots", "/desk/file", "terms", string(b))

		p.reads("boots")
		p.through(p.postAddress("boots"), "/spread", draw.OpeningFile, draw.RulesFile)
		enterSome(t, p.service, 60)
		p.setClock(closes.Add(time.Minute))
		p.through("/desk/g/boots/lock", "", draw.RollFile, draw.ExcludedFile, draw.FreezeFile)
		p.setClock(event.Add(10 * time.Second))
		p.through("/desk/g/boots/draw", "/result", draw.RecordFile)

		report := check(t, p.service, "boots")
		if report.Verdict != draw.Valid || report.Tickets != 60 {
			t.Errorf("the check: %q, %d tickets, want valid, 60: %v", report.Verdict, report.Tickets, report.Findings)
		}
	})
}

// through presses a button again and again, killing the process, until the
// group of files is there; then once more, which leads to a page below the
// giveaway's.
func (p *process) through(path, to string, group ...string) {
	p.t.Helper()
	before := p.files()
	for _, wait := range []time.Duration{0, 500 * time.Microsecond, time.Millisecond, 2 * time.Millisecond, 3 * time.Millisecond,
		5 * time.Millisecond, 8 * time.Millisecond, 12 * time.Millisecond, 20 * time.Millisecond, 50 * time.Millisecond, 300 * time.Millisecond} {
		pressed := make(chan struct{})
		v := p.visitor
		go func() { v.try("POST", path, "application/x-www-form-urlencoded", ""); close(pressed) }()
		time.Sleep(wait)
		p.kill()
		<-pressed
		p.setClock(p.clock.now().Add(25 * time.Second)) // a freeze that died is taken over after 20 s
		p.run()
		after := p.files()
		p.same(before, after, path, wait)
		p.whole(after, group, path, wait)
		before = after
	}
	p.goes("/desk/g/boots"+to, path)
	p.same(before, p.files(), path, -1)
	if files := p.files(); files[group[0]] == "" && group[0] != draw.ExcludedFile {
		p.t.Errorf("%s is not there after POST %s", group[0], path)
	}
}

func (p *process) same(before, after map[string]string, path string, wait time.Duration) {
	p.t.Helper()
	for name, bytes := range before {
		if after[name] != bytes {
			p.t.Errorf("%s has other bytes after a kill %v into POST %s", name, wait, path)
		}
	}
}

func (p *process) whole(files map[string]string, group []string, path string, wait time.Duration) {
	p.t.Helper()
	_, first := files[group[0]]
	for _, name := range group {
		if _, there := files[name]; there != first {
			p.t.Errorf("a kill %v into POST %s left half a group: %s", wait, path, name)
		}
	}
}

// enterSome sends entries in, without waiting for more than their answers.
func enterSome(t *testing.T, s *service, n int) {
	t.Helper()
	for i := range n {
		form := []string{"email", fmt.Sprintf("walker%d@example.org", i), "system", "womens", "size", "8", "width", "B",
			"live", "US", "state", "VT", "age", "18-or-over", "rules", "yes"}
		if a := s.press("/g/boots", form...); a.status != 303 {
			t.Fatalf("entry %d: status %d: %s", i, a.status, textOf(a.body))
		}
	}
}

// The shipped program knows neither the tests' clock nor their relays, and a
// built one stops cleanly when it is told to.
func TestBuiltProgram(t *testing.T) {
	dir := t.TempDir()
	built := filepath.Join(dir, "server")
	out, err := exec.Command("go", "build", "-o", built, ".").CombinedOutput()
	if err != nil {
		t.Fatalf("build: %v: %s", err, out)
	}
	program, err := os.ReadFile(built)
	must(t, err)
	for _, name := range []string{childClock, childRelay} {
		if bytes.Contains(program, []byte(name)) {
			t.Errorf("the shipped program knows %s", name)
		}
	}
	cmd := exec.Command(built, "-addr", "127.0.0.1:0", "-data", filepath.Join(dir, "data"))
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + dir}
	printed, err := cmd.StdoutPipe()
	must(t, err)
	exited, err := child.Start(cmd)
	must(t, err)
	t.Cleanup(func() { cmd.Process.Kill() })
	if code := said(t, io.Reader(printed)); len(code) != len("KN05-6YNH-SPEF") {
		t.Errorf("the code is %q", code)
	}
	must(t, cmd.Process.Signal(os.Interrupt))
	select {
	case <-exited:
	case <-time.After(browsertest.Patience):
		t.Fatal("it does not stop")
	}
	if code := cmd.ProcessState.ExitCode(); code != 0 {
		t.Errorf("exit status %d, want 0", code)
	}
}
