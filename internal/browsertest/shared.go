package browsertest

import (
	"slices"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// Shared is one browser for all tests of a package, since starting one costs
// more than most tests. The first test that asks starts it; TestMain ends it
// with [Shared.Close]. The zero value is ready.
type Shared struct {
	mu   sync.Mutex // guards the two below
	b    *Browser
	ends []func()
}

// For is an empty page of the shared browser, with cookies of its own. The
// test's end closes it.
func (s *Shared) For(t testing.TB) *Browser {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.b == nil {
		s.b = New(&starter{TB: t, shared: s})
	}
	return open(t, s.b.ctx, chromedp.WithNewBrowserContext())
}

// Close ends the browser.
func (s *Shared) Close() {
	for _, end := range slices.Backward(s.ends) {
		end()
	}
}

// A starter is the test that starts a shared browser. Its end is not the
// browser's.
type starter struct {
	testing.TB
	shared *Shared
}

func (s *starter) Cleanup(end func())  { s.shared.ends = append(s.shared.ends, end) }
func (s *starter) Logf(string, ...any) {} // the test may be over
