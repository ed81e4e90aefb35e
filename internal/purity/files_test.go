package purity

import (
	"bytes"
	"errors"
	"io/fs"
	"iter"
	"os"
	"regexp"
	"slices"
	"testing"
)

// left are the folders that are not the project's own text: version control,
// installed packages, built programs and a running server's data.
var left = []string{".git", "node_modules", "bin", "evenhand-data"}

// files yields each of the project's files with its content, named from the
// module's folder.
func files(t *testing.T) iter.Seq2[string, []byte] {
	t.Helper()
	tree := os.DirFS(root)
	return func(yield func(string, []byte) bool) {
		err := fs.WalkDir(tree, ".", func(name string, entry fs.DirEntry, err error) error {
			switch {
			case errors.Is(err, fs.ErrNotExist):
				return nil // a temporary file that went while we looked
			case err != nil:
				return err
			case entry.IsDir() && slices.Contains(left, entry.Name()):
				return fs.SkipDir
			case !entry.Type().IsRegular():
				return nil
			}
			data, err := fs.ReadFile(tree, name)
			switch {
			case errors.Is(err, fs.ErrNotExist):
				return nil
			case err == nil && !yield(name, data):
				return fs.SkipAll
			}
			return err
		})
		if err != nil {
			t.Errorf("walk the tree: %v", err)
		}
	}
}

// machinePath finds an absolute path into somebody's own folders. Each
// alternative is written so that it does not find itself here.
var machinePath = regexp.MustCompile(`(?i)(?:^|[\s"'` + "`" + `(=:,>\[])(` +
	`/[w]ork/|/[r]oot/|/[h]ome/[a-z]|/[U]sers/[a-z]|/[t]mp/brief|/[t]mp/bash|[a-z]:\\+[U]sers\\)`)

// machinePaths returns the lines of a text file that bear such a path.
func machinePaths(data []byte) (lines []int) {
	if bytes.IndexByte(data[:min(len(data), 8000)], 0) >= 0 {
		return nil // a picture or another binary file
	}
	for i, line := range bytes.Split(data, []byte("\n")) {
		if machinePath.Match(line) {
			lines = append(lines, i+1)
		}
	}
	return lines
}

func TestNoMachinePaths(t *testing.T) {
	scanned := 0
	for name, data := range files(t) {
		scanned++
		for _, line := range machinePaths(data) {
			t.Errorf("%s:%d bears a path of one machine", name, line)
		}
	}
	if scanned < 20 {
		t.Errorf("only %d files scanned", scanned)
	}
}

func TestMachinePathsAreFound(t *testing.T) {
	slash := "/" // keeps the paths below out of this file's own text
	for text, want := range map[string]int{
		slash + "work/main":                          1,
		"see " + slash + "work/shared":               1,
		`open("` + slash + `root/x")`:                1,
		"one\nDIR=" + slash + "home/someone/x\n":     1,
		"file:" + slash + "Users/someone":            1,
		`C:\` + `Users\someone`:                      1,
		"`" + slash + "tmp/brief`":                   1,
		"https://example.com" + slash + "work/shoes": 0,
		"net" + slash + "work/":                      0,
		"/var/lib/evenhand":                          0,
		"\x00\n " + slash + "work/main":              0,
	} {
		if got := machinePaths([]byte(text)); len(got) != want {
			t.Errorf("%q: lines %v, want %d", text, got, want)
		}
	}
}
