package draw_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"evenhand/draw"
)

// moreHeap is how much more a check of a million tickets may hold than one of
// 100,000, in bytes.
const moreHeap = 8 << 20

// The lists stream: memory does not grow with the roll.
func TestMemoryDoesNotGrowWithTheRoll(t *testing.T) {
	if testing.Short() {
		t.Skip("a million tickets take some seconds")
	}
	small := peak(t, 100_000)
	large := peak(t, 1_000_000)
	t.Logf("peak heap: %d KiB for 100,000 tickets, %d KiB for 1,000,000", small>>10, large>>10)
	if large > small+moreHeap {
		t.Errorf("peak heap %d KiB for 1,000,000 tickets, %d KiB for 100,000: more than 8 MiB between", large>>10, small>>10)
	}
}

// peak is the highest heap in use during a check of so many tickets, above what
// was in use before it.
func peak(t *testing.T, tickets int) uint64 {
	t.Helper()
	dir := longPublication(t, tickets)
	// Collect often, so that the heap in use is what is held.
	defer debug.SetGCPercent(debug.SetGCPercent(10))
	runtime.GC()
	before := heap()
	stop, done := make(chan struct{}), make(chan uint64)
	go func() {
		high := before
		for {
			select {
			case <-stop:
				done <- high
				return
			case <-time.After(time.Millisecond):
				high = max(high, heap())
			}
		}
	}()
	samples := 0
	r := draw.Check(context.Background(), os.DirFS(dir), draw.Options{Progress: func(int64) { samples++ }})
	close(stop)
	high := <-done
	if r.Status != 0 || r.Tickets+r.Excluded != int64(tickets) || samples < tickets/4096*8/10 {
		t.Fatalf("got %d, %d tickets, %d steps\n%s", r.Status, r.Tickets+r.Excluded, samples, lines(r))
	}
	return high - before
}

// longPublication writes a drawn publication of so many tickets, of which one in
// ten is left out. It counts where benchPublication draws tickets at random, so
// that the test stays short under the race detector.
func longPublication(t *testing.T, tickets int) string {
	t.Helper()
	dir := t.TempDir()
	f := newForge(t)
	f.roll, f.left, f.stage = nil, nil, draw.StageFrozen
	for name, file := range f.make().MapFS {
		write(t, dir, name, file.Data)
	}
	lists := []draw.List{
		longList(t, filepath.Join(dir, draw.RollFile), tickets, func(i int) bool { return i%10 != 9 }, " "+draw.Hash(nil).String()+"\n"),
		longList(t, filepath.Join(dir, draw.ExcludedFile), tickets, func(i int) bool { return i%10 == 9 }, " duplicate\n"),
	}
	r := draw.Check(t.Context(), f.make(), draw.Options{})
	freeze := *r.Freeze
	freeze.Issued, freeze.Roll, freeze.Excluded = int64(tickets), lists[0].Count, lists[1].Count
	freeze.RollHash, freeze.ExcludedHash = lists[0].Hash, lists[1].Hash
	write(t, dir, draw.FreezeFile, f.sign("", string(freeze.Text())))
	roll, err := os.Open(filepath.Join(dir, draw.RollFile))
	if err != nil {
		t.Fatal(err)
	}
	defer roll.Close()
	record, err := draw.MakeRecord(draw.Making{Opening: *r.Opening, Freeze: freeze, Secrets: f.secrets(), Chain: f.chain,
		Beacon: &draw.Beacon{Round: f.round, Signature: f.sig}, Drawn: f.drawn, Roll: roll})
	if err != nil {
		t.Fatal(err)
	}
	write(t, dir, draw.RecordFile, f.sign("", string(record.Text())))
	return dir
}

func write(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// longList writes the tickets 0000000000000000, 0000000000000001, … that in
// takes, each with the same rest of the line.
func longList(t *testing.T, path string, n int, in func(int) bool, rest string) (list draw.List) {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	hash, chunk := sha256.New(), []byte{}
	flush := func() {
		hash.Write(chunk)
		if _, err := file.Write(chunk); err != nil {
			t.Fatal(err)
		}
		chunk = chunk[:0]
	}
	for i := range n {
		if in(i) {
			chunk = append(append(chunk, fmt.Sprintf("%016d", i)...), rest...)
			list.Count++
		}
		if len(chunk) > 1<<16 {
			flush()
		}
	}
	flush()
	list.Hash = draw.Digest(hash.Sum(nil))
	return list
}

func heap() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapInuse
}
