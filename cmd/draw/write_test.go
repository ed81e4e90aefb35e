package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWriteNewNeverReplaces(t *testing.T) {
	for name, linked := range map[string]func(string, string) error{
		"a disk with links":    os.Link,
		"a disk without links": func(string, string) error { return errors.ErrUnsupported },
	} {
		t.Run(name, func(t *testing.T) {
			t.Cleanup(func() { link = os.Link })
			link = linked
			dir := t.TempDir()
			path := filepath.Join(dir, "opening.txt")
			if err := writeNew(path, []byte("one"), publicMode); err != nil {
				t.Fatal(err)
			}
			if err := writeNew(path, []byte("two"), publicMode); !errors.Is(err, fs.ErrExist) {
				t.Errorf("got %v, want that it exists", err)
			}
			if err := writeNew(path, []byte("one"), publicMode); err != nil {
				t.Errorf("the same bytes again: %v", err)
			}
			b, err := os.ReadFile(path)
			if err != nil || string(b) != "one" {
				t.Errorf("got %q, %v", b, err)
			}
			info, err := os.Stat(path)
			if err != nil || info.Mode().Perm() != publicMode {
				t.Errorf("got mode %v, %v", info.Mode(), err)
			}
			left, err := os.ReadDir(dir)
			if err != nil || len(left) != 1 {
				t.Errorf("%d files are left, want 1: %v", len(left), err)
			}
		})
	}
}

func TestSameBytes(t *testing.T) {
	dir := t.TempDir()
	long := bytes.Repeat([]byte("x"), 200_000)
	for name, b := range map[string][]byte{"a": long, "b": long, "shorter": long[:65536], "empty": nil,
		"other": append(bytes.Clone(long[:199_999]), 'y')} {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range map[string]bool{"a": true, "b": true, "shorter": false, "empty": false, "other": false} {
		got, err := sameBytes(filepath.Join(dir, "a"), filepath.Join(dir, name))
		if err != nil || got != want {
			t.Errorf("a and %s: got %v, %v, want %v", name, got, err, want)
		}
	}
	if _, err := sameBytes(filepath.Join(dir, "a"), filepath.Join(dir, "none")); err == nil {
		t.Error("want an error where there is no file")
	}
}

func TestProgressBar(t *testing.T) {
	var to bytes.Buffer
	bar := &progressBar{to: &to, total: 1_000_000, next: longRoll}
	bar.at(longRoll - 1)
	if to.Len() > 0 {
		t.Errorf("a short roll shows %q", to.String())
	}
	for n := int64(0); n <= 1_000_000; n += 10_000 {
		bar.at(n)
	}
	bar.end()
	if n := strings.Count(to.String(), "\r["); n != 17 { // from 200,000 on, every 50,000
		t.Errorf("drawn %d times, want 17: %q", n, to.String())
	}
	if !strings.Contains(to.String(), "[####################....................] 500000 of 1000000 tickets") {
		t.Errorf("half way is not half a bar: %q", to.String())
	}
	if (&progressBar{to: &to}).line(5) != "5 tickets" {
		t.Error("a roll of unknown length needs no bar")
	}
	silent := &progressBar{}
	silent.at(10_000_000)
	silent.end()
	if r := strings.NewReader(""); silent.reader(r) != r {
		t.Error("a silent bar counts nothing")
	}
}

func TestParseMap(t *testing.T) {
	cols, err := parseMap(list{"email=E-mail, if any,time=When, in your zone?", "answers.colour=Colour=which"})
	want := map[string]string{"email": "E-mail, if any", "time": "When, in your zone?", "answers.colour": "Colour=which"}
	if err != nil || len(cols) != len(want) {
		t.Fatalf("got %v, %v", cols, err)
	}
	for field, column := range want {
		if cols[field] != column {
			t.Errorf("%s: got %q, want %q", field, cols[field], column)
		}
	}
	for _, bad := range []list{{"email"}, {"=E-mail"}, {"email=a,email=b"}, {"email=a", "email=b"}} {
		if _, err := parseMap(bad); err == nil {
			t.Errorf("%q: want an error", bad)
		}
	}
}
