package draw_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"evenhand/draw"
)

// What a publication made to keep a check busy, or to fill its memory, gets.

// manyPasses is a draw with so many places, all passed for no reply within an
// hour in the first outcome, and as many revisions after it that say the same.
func manyPasses(t testing.TB, places, revisions int) *forge {
	f := newForge(t)
	f.roll = newTickets(t, 3, places)
	f.left = nil
	f.opening.Winners, f.opening.Alternates = 1000, places-1000
	var passed []draw.Passed
	for n := 1; n <= places; n++ {
		passed = append(passed, draw.Passed{Place: n, Reason: draw.NoReply, At: f.drawn.Add(time.Hour)})
	}
	f.outcomes = nil
	for range revisions {
		f.outcomes = append(f.outcomes, draw.Outcome{Passed: passed})
	}
	return f
}

func TestNineThousandPassesTakeNoTime(t *testing.T) {
	const revisions = 3
	p := manyPasses(t, 9000, revisions).make()
	start := time.Now()
	r := draw.Check(t.Context(), p, draw.Options{})
	took := time.Since(start)
	t.Logf("%s for %d revisions", took, revisions)
	if took > revisions*time.Second && !underRace {
		t.Errorf("it took %s", took)
	}
	if r.Status != draw.StatusValid {
		t.Fatalf("got %d\n%s", r.Status, lines(r))
	}
	// Every one of the 9000 is early, 8000 have their turn by a pass of the same
	// revision; 20 of a kind are given, the rest is counted.
	all := lines(r)
	for want, n := range map[string]int{
		"less than 24 hours\n":                 20,
		"its holder could not object\n":        20,
		"and 8980 more passes for no reply":    1,
		"and 7980 more places passed and move": 1,
	} {
		if got := strings.Count(all+"\n", want); got != n {
			t.Errorf("%q stands %d times, want %d", want, got, n)
		}
	}
	if r.Count(draw.Remark) != 42 {
		t.Errorf("%d remarks, want 42", r.Count(draw.Remark))
	}
}

// All gives what Of gives for each place alone, which follows the protocol's
// words: "the time of the pass after which fewer than winners places before it
// stand".
func TestAllTurnsAreTheTurnsOfEach(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 9))
	for range 500 {
		turns := draw.Turns{Winners: 1 + random.IntN(4), Places: 1 + random.IntN(14), Drawn: roundTime}
		for n := 1; n <= turns.Places; n++ {
			if random.IntN(2) == 0 {
				turns.Passed = append(turns.Passed, draw.Passed{Place: n, Reason: draw.Declined, At: roundTime.Add(hours(float64(random.IntN(6))))})
			}
		}
		all := turns.All()
		for n := 1; n <= turns.Places; n++ {
			want, ok := turns.Of(n)
			if ok != (n <= len(all)) || ok && all[n-1] != want {
				t.Fatalf("%+v: place %d: want %v %v of %v", turns, n, want, ok, all)
			}
		}
	}
}

// An FS that ends the check's context when a name is opened or read from.
type stopping struct {
	fs.FS
	name   string
	onRead bool
	cancel context.CancelFunc
	after  []string // opened since then
	ended  bool
}

func (s *stopping) Open(name string) (fs.File, error) {
	if s.ended {
		s.after = append(s.after, name)
	}
	f, err := s.FS.Open(name)
	if name != s.name || err != nil {
		return f, err
	}
	if s.onRead {
		return stoppingFile{f, s}, nil
	}
	s.ended = true
	s.cancel()
	return f, nil
}

type stoppingFile struct {
	fs.File
	s *stopping
}

func (f stoppingFile) Read(b []byte) (int, error) {
	n, err := f.File.Read(b[:min(len(b), 10)])
	f.s.ended = true
	f.s.cancel()
	return n, err
}

func TestAStoppedCheckIsNoVerdict(t *testing.T) {
	f := newForge(t)
	revised(4, 3)(f)
	f.outcomes = append([]draw.Outcome{{}}, f.outcomes...)
	p := f.make()
	if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != draw.StatusValid {
		t.Fatalf("got %d\n%s", r.Status, lines(r))
	}
	before := runtime.NumGoroutine()
	for name := range p.MapFS {
		for _, onRead := range []bool{false, true} {
			ctx, cancel := context.WithCancel(t.Context())
			s := &stopping{FS: p, name: name, onRead: onRead, cancel: cancel}
			r := draw.Check(ctx, s, draw.Options{})
			if r.Status != draw.StatusNotRead || r.Verdict != "" || r.Count(draw.Fault) != 0 || r.Statement != nil ||
				strings.Count(lines(r), "not checked: stopped") != 1 || strings.Count(lines(r), "not checked") != 1 {
				t.Errorf("%s: got %d %q\n%s", name, r.Status, r.Verdict, lines(r))
			}
			// A group is looked for whole, without reading.
			if len(s.after) > 8 {
				t.Errorf("%s: opened after the end: %q", name, s.after)
			}
			cancel()
		}
	}
	for range 100 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines, %d before", runtime.NumGoroutine(), before)
}

