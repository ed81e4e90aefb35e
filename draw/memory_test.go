package draw_test

import (
	"context"
	"os"
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
	dir, _ := benchPublication(t, tickets)
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

func heap() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapInuse
}
