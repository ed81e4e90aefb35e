package check

import (
	"os"
	"testing"

	"evenhand/internal/browsertest"
)

// browser is shared by the tests of this package.
var browser browsertest.Shared

func TestMain(m *testing.M) {
	code := m.Run()
	browser.Close()
	os.Exit(code)
}

// some is a share of what is tried, of every kind: under the race detector,
// which CI runs, package draw is several times slower and has nothing to race.
// Without it (make agree) all are tried.
func some[T any](all []T, oneIn int) []T {
	if !underRace {
		return all
	}
	var out []T
	for i := 0; i < len(all); i += oneIn {
		out = append(out, all[i])
	}
	return out
}