// A context that has ended before it began opens nothing; a fault that was
// found before the end stands.
func TestStoppedBeforeAndAfterAFault(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	f := newForge(t)
	p := f.make()
	cancel()
	s := &stopping{FS: p, ended: true}
	if r := draw.Check(ctx, s, draw.Options{}); r.Status != draw.StatusNotRead || len(s.after) > 0 || !strings.Contains(lines(r), "not checked: stopped") {
		t.Errorf("got %d, opened %q\n%s", r.Status, s.after, lines(r))
	}
	p.MapFS[draw.RulesFile] = &fstest.MapFile{Data: []byte("other rules")}
	ctx, cancel = context.WithCancel(t.Context())
	defer cancel()
	s = &stopping{FS: p, name: draw.RollFile, onRead: true, cancel: cancel}
	if r := draw.Check(ctx, s, draw.Options{}); r.Status != draw.StatusFault || !faultAt(r, draw.RulesFile) {
		t.Errorf("got %d\n%s", r.Status, lines(r))
	}
}

// The lists of a million tickets are left within a few blocks of the end.
func TestAStoppedScanReadsNoFurther(t *testing.T) {
	f := newForge(t)
	f.stage = draw.StageFrozen
	const tickets = 1_000_000
	f.edit[draw.FreezeFile] = func(s string) string {
		s = strings.Replace(s, "issued 9\n", fmt.Sprintf("issued %d\n", tickets+2), 1)
		return strings.Replace(s, "roll 7 ", fmt.Sprintf("roll %d ", tickets), 1)
	}
	endless := &endlessRoll{FS: f.make()}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	r := draw.Check(ctx, endless, draw.Options{Progress: func(n int64) {
		if n > 100_000 {
			cancel()
		}
	}})
	if r.Status != draw.StatusNotRead || endless.lines < 100_000 || endless.lines > 400_000 {
		t.Errorf("got %d, %d lines read\n%s", r.Status, endless.lines, lines(r))
	}
}

// A roll without end is read to one line past the count in the freeze.
func TestAnEndlessRollIsAFault(t *testing.T) {
	f := newForge(t)
	f.stage = draw.StageFrozen
	endless := &endlessRoll{FS: f.make()}
	r := draw.Check(t.Context(), endless, draw.Options{})
	if r.Status != draw.StatusFault || !strings.Contains(lines(r), "roll.txt: want 7 lines, as the freeze says; there are more") {
		t.Errorf("got %d\n%s", r.Status, lines(r))
	}
	if endless.lines != 8 {
		t.Errorf("%d lines were read, want 8", endless.lines)
	}
	if c := draw.Compare(draw.Side{FS: endless}, draw.Side{FS: f.make()}, ""); c.Status != draw.StatusNotRead {
		t.Errorf("compare: got %+v", c)
	}
}

type endlessRoll struct {
	fs.FS
	lines int
}

func (e *endlessRoll) Open(name string) (fs.File, error) {
	f, err := e.FS.Open(name)
	if name != draw.RollFile || err != nil {
		return f, err
	}
	e.lines = 0
	return &endlessFile{File: f, e: e}, nil
}

type endlessFile struct {
	fs.File
	e    *endlessRoll
	rest []byte
}

func (f *endlessFile) Read(b []byte) (int, error) {
	if len(f.rest) == 0 {
		f.rest = fmt.Appendf(nil, "%016d %064d\n", f.e.lines, 0)
		f.e.lines++
	}
	n := copy(b, f.rest)
	f.rest = f.rest[n:]
	return n, nil
}

// manyRevisions moves the event by a second, n-1 times.
func manyRevisions(t testing.TB, n int) *forge {
	f := newForge(t)
	f.stage = draw.StageOpen
	start := f.opening.Opens
	for i := 1; i < n; i++ {
		f.revise = append(f.revise, func(o *draw.Opening) {
			o.Event, o.Revised = o.Event.Add(time.Second), start.Add(time.Duration(i)*time.Second)
		})
	}
	return f
}

