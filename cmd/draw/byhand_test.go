package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/internal/testneed"
)

// recipe returns the shell lines of a Markdown text between its two markers.
func recipe(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(b), "<!-- by-hand -->\n```sh\n")
	lines, _, ended := strings.Cut(rest, "```\n<!-- /by-hand -->")
	if !ok || !ended {
		t.Fatalf("%s has no sh block between <!-- by-hand --> and <!-- /by-hand -->", name)
	}
	return lines
}

// The recipe in the README is run as written, with sh, on the publications of
// another implementation, and must find its seed and its winners
// (testdata/vectors/publications/expected.json).
func TestByHand(t *testing.T) {
	lines := recipe(t, "../../README.md")
	for _, tool := range []string{"sh", "sha256sum", "sort", "cut", "basenc"} {
		testneed.Command(t, tool)
	}
	for _, name := range []string{"full", "withheld", "host-only", "revised", "three-winners", "event-on-a-round"} {
		t.Run(name, func(t *testing.T) {
			want := expectations(t)[name]
			if want.Seed == "" || len(want.Places) < 3 {
				t.Fatalf("nothing to compare with: %+v", want)
			}
			got := byHand(t, lines, filepath.Join(vectors, "publications", name))
			if !strings.Contains(got, "seed  "+want.Seed+"\n") {
				t.Errorf("want the seed %s in\n%s", want.Seed, got)
			}
			order := strings.Fields(got[strings.Index(got, want.Seed)+len(want.Seed):])
			for i := range 3 {
				if len(order) != 6 || order[2*i+1] != want.Places[i] {
					t.Fatalf("place %d: want %s in\n%s", i+1, want.Places[i], got)
				}
			}
			checkPrintedHashes(t, name, got)
		})
	}
}

func byHand(t *testing.T, lines, folder string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, "sh")
	cmd.Dir, cmd.Stdin = folder, strings.NewReader(lines)
	var words bytes.Buffer
	cmd.Stderr = &words
	out, err := cmd.Output()
	if err != nil || words.Len() > 0 {
		t.Fatalf("%v: %s", err, &words)
	}
	return string(out)
}

// checkPrintedHashes wants the list's hash as the freeze has it, and the
// freeze's hash as the record has it.
func checkPrintedHashes(t *testing.T, name, got string) {
	t.Helper()
	for file, key := range map[string]string{"freeze.txt": "list", "record.txt": "lock"} {
		b, err := os.ReadFile(filepath.Join(vectors, "publications", name, file))
		if err != nil {
			t.Fatal(err)
		}
		_, rest, _ := strings.Cut(got, key+"  ")
		hash, _, _ := strings.Cut(rest, "\n")
		if len(hash) != 64 || !strings.Contains(string(b), hash) {
			t.Errorf("%s: %s has no hash %q", key, file, hash)
		}
	}
}
