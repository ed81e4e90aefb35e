package browsertest

import (
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/performance"
)

// Busy returns for how long the page's own thread has computed: processor
// time, so that other programs on the machine don't count. It counts from the
// first call in this browser on, which returns nearly nothing.
func (b *Browser) Busy() time.Duration {
	b.t.Helper()
	call(b, "measure the page", performance.Enable, performance.EnableParams{TimeDomain: performance.EnableTimeDomainThreadTicks})
	for _, m := range call(b, "measure the page", performance.GetMetrics, cdp.Empty{}).Metrics {
		if m.Name == "TaskDuration" {
			return time.Duration(m.Value * float64(time.Second))
		}
	}
	b.t.Fatal("browser: measure the page: no TaskDuration")
	return 0
}
