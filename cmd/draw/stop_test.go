package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"evenhand/draw"
)

// stuck is a process that sees the first Ctrl-C and does nothing about it.
func stuck() {
	ctx, _ := interruptible()
	fmt.Println("ready")
	<-ctx.Done()
	fmt.Println("asked to stop")
	time.Sleep(time.Minute)
	os.Exit(0)
}

func TestASecondInterruptEndsTheProcess(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there one process can't send Ctrl-C to another")
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "DRAW_STUCK=1")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer time.AfterFunc(20*time.Second, func() { cmd.Process.Kill() }).Stop()
	lines := bufio.NewScanner(out)
	for _, want := range []string{"ready", "asked to stop"} {
		if !lines.Scan() || lines.Text() != want {
			t.Fatalf("got %q, want %q", lines.Text(), want)
		}
		if want == "ready" {
			_ = cmd.Process.Signal(os.Interrupt)
		}
	}
	// The signal is let go in a goroutine of its own: ask again until it acts.
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	for {
		_ = cmd.Process.Signal(os.Interrupt)
		select {
		case err := <-done:
			if err == nil || err.Error() != "signal: interrupt" {
				t.Errorf("it ended with %v, want the signal", err)
			}
			return
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// A server that sends half a list and then nothing: the check ends with the
// context, with status 2, and leaves no goroutine behind.
func TestAStalledReadCanBeStopped(t *testing.T) {
	publication := os.DirFS(filepath.Join(vectors, "publications", "full"))
	for _, name := range []string{draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile, draw.RecordFile} {
		release := make(chan struct{})
		ctx, cancel := context.WithCancel(context.Background())
		files := http.FileServerFS(publication)
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path != "/"+name {
				files.ServeHTTP(w, r)
				return
			}
			fmt.Fprint(w, "e")
			w.(http.Flusher).Flush()
			time.AfterFunc(20*time.Millisecond, cancel)
			<-release
		}))
		before := runtime.NumGoroutine()
		var out, words bytes.Buffer
		start := time.Now()
		status := run(ctx, []string{"verify", server.URL}, strings.NewReader(""), &out, &words, time.Now, &fixed{})
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%s: it took %s", name, took)
		}
		if status != statusNot || !strings.Contains(out.String(), "remark  not checked: stopped\n") || strings.Contains(out.String(), "FAULT") {
			t.Errorf("%s: status %d, want 2 and no fault\n%s%s", name, status, out.String(), words.String())
		}
		close(release)
		server.CloseClientConnections()
		server.Close()
		left := 0
		for range 100 {
			if left = runtime.NumGoroutine(); left <= before {
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
		if left > before {
			t.Errorf("%s: %d goroutines more than before", name, left-before)
		}
	}
}

// A list without end is read to one line past the count that the freeze names,
// and what the server has got rid of by then is buffers.
func TestAnEndlessListIsNotReadToItsEnd(t *testing.T) {
	publication := filepath.Join(vectors, "publications", "full")
	for _, name := range []string{draw.RollFile, draw.ExcludedFile} {
		list, err := os.ReadFile(filepath.Join(publication, name))
		if err != nil {
			t.Fatal(err)
		}
		count := bytes.Count(list, []byte("\n"))
		rest := " duplicate\n"
		if name == draw.RollFile {
			rest = " " + strings.Repeat("0", 64) + "\n"
		}
		var mu sync.Mutex
		sent := 0
		files := http.FileServerFS(os.DirFS(publication))
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path != "/"+name {
				files.ServeHTTP(w, r)
				return
			}
			n, err := w.Write(list)
			for i := 0; err == nil && n < 64<<20; i++ {
				more, e := fmt.Fprintf(w, "ZZZZZZZZ%08d%s", i, rest) // after all tickets of the sample
				n, err = n+more, e
			}
			mu.Lock()
			sent = n
			mu.Unlock()
		}))
		for _, args := range [][]string{{"verify", server.URL}, {"compare", server.URL, server.URL}} {
			_, out, words := drawCommand(t, args...)
			if want := fmt.Sprintf("FAULT   %s: want %d lines, as the freeze says", name, count); args[0] == "verify" && !strings.Contains(out, want) {
				t.Errorf("%v: want %q\n%s%s", args, want, out, words)
			}
			if args[0] == "compare" && !strings.Contains(out, "not read") {
				t.Errorf("%v: %s%s", args, out, words)
			}
		}
		server.Close()
		if sent == 0 || sent >= 64<<20 {
			t.Errorf("%s: the server sent %d bytes", name, sent)
		}
	}
}

// Notes of earlier revisions are not held once they are read; the others are,
// so that one check sees one version of them.
func TestEarlierRevisionsAreNotHeld(t *testing.T) {
	files := fstest.MapFS{"opening.txt": {Data: []byte("a")}, "opening.1.txt": {Data: []byte("b")}, "outcome.7.txt": {Data: []byte("c")}}
	server := httptest.NewServer(http.FileServerFS(files))
	defer server.Close()
	a, err := newAddress(t.Context(), server.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	for name, want := range files {
		got, err := a.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		b := make([]byte, 1)
		if _, err := got.Read(b); err != nil || string(b) != string(want.Data) {
			t.Errorf("%s: got %q, %v", name, b, err)
		}
	}
	if _, ok := a.notes["opening.txt"]; !ok || len(a.notes) != 1 {
		t.Errorf("%d notes are held, want opening.txt alone", len(a.notes))
	}
}
