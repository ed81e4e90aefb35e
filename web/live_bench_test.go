package web_test

import (
	"bufio"
	"fmt"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/show"
	"evenhand/web"
)

// BenchmarkStepReachesAll is how long after the press until each of 2,000 open
// streams in this same process has read a step, viewers' delay 0.
func BenchmarkStepReachesAll(b *testing.B) {
	const streams = 2000
	r := newRig(b).withEvent()
	r.config.Event.Seats = web.Seats{Network: streams, All: streams}
	r.rebuild()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event)
	must2(r.config.Event.Show.Start(b.Context(), event, "boots"))(b)

	var seen [show.Alternates + 1]atomic.Int64
	var readers sync.WaitGroup
	var conns []net.Conn
	for range streams {
		conn, err := net.Dial("tcp", strings.TrimPrefix(r.server.URL, "http://"))
		must(b, err)
		_, err = fmt.Fprintf(conn, "GET /g/boots/live HTTP/1.1\r\nHost: x\r\n\r\n")
		must(b, err)
		conns = append(conns, conn)
		readers.Go(func() {
			lines := bufio.NewScanner(conn)
			for lines.Scan() {
				for step := show.Soon; step <= show.Next; step++ {
					if strings.Contains(lines.Text(), `"step":"`+step.String()+`"`) {
						seen[step].Add(1)
					}
				}
			}
		})
	}
	all := func(step show.Step) time.Duration {
		from := time.Now()
		for seen[step].Load() < streams {
			if time.Since(from) > time.Minute {
				b.Fatalf("%v reached %d of %d in a minute", step, seen[step].Load(), streams)
			}
			time.Sleep(time.Millisecond)
		}
		return time.Since(from)
	}
	all(show.Soon)
	b.ResetTimer()
	var worst, sum time.Duration
	n := 0
	for step := show.Tickets; step <= show.Next; step++ {
		from := time.Now()
		r.forward("boots")
		pressed := time.Since(from)
		took := all(step)
		b.Logf("%-8v press %v, then all of %d after %v", step, pressed.Round(time.Millisecond), streams, took.Round(time.Millisecond))
		worst, sum, n = max(worst, took), sum+took, n+1
	}
	b.ReportMetric(float64(worst.Milliseconds()), "worst-ms")
	b.ReportMetric(float64(sum.Milliseconds())/float64(n), "mean-ms")
	for _, c := range conns {
		c.Close()
	}
	readers.Wait()
}
