package testneed

import "testing"

// recorder stands in for a test and notes how it was ended.
type recorder struct {
	testing.TB
	failed, skipped bool
}

func (r *recorder) Helper()               {}
func (r *recorder) Fatalf(string, ...any) { r.failed = true; panic(r) }
func (r *recorder) Skipf(string, ...any)  { r.skipped = true; panic(r) }

// The rule is the project's own: nothing is skipped where CI=true.
func TestMissing(t *testing.T) {
	for _, c := range []struct {
		ci              string
		failed, skipped bool
	}{
		{ci: "true", failed: true},
		{ci: "", skipped: true},
		{ci: "false", skipped: true},
	} {
		t.Setenv("CI", c.ci)
		r := &recorder{}
		func() {
			defer func() { _ = recover() }()
			Command(r, "no-such-program-here")
		}()
		if r.failed != c.failed || r.skipped != c.skipped {
			t.Errorf("CI=%q: failed %v, skipped %v; want %v, %v", c.ci, r.failed, r.skipped, c.failed, c.skipped)
		}
	}
}

func TestCommandFound(t *testing.T) {
	if got := Command(t, "no-such-program-here", "sh"); got == "" {
		t.Error("sh was not found")
	}
}
