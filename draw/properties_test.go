package draw_test

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"evenhand/draw"
)

// loadSample copies a sample publication into memory.
func loadSample(t testing.TB, name string) fstest.MapFS {
	t.Helper()
	dir := filepath.Join(vectors, "publications", name)
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := fstest.MapFS{}
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = &fstest.MapFile{Data: b, Mode: 0o444}
	}
	if len(out) == 0 {
		t.Fatalf("sample %s: %d files", name, len(out))
	}
	return out
}

// Any changed byte ends a check with another status than 0: every seventh byte
// of each file, each time another bit. Under the race detector the roll, whose
// lines are all alike, has every thirty-fifth changed.
func TestAnyChangedByteFails(t *testing.T) {
	type change struct {
		name string
		at   int
	}
	var all []change
	p := loadSample(t, "full")
	for name, f := range p {
		step := 7
		if underRace && name == draw.RollFile {
			step = 35
		}
		for i := 0; i < len(f.Data); i += step {
			all = append(all, change{name, i})
		}
	}
	if least := 500; len(all) < least {
		t.Fatalf("%d bytes to change, want at least %d", len(all), least)
	}
	todo := make(chan change)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		mine := maps.Clone(p)
		wait.Go(func() {
			for c := range todo {
				good := mine[c.name]
				bad := slices.Clone(good.Data)
				bad[c.at] ^= 1 << (c.at / 7 % 8)
				mine[c.name] = &fstest.MapFile{Data: bad}
				if r := draw.Check(t.Context(), mine, draw.Options{}); r.Status == 0 {
					t.Errorf("%s byte %d: %q for %q is %q", c.name, c.at, bad[c.at], good.Data[c.at], r.Verdict)
				}
				mine[c.name] = good
			}
		})
	}
	for _, c := range all {
		todo <- c
	}
	close(todo)
	wait.Wait()
}

// No file of the publication can be left out, but the last group.
func TestAnyMissingFileFails(t *testing.T) {
	p := loadSample(t, "full")
	for name, f := range p {
		delete(p, name)
		r := draw.Check(t.Context(), p, draw.Options{})
		want := draw.StatusFault
		if name == draw.OpeningFile {
			want = draw.StatusNotRead
		}
		if r.Status != want {
			t.Errorf("without %s: got %d, want %d\n%s", name, r.Status, want, lines(r))
		}
		p[name] = f
	}
}

// A file cut short at any tenth of it fails, too.
func TestAnyCutFileFails(t *testing.T) {
	p := loadSample(t, "full")
	for name, f := range p {
		for i := range 10 {
			p[name] = &fstest.MapFile{Data: f.Data[:len(f.Data)*i/10]}
			if r := draw.Check(t.Context(), p, draw.Options{}); r.Status == 0 {
				t.Errorf("%s cut at %d tenths: %q", name, i, r.Verdict)
			}
		}
		p[name] = f
	}
}

// Every text of every sample that parses prints back to the same bytes.
func TestParsePrint(t *testing.T) {
	dirs, err := os.ReadDir(filepath.Join(vectors, "publications"))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, d := range dirs {
		if !d.IsDir() {
			continue
		}
		for name, f := range loadSample(t, d.Name()) {
			text, _, ok := strings.Cut(string(f.Data), "\n\n")
			if !ok {
				continue
			}
			again, err := reprint(name, []byte(text+"\n"))
			if err != nil {
				continue
			}
			n++
			if string(again) != text+"\n" {
				t.Errorf("%s/%s prints to\n%s", d.Name(), name, again)
			}
		}
	}
	if n < 95 {
		t.Errorf("%d texts, want at least 95", n)
	}
}