func TestMoreRevisionsThanThisToolReads(t *testing.T) {
	if underRace {
		t.Skip("notes by the thousand, one after the other: a minute for nothing that runs beside another")
	}
	for n, want := range map[int]int{draw.MaxRevisions: draw.StatusValid, draw.MaxRevisions + 1: draw.StatusNotRead} {
		p := manyRevisions(t, n).make()
		r := draw.Check(t.Context(), p, draw.Options{})
		said := strings.Contains(lines(r), fmt.Sprintf("more revisions than this tool reads: %d, and it reads 1000", n))
		if r.Status != want || said != (want == draw.StatusNotRead) || r.Count(draw.Fault) > 0 {
			t.Errorf("%d revisions: got %d, want %d", n, r.Status, want)
		}
		if c := draw.Compare(draw.Side{FS: p}, draw.Side{FS: p}, ""); c.Status != want {
			t.Errorf("compare %d revisions: got %d %q", n, c.Status, c.Why)
		}
		outcomes := newForge(t)
		outcomes.outcomes = make([]draw.Outcome, n)
		r = outcomes.check(draw.Options{})
		if r.Status != want || r.Count(draw.Fault) > 0 {
			t.Errorf("%d outcomes: got %d, want %d", n, r.Status, want)
		}
	}
}

// A draw with many places needs more outcomes: the last of 600 may be
// confirmed in revision 600 and passed in revision 1200.
func TestManyPlacesMayHaveManyOutcomes(t *testing.T) {
	if underRace {
		t.Skip("notes by the thousand, one after the other: a minute for nothing that runs beside another")
	}
	for n, want := range map[int]int{1201: draw.StatusValid, 1202: draw.StatusNotRead} {
		f := newForge(t)
		f.roll, f.left = newTickets(t, 4, 600), nil
		f.opening.Winners, f.opening.Alternates = 600, 0
		f.outcomes = make([]draw.Outcome, n)
		p := f.make()
		if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != want {
			t.Errorf("%d outcomes: got %d, want %d", n, r.Status, want)
		}
		if c := draw.Compare(draw.Side{FS: p}, draw.Side{FS: p}, ""); c.Status != want {
			t.Errorf("compare %d outcomes: got %d, want %d: %q", n, c.Status, want, c.Why)
		}
	}
}

// Witness lines make each kept note almost 1 MiB long; a check, and a
// comparison, hold a few of them at a time.
func TestMemoryDoesNotGrowWithTheRevisions(t *testing.T) {
	if testing.Short() || underRace {
		t.Skip("hundreds of MiB of notes take some seconds")
	}
	const few, many = 10, 40
	for name, run := range map[string]func(fs.FS){
		"check":   func(p fs.FS) { draw.Check(t.Context(), p, draw.Options{}) },
		"compare": func(p fs.FS) { draw.Compare(draw.Side{FS: p}, draw.Side{FS: p}, "") },
	} {
		small, large := revisionsPeak(t, few, run), revisionsPeak(t, many, run)
		t.Logf("%s: peak heap %d KiB for %d revisions, %d KiB for %d", name, small>>10, few, large>>10, many)
		if large > small+moreHeap {
			t.Errorf("%s: peak heap %d KiB for %d revisions, %d KiB for %d: more than 8 MiB between", name, small>>10, few, large>>10, many)
		}
	}
}

// revisionsPeak is the highest heap during run, above what was in use before,
// with so many openings and so many outcomes.
func revisionsPeak(t *testing.T, n int, run func(fs.FS)) uint64 {
	f := manyRevisions(t, n)
	f.stage = draw.StageOutcome
	f.opening.Event = f.opening.Event.Add(-time.Duration(n-1) * time.Second)
	f.outcomes = make([]draw.Outcome, n)
	p := f.make()
	if r := draw.Check(t.Context(), p, draw.Options{}); r.Status != draw.StatusValid {
		t.Fatalf("got %d\n%s", r.Status, lines(r))
	}
	defer debug.SetGCPercent(debug.SetGCPercent(10))
	runtime.GC()
	before, high := heap(), uint64(0)
	long := &witnessed{FS: p, at: func() { high = max(high, heap()) }}
	run(long)
	if long.opened < 2*n {
		t.Fatalf("%d long notes were read, want %d", long.opened, 2*n)
	}
	return high - min(high, before)
}

// witnessed adds signature lines of others to each note as it is opened.
type witnessed struct {
	fs.FS
	at     func()
	opened int
}

var witnesses = func() string {
	line := base64.StdEncoding.EncodeToString(bytes.Repeat([]byte{1}, 48_000-1-48_000%3+1))
	return strings.Repeat("— witness.example "+line+"\n", 16)
}()

func (w *witnessed) Open(name string) (fs.File, error) {
	f, err := w.FS.Open(name)
	if err != nil || slices.Contains([]string{draw.RulesFile, draw.RollFile, draw.ExcludedFile}, name) {
		return f, err
	}
	w.at()
	w.opened++
	return longFile{f, io.MultiReader(f, strings.NewReader(witnesses))}, nil
}

type longFile struct {
	fs.File
	r io.Reader
}

func (l longFile) Read(b []byte) (int, error) { return l.r.Read(b) }
