package draw_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
)

// vectors are the sample publications of another implementation of the
// protocol, with the verdicts it expects (testdata/vectors/publications).
const vectors = "../testdata/vectors"

type expected struct {
	Status  int
	Verdict string
	Stage   draw.Stage
	Weak    bool
	Remarks int
	Seed    string
	Places  []string
	At      string
}

func loadJSON(t testing.TB, path string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(vectors, path))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

func lines(r draw.Report) string {
	var b strings.Builder
	for _, f := range r.Findings {
		b.WriteString(f.String() + "\n")
	}
	return b.String()
}

func TestSamplePublications(t *testing.T) {
	var want map[string]expected
	loadJSON(t, "publications/expected.json", &want)
	if len(want) < 40 {
		t.Fatalf("loaded %d samples, want at least 40", len(want))
	}
	for name, w := range want {
		t.Run(name, func(t *testing.T) {
			r := draw.Check(context.Background(), os.DirFS(filepath.Join(vectors, "publications", name)), draw.Options{})
			if r.Status != w.Status || r.Verdict != w.Verdict {
				t.Fatalf("got status %d %q, want %d %q\n%s", r.Status, r.Verdict, w.Status, w.Verdict, lines(r))
			}
			if w.Status == 0 {
				checkValid(t, r, w)
			}
			if w.At != "" && !faultAt(r, w.At) {
				t.Errorf("want a fault at %s\n%s", w.At, lines(r))
			}
		})
	}
}

func checkValid(t *testing.T, r draw.Report, w expected) {
	t.Helper()
	if r.Stage != w.Stage || r.Weak != w.Weak || r.Count(draw.Remark) != w.Remarks {
		t.Errorf("got stage %s, weak %v, %d remarks; want %s, %v, %d\n%s",
			r.Stage, r.Weak, r.Count(draw.Remark), w.Stage, w.Weak, w.Remarks, lines(r))
	}
	if w.Seed != "" && (r.Seed == nil || r.Seed.String() != w.Seed) {
		t.Errorf("got seed %v, want %s", r.Seed, w.Seed)
	}
	if len(r.Places) != len(w.Places) {
		t.Fatalf("got %d places, want %d", len(r.Places), len(w.Places))
	}
	for i, p := range r.Places {
		if p.Ticket.String() != w.Places[i] {
			t.Errorf("place %d: got %s, want %s", i+1, p.Ticket, w.Places[i])
		}
	}
}

func faultAt(r draw.Report, file string) bool {
	for _, f := range r.Findings {
		if f.Level == draw.Fault && f.File == file {
			return true
		}
	}
	return false
}

func TestSampleReceipts(t *testing.T) {
	var want []struct {
		Case, Publication, Result string
		Files                     []string
	}
	loadJSON(t, "receipts/expected.json", &want)
	if len(want) < 13 {
		t.Fatalf("loaded %d cases, want at least 13", len(want))
	}
	for _, w := range want {
		t.Run(w.Case, func(t *testing.T) {
			var opt draw.Options
			for _, name := range w.Files {
				b, err := os.ReadFile(filepath.Join(vectors, "receipts", name))
				if err != nil {
					t.Fatal(err)
				}
				a := draw.Attachment{Name: name, Data: b}
				if strings.Contains(name, "receipt") {
					opt.Receipts = append(opt.Receipts, a)
				} else {
					opt.Entries = append(opt.Entries, a)
				}
			}
			fsys := os.DirFS(filepath.Join(vectors, "publications", w.Publication))
			with, without := draw.Check(context.Background(), fsys, opt), draw.Check(context.Background(), fsys, draw.Options{})
			got := "ok"
			switch {
			case with.Count(draw.Fault) > 0:
				got = "fault"
			case with.Count(draw.Remark) > without.Count(draw.Remark):
				got = "remark"
			}
			if got != w.Result || len(with.Findings) <= len(without.Findings) {
				t.Errorf("got %s, want %s\n%s", got, w.Result, lines(with))
			}
		})
	}
}
