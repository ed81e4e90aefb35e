package entries

import (
	"io"
	"runtime"
	"strings"
	"testing"
)

// endless is a file that goes on with the same text; it counts what was read.
type endless struct {
	text string
	left int64
	read int64
}

func (e *endless) Read(b []byte) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	n := 0
	for n < len(b) {
		n += copy(b[n:], e.text[(e.read+int64(n))%int64(len(e.text)):])
	}
	e.read, e.left = e.read+int64(n), e.left-int64(n)
	return n, nil
}

// Rows that are too long, or of too many cells, are refused while they are read:
// of 32 MB next to nothing is read, and no room is taken.
func TestGiantRows(t *testing.T) {
	const whole = 32 << 20
	for name, c := range map[string]struct{ before, text, want string }{
		"one cell":          {"", "a", "row 1 is longer than 64 kB"},
		"cells":             {"", "a,", "row 1 is longer than 64 kB"},
		"an open quote":     {"email,time\n\"", "a,b\n", "row 2 is longer than 64 kB"},
		"the header":        {strings.Repeat("a,", maxColumns) + "a\n", "a,b\n", "row 1 has more than 500 cells"},
		"a row":             {"email,time\n" + strings.Repeat("a,", maxColumns) + "a\n", "a,b\n", "row 2 has more than 500 cells"},
		"after an odd mark": {"email,time\na\"b,c\n", "a", "row 3 is longer than 64 kB"},
	} {
		rest := &endless{text: c.text, left: whole}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := ReadHead(io.MultiReader(strings.NewReader(c.before), rest), ',', 5)
		runtime.ReadMemStats(&after)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if took := after.TotalAlloc - before.TotalAlloc; rest.read > 256<<10 || took > 8<<20 {
			t.Errorf("%s: %d bytes of the file were read, %d taken", name, rest.read, took)
		}
	}
}

// What fits, fits: rows of the most cells, and of almost the most bytes, many
// times, with odd quotes among them.
func TestLongRowsThatFit(t *testing.T) {
	wide := strings.Repeat("a,", maxColumns-1) + "a\n"
	long := "a," + strings.Repeat("b", maxRowBytes-3) + "\n"
	h, err := ReadHead(strings.NewReader("\ufeff"+wide+strings.Repeat(long+wide+"a\"b\n", 50)), ',', 2)
	if err != nil || h.Rows != 150 || len(h.Columns) != maxColumns || len(h.First) != 2 || len(h.First[0][1]) != maxRowBytes-3 {
		t.Errorf("%d rows, %d columns, %v; want 150 and %d", h.Rows, len(h.Columns), err, maxColumns)
	}
}
