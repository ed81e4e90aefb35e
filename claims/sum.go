package claims

import (
	"crypto/sha256"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// A Sum is an unaided sum of several steps, A × B + C − D ÷ E, where D ÷ E is
// whole. Its form is common practice, no source (testdata/facts/law.md, C2).
type Sum struct{ A, B, C, D, E int }

// String writes it with brackets, so that nobody has to know which step comes
// first: "(12 × 5) + 40 − (16 ÷ 4)".
func (s Sum) String() string {
	return fmt.Sprintf("(%d × %d) + %d − (%d ÷ %d)", s.A, s.B, s.C, s.D, s.E)
}

// Result is what comes out, a whole number above 0.
func (s Sum) Result() int { return s.A*s.B + s.C - s.D/s.E }

// sumFrom makes a sum of a seed, always the same. Its numbers are such that it
// can be done in the head or on paper; our own choice.
func sumFrom(seed string) Sum {
	h := sha256.Sum256([]byte("evenhand skill question\n" + seed))
	between := func(i, least, most int) int { return least + int(h[i])%(most-least+1) }
	e := between(4, 2, 6)
	return Sum{A: between(0, 11, 19), B: between(1, 3, 8), C: between(2, 21, 69), D: e * between(3, 3, 9), E: e}
}

// wholeNumber fits an int of any machine.
var wholeNumber = regexp.MustCompile(`^[0-9]{1,9}$`)

// readSum reads an answer as it was typed; false if it is no whole number.
func readSum(typed string) (int, bool) {
	typed = strings.TrimSpace(typed)
	if !wholeNumber.MatchString(typed) {
		return 0, false
	}
	n, err := strconv.Atoi(typed)
	return n, err == nil
}
