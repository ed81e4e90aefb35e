package store

import (
	"fmt"
	"sync/atomic"
	"testing"
)

// BenchmarkAddEntry measures durable entries a second (synchronous=FULL on
// SQLite, fsync on PostgreSQL): one sender after another, and 64 at once, who
// share transactions. The tests' PostgreSQL runs on this machine.
//
//	go test -run '^$' -bench AddEntry ./store
func BenchmarkAddEntry(b *testing.B) {
	for _, backend := range backends {
		for _, senders := range []int{1, 64} {
			b.Run(fmt.Sprintf("%s/senders=%d", backend.name, senders), func(b *testing.B) {
				s := newSuite(b, backend.at(b))
				s.open("trail-boots")
				var n atomic.Int64
				b.SetParallelism(max(1, senders/2)) // times GOMAXPROCS
				b.ResetTimer()
				add := func() {
					_, err := s.AddEntry(bg(), "trail-boots", at(1), person(fmt.Sprintf("p%d@example.org", n.Add(1))))
					if err != nil {
						b.Error(err)
					}
				}
				if senders == 1 {
					for b.Loop() {
						add()
					}
				} else {
					b.RunParallel(func(pb *testing.PB) {
						for pb.Next() {
							add()
						}
					})
				}
				b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
			})
		}
	}
}