// reprint parses a text by the stem of its file's name and prints it.
func reprint(name string, text []byte) ([]byte, error) {
	stem, _, _ := strings.Cut(name, ".")
	switch stem {
	case "opening":
		v, err := draw.ParseOpening(name, text)
		return v.Text(), err
	case "freeze":
		v, err := draw.ParseFreeze(name, text)
		return v.Text(), err
	case "record":
		v, err := draw.ParseRecord(name, text)
		return v.Text(), err
	case "outcome":
		v, err := draw.ParseOutcome(name, text)
		return v.Text(), err
	case "cancelled":
		v, err := draw.ParseCancelled(name, text)
		return v.Text(), err
	case "receipt":
		v, err := draw.ParseReceipt(name, text)
		return v.Text(), err
	case "entry":
		v, err := draw.ParseEntry(name, text)
		return v.Text(), err
	case "seal":
		v, err := draw.ParseSeal(name, text)
		return v.Text(), err
	}
	return nil, fmt.Errorf("no text of the protocol: %s", name)
}

var errSlow = errors.New("no answer in time")

// losing is a file system that can't open or can't read one file. It can't
// list a folder, like an address.
type losing struct {
	fs.FS
	name   string
	onRead bool
}

func (l losing) Open(name string) (fs.File, error) {
	if name != l.name {
		return l.FS.Open(name)
	}
	if !l.onRead {
		return nil, &fs.PathError{Op: "open", Path: name, Err: errSlow}
	}
	f, err := l.FS.Open(name)
	return lost{f}, err
}

type lost struct{ fs.File }

func (lost) Read([]byte) (int, error) { return 0, errSlow }

// What can't be read is not a fault: status 2, and nothing is called missing.
func TestUnreadIsNoFault(t *testing.T) {
	for _, sample := range []string{"full", "rules-revised", "cancelled"} {
		p := loadSample(t, sample)
		for name := range p {
			for _, onRead := range []bool{false, true} {
				r := draw.Check(t.Context(), losing{p, name, onRead}, draw.Options{})
				if r.Status != draw.StatusNotRead || r.Count(draw.Fault) != 0 || !strings.Contains(lines(r), errSlow.Error()) {
					t.Errorf("%s without an answer for %s (on read: %v): got %d\n%s", sample, name, onRead, r.Status, lines(r))
				}
			}
		}
	}
}

// A fault always wins over what could not be read.
func TestFaultWinsOverUnread(t *testing.T) {
	p := loadSample(t, "full")
	p[draw.RulesFile] = &fstest.MapFile{Data: []byte("other rules\n")}
	for name := range p {
		if name == draw.OpeningFile || name == draw.RulesFile {
			continue
		}
		if r := draw.Check(t.Context(), losing{p, name, false}, draw.Options{}); r.Status != draw.StatusFault {
			t.Errorf("without an answer for %s: got %d, want 1\n%s", name, r.Status, lines(r))
		}
	}
}

// plain hides everything but Open.
type plain struct{ fs.FS }

func TestStraysAreLookedForInFoldersOnly(t *testing.T) {
	p := loadSample(t, "full")
	p["opening.2.txt"] = &fstest.MapFile{}
	if r := draw.Check(t.Context(), plain{p}, draw.Options{}); r.Status != 0 || !strings.Contains(lines(r), "stray files were not looked for") {
		t.Errorf("no folder: got %d\n%s", r.Status, lines(r))
	}
	if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != 1 || !faultAt(r, "opening.2.txt") {
		t.Errorf("a folder: got %d\n%s", r.Status, lines(r))
	}
}

// The protocol, "The publication": which other names are errors.
func TestOtherNames(t *testing.T) {
	for name, want := range map[string]int{
		"opening.1.txt": 1, "opening.0.txt": 1, "rules.1.txt": 1, "roll.1.txt": 1, "excluded.2.txt": 1, "freeze.1.txt": 1,
		"record.1.txt": 1, "cancelled.1.txt": 1, "outcome.2.txt": 1, "outcome.01.txt": 1, "outcome.99999999999999999999.txt": 1,
		"Opening.txt": 0, "OPENING.1.TXT": 0, "opening.txt.1": 0, "opening.a.txt": 0, "opening..txt": 0, "opening-1.txt": 0,
		"my.opening.1.txt": 0, "README": 0, "roll.csv": 0, "opening.1.txt.asc": 0, "video.1.txt": 0,
	} {
		p := loadSample(t, "full")
		p[name] = &fstest.MapFile{Data: []byte("x\n")}
		if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != want {
			t.Errorf("%s: got %d, want %d\n%s", name, r.Status, want, lines(r))
		}
	}
}

