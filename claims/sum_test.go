package claims

import (
	"fmt"
	"go/token"
	"go/types"
	"strings"
	"testing"
)

// Worked out by hand, step by step.
func TestSumByHand(t *testing.T) {
	for _, c := range []struct {
		sum  Sum
		text string
		want int
	}{
		{Sum{12, 5, 40, 16, 4}, "(12 × 5) + 40 − (16 ÷ 4)", 96},  // 60 + 40 = 100; 100 − 4
		{Sum{11, 3, 21, 54, 6}, "(11 × 3) + 21 − (54 ÷ 6)", 45},  // 33 + 21 = 54; 54 − 9
		{Sum{19, 8, 69, 6, 2}, "(19 × 8) + 69 − (6 ÷ 2)", 218},   // 152 + 69 = 221; 221 − 3
		{Sum{15, 7, 33, 20, 5}, "(15 × 7) + 33 − (20 ÷ 5)", 134}, // 105 + 33 = 138; 138 − 4
	} {
		if got := c.sum.String(); got != c.text {
			t.Errorf("written %q, want %q", got, c.text)
		}
		if got := c.sum.Result(); got != c.want {
			t.Errorf("%s is %d, want %d", c.text, got, c.want)
		}
	}
}

// Every sum comes out whole and above 0, as Go's own arithmetic on the written
// text says (go/types, constant expressions: exact), and is the same again.
func TestSumsAreWhole(t *testing.T) {
	different := map[string]bool{}
	for n := range 2000 {
		s := sumFrom(fmt.Sprint("seed ", n))
		// A decimal makes the division exact, so that a rest would show.
		text := strings.NewReplacer("×", "*", "÷", "* 1.0 /", "−", "-").Replace(s.String())
		got, err := types.Eval(token.NewFileSet(), nil, token.NoPos, text)
		if err != nil {
			t.Fatal(err)
		}
		if want := fmt.Sprint(s.Result()); got.Value.ExactString() != want || s.Result() < 1 {
			t.Fatalf("%s is %s, and not %s", s, got.Value.ExactString(), want)
		}
		if again := sumFrom(fmt.Sprint("seed ", n)); again != s {
			t.Fatalf("another sum of the same seed: %s, %s", s, again)
		}
		different[s.String()] = true
	}
	if len(different) < 1800 {
		t.Errorf("%d different sums of 2000 seeds", len(different))
	}
}

func TestReadSum(t *testing.T) {
	for typed, want := range map[string]int{"96": 96, " 96 ": 96, "096": 96, "0": 0, "999999999": 999999999} {
		if got, ok := readSum(typed); !ok || got != want {
			t.Errorf("%q reads %d, %v; want %d", typed, got, ok, want)
		}
	}
	for _, typed := range []string{"", " ", "ninety-six", "-96", "+96", "96.0", "9 6", "1,000", "1234567890", "٩٦"} {
		if got, ok := readSum(typed); ok {
			t.Errorf("%q reads %d, want none", typed, got)
		}
	}
}
