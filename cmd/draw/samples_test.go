package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// An expectation of another implementation of the protocol: every sample
// publication in testdata/vectors/publications with its verdict.
type expectation struct {
	Status  int
	Verdict string
	Stage   string
	Weak    bool
	Remarks int
	Seed    string
	Places  []string
}

func expectations(t *testing.T) map[string]expectation {
	t.Helper()
	var all map[string]expectation
	readJSON(t, "publications/expected.json", &all)
	if len(all) < 40 {
		t.Fatalf("%d sample publications, want at least 40", len(all))
	}
	return all
}

func readJSON(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(vectors, name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

// drawCommand runs the command in this process, with a fixed clock.
func drawCommand(t *testing.T, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, words bytes.Buffer
	now := func() time.Time { return time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC) }
	status = run(context.Background(), args, strings.NewReader(""), &out, &words, now, &fixed{seed: t.Name()})
	return status, out.String(), words.String()
}

func TestVerifySamples(t *testing.T) {
	for name, want := range expectations(t) {
		t.Run(name, func(t *testing.T) {
			status, out, _ := drawCommand(t, "verify", filepath.Join(vectors, "publications", name))
			if status != want.Status {
				t.Fatalf("status %d, want %d\n%s", status, want.Status, out)
			}
			if err := compareOutput(out, want); err != nil {
				t.Errorf("%v\n%s", err, out)
			}
		})
	}
}

// compareOutput looks for what the words must say.
func compareOutput(out string, want expectation) error {
	verdict := want.Verdict
	if want.Status == statusNot {
		verdict = "none: not read as a publication, or something not checked"
	}
	if !strings.Contains(out, "\nverdict    "+verdict+"\n") {
		return fmt.Errorf("want the verdict %q", verdict)
	}
	if faults := strings.Count("\n"+out, "\nFAULT "); (faults > 0) != (want.Status == statusFault) {
		return fmt.Errorf("%d faults with status %d", faults, want.Status)
	}
	if want.Status != statusDone {
		return nil
	}
	if got := strings.Count("\n"+out, "\nremark "); got != want.Remarks {
		return fmt.Errorf("%d remarks, want %d", got, want.Remarks)
	}
	if got := strings.Count(out, "\nplace "); got != len(want.Places) {
		return fmt.Errorf("%d places, want %d", got, len(want.Places))
	}
	if !strings.Contains(out, ", stage "+want.Stage+",") {
		return fmt.Errorf("want the stage %s", want.Stage)
	}
	return nil
}

// TestVerifyJSON wants the same of every sample from what programs read, over
// HTTP. Over HTTP no folder is listed, so stray files are no fault there; and
// the samples' host name is not the address's, which is one remark more.
func TestVerifyJSON(t *testing.T) {
	strays := map[string]bool{"bad-stray-opening": true, "bad-stray-revision": true}
	server := httptest.NewServer(http.FileServerFS(os.DirFS(filepath.Join(vectors, "publications"))))
	defer server.Close()
	for name, want := range expectations(t) {
		t.Run(name, func(t *testing.T) {
			status, out, words := drawCommand(t, "verify", "--json", server.URL+"/"+name)
			if strays[name] {
				want.Status = statusDone
			}
			if status != want.Status {
				t.Fatalf("status %d, want %d\n%s%s", status, want.Status, out, words)
			}
			var got struct {
				Status   int
				Verdict  string
				Stage    string
				Weak     bool
				Seed     string
				Places   []struct{ Ticket string }
				Findings []struct{ Level string }
			}
			if err := json.Unmarshal([]byte(out), &got); err != nil {
				t.Fatal(err)
			}
			if got.Status != status {
				t.Errorf("status %d in JSON, %d on exit", got.Status, status)
			}
			if status != statusDone || strays[name] {
				return
			}
			remarks := 0
			for _, f := range got.Findings {
				if f.Level == "remark" {
					remarks++
				}
			}
			if got.Verdict != want.Verdict || got.Stage != want.Stage || got.Weak != want.Weak || got.Seed != want.Seed || remarks != want.Remarks+1 {
				t.Errorf("got %+v, %d remarks, want %+v", got, remarks, want)
			}
			for i, p := range want.Places {
				if i >= len(got.Places) || got.Places[i].Ticket != p {
					t.Errorf("place %d: want %s of %v", i+1, p, got.Places)
				}
			}
		})
	}
}

func TestVerifyReceipts(t *testing.T) {
	var cases []struct {
		Case, Publication, Result string
		Files                     []string
	}
	readJSON(t, "receipts/expected.json", &cases)
	if len(cases) < 13 {
		t.Fatalf("%d cases, want at least 13", len(cases))
	}
	for _, c := range cases {
		t.Run(c.Case, func(t *testing.T) {
			folder := filepath.Join(vectors, "publications", c.Publication)
			args := []string{"verify", folder}
			for _, f := range c.Files {
				flag := "--entry"
				if strings.Contains(f, "receipt") {
					flag = "--receipt"
				}
				args = append(args, flag, filepath.Join(vectors, "receipts", f))
			}
			_, plain, _ := drawCommand(t, "verify", folder)
			status, out, _ := drawCommand(t, args...)
			more := strings.Count(out, "\nremark ") - strings.Count(plain, "\nremark ")
			want := map[string]int{"ok": statusDone, "remark": statusDone, "fault": statusFault}[c.Result]
			if status != want || c.Result == "ok" && more != 0 || c.Result == "remark" && more == 0 {
				t.Errorf("status %d and %d remarks more, want %s\n%s", status, more, c.Result, out)
			}
		})
	}
}

// Every file of a publication over HTTP, the lists too, is asked for once.
func TestEachFileIsAskedForOnce(t *testing.T) {
	var mu sync.Mutex
	asked := map[string]int{}
	files := http.FileServerFS(os.DirFS(filepath.Join(vectors, "publications", "full")))
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		asked[r.URL.Path]++
		mu.Unlock()
		files.ServeHTTP(w, r)
	}))
	status, out, words := drawCommand(t, "verify", server.URL)
	server.Close()
	if status != statusDone {
		t.Fatalf("status %d\n%s%s", status, out, words)
	}
	for _, name := range []string{"opening.txt", "rules.txt", "roll.txt", "excluded.txt", "freeze.txt", "record.txt", "outcome.txt", "outcome.1.txt", "cancelled.txt"} {
		if n := asked["/"+name]; n != 1 {
			t.Errorf("%s was asked for %d times", name, n)
		}
		delete(asked, "/"+name)
	}
	for path, n := range asked {
		t.Errorf("%s was asked for, %d times: no such name is called for", path, n)
	}
}

func TestFindGivesANumberThatSHA256Gives(t *testing.T) {
	folder := filepath.Join(vectors, "publications", "full")
	want := expectations(t)["full"]
	for i, ticket := range want.Places {
		status, out, words := drawCommand(t, "find", "--json", folder, strings.ToLower(ticket[:8]+"-"+ticket[8:]))
		var got found
		if err := json.Unmarshal([]byte(out), &got); err != nil || status != statusDone {
			t.Fatalf("status %d, %v\n%s%s", status, err, out, words)
		}
		if got.Place != i+1 || got.Rank != int64(i+1) || got.Line != want.Seed+ticket {
			t.Errorf("place %d: got %+v", i+1, got)
		}
		if sum := fmt.Sprintf("%x", sha256Of(got.Line)); got.Score == nil || got.Score.String() != sum {
			t.Errorf("place %d: got score %v, SHA-256 gives %s", i+1, got.Score, sum)
		}
	}
}
