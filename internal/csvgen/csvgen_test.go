package csvgen

import (
	"bytes"
	"encoding/csv"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestGenerateIsRepeatable(t *testing.T) {
	a, rows := Generate(1, 1000)
	b, _ := Generate(1, 1000)
	c, _ := Generate(2, 1000)
	if !bytes.Equal(a, b) || bytes.Equal(a, c) {
		t.Error("one seed must give one file, another seed another")
	}
	if len(rows) != 1000 {
		t.Errorf("%d rows, want 1000", len(rows))
	}
	seen := map[string]bool{}
	for _, r := range rows {
		seen[r.Trouble] = true
	}
	if len(seen) != len(troubles)+1 {
		t.Errorf("%d of %d troubles are in the file", len(seen)-1, len(troubles))
	}
}

// The file is one that another reader of CSV takes, but for its rows with a
// quote that is not doubled, which only a lazy reader takes.
func TestGenerateIsCSV(t *testing.T) {
	file, rows := Generate(1, 1000)
	r := csv.NewReader(bytes.NewReader(file))
	r.FieldsPerRecord, r.LazyQuotes = -1, true
	all, err := r.ReadAll()
	if err != nil || len(all) != len(rows)+1 {
		t.Errorf("%d rows, %v; want %d and the header", len(all), err, len(rows))
	}
}

// What is expected must not come from the code that is tested.
func TestNothingOfOursIsUsed(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil || len(names) < 3 {
		t.Fatalf("found %q, %v", names, err)
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, src, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			if strings.Contains(i.Path.Value, "evenhand") || strings.Contains(i.Path.Value, ".") {
				t.Errorf("%s imports %s", name, i.Path.Value)
			}
		}
	}
}