// copyDir writes a sample into a folder of its own.
func copyDir(t *testing.T, name string) string {
	dir := t.TempDir()
	for file, f := range loadSample(t, name) {
		if err := os.WriteFile(filepath.Join(dir, file), f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestLinksAndFoldersUnderOurNames(t *testing.T) {
	for name := range loadSample(t, "full") {
		dir := copyDir(t, "full")
		aside := filepath.Join(t.TempDir(), "aside.txt")
		if err := os.Rename(filepath.Join(dir, name), aside); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(aside, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
		if r := draw.Check(t.Context(), os.DirFS(dir), draw.Options{}); r.Status != 1 || !faultAt(r, name) {
			t.Errorf("%s a link: got %d, want a fault\n%s", name, r.Status, lines(r))
		}
		os.Remove(filepath.Join(dir, name))
		if err := os.Mkdir(filepath.Join(dir, name), 0o700); err != nil {
			t.Fatal(err)
		}
		want := 1
		if name == draw.OpeningFile {
			want = 2 // it can't be read as a publication at all
		}
		if r := draw.Check(t.Context(), os.DirFS(dir), draw.Options{}); r.Status != want {
			t.Errorf("%s a folder: got %d, want %d\n%s", name, r.Status, want, lines(r))
		}
	}
	for _, name := range []string{draw.CancelledFile, "outcome.1.txt", "roll.7.txt"} {
		dir := copyDir(t, "opened")
		if err := os.Symlink("nowhere", filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
		if r := draw.Check(t.Context(), os.DirFS(dir), draw.Options{}); r.Status != 1 || !faultAt(r, name) {
			t.Errorf("%s a link to nowhere: got %d, want a fault\n%s", name, r.Status, lines(r))
		}
	}
}

// A check writes nothing: it works in a folder that can't be written, and
// leaves names, sizes and times as they were.
func TestCheckWritesNothing(t *testing.T) {
	dir := copyDir(t, "full")
	before := snapshot(t, dir)
	if r := draw.Check(t.Context(), os.DirFS(dir), draw.Options{}); r.Status != 0 {
		t.Fatalf("got %d\n%s", r.Status, lines(r))
	}
	draw.Compare(draw.Side{FS: os.DirFS(dir)}, draw.Side{FS: os.DirFS(dir)}, "")
	if after := snapshot(t, dir); after != before {
		t.Errorf("before\n%s\nafter\n%s", before, after)
	}
}

func snapshot(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		data, _ := os.ReadFile(path)
		fmt.Fprintln(&b, path, info.Size(), info.Mode(), info.ModTime(), draw.Hash(data))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Options that the person who checks gives.
func TestKnownKeyAndFreeze(t *testing.T) {
	f := newForge(t)
	p := f.make()
	good := draw.Check(t.Context(), p, draw.Options{})
	other := draw.Hash(nil)
	for name, c := range map[string]struct {
		opt  draw.Options
		want int
	}{
		"right key":    {draw.Options{Key: f.key.VerifierKey()}, 0},
		"other key":    {draw.Options{Key: newSigner(t, 7, f.key.Name()).VerifierKey()}, 1},
		"right freeze": {draw.Options{Freeze: good.FreezeAt}, 0},
		"other freeze": {draw.Options{Freeze: &other}, 1},
	} {
		if r := draw.Check(t.Context(), p, c.opt); r.Status != c.want {
			t.Errorf("%s: got %d, want %d\n%s", name, r.Status, c.want, lines(r))
		}
	}
	f.stage = draw.StageOpen
	if r := draw.Check(t.Context(), f.make(), draw.Options{Freeze: good.FreezeAt}); r.Status != 1 {
		t.Errorf("a freeze is known, and none is published: got %d, want 1", r.Status)
	}
}
