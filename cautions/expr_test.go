package cautions

import (
	"math/big"
	"strings"
	"testing"
)

func kindOf(v any) kind {
	switch v.(type) {
	case bool:
		return isBool
	case *big.Rat:
		return isNumber
	}
	return isList
}

var testKinds = map[string]kind{"a": isBool, "b": isBool, "n": isNumber, "m": isNumber, "l": isList, "L-B1": isBool}

// The three values are Kleene's; the rest is common practice, no source.
func TestExpressions(t *testing.T) {
	sets := map[string][]string{"EEA": {"IS", "NO"}}
	e := env{"a": true, "b": false, "n": big.NewRat(500001, 100), "m": number(5000), "l": []string{"NO", "x"}, "L-B1": true}
	for text, want := range map[string]truth{
		"a": yes, "b": no, "not b": yes, "not not a": yes, "a and b": no, "a or b": yes, "L-B1": yes,
		"b or a and a": yes, "a or a and b": yes, "(a or a) and b": no, "not (a and b)": yes, "not a and b": no,
		"n > 5000": yes, "m > 5000": no, "m >= 5000": yes, "m == 5000": yes, "n < 5000.02": yes, "n <= m": no, "m < n": yes,
		"l has x": yes, "l has y": no, "l has any of [y, x]": yes, "l has any of [y]": no, "l has any of [@EEA, GB]": yes,
	} {
		n, err := compile(text, testKinds, sets)
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if got := n(e); got != want {
			t.Errorf("%s: got %d, want %d", text, got, want)
		}
	}
	delete(e, "n")
	delete(e, "a")
	delete(e, "l")
	for text, want := range map[string]truth{
		"n > 5000": maybe, "m < n": maybe, "a": maybe, "not a": maybe, "a and b": no, "b and n > 1": no,
		"L-B1 or a": yes, "l has x": maybe, "a or b": maybe,
	} {
		n, err := compile(text, testKinds, sets)
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if got := n(e); got != want {
			t.Errorf("unknown: %s: got %d, want %d", text, got, want)
		}
	}
}

func TestExpressionsThatAreNone(t *testing.T) {
	for _, text := range []string{
		"", "c", "a and", "a b", "(a", "a)", "a and or b", "n", "l", "a > 1", "n > a", "n > x", "a has x", "l has", "l has any [x]",
		"l has any of [x", "l has any of [x y]", "l has any of []", "l has @no", "n > 1 > 2", "a & b", "not", "A", "l has 5", "n = 5000",
	} {
		if _, err := compile(text, testKinds, nil); err == nil {
			t.Errorf("%q is taken", text)
		}
	}
}

func TestTablesThatAreNone(t *testing.T) {
	for name, data := range map[string]string{
		"unknown name":   `{"rules":[{"id":"x","level":"stop","when":"nothing.known"}]}`,
		"unknown level":  `{"rules":[{"id":"x","level":"bad","when":"sponsor"}]}`,
		"twice":          `{"rules":[{"id":"x","level":"stop","when":"sponsor"},{"id":"x","level":"stop","when":"sponsor"}]}`,
		"later rule":     `{"rules":[{"id":"x","level":"stop","when":"y"},{"id":"y","level":"stop","when":"sponsor"}]}`,
		"unknown field":  `{"rules":[{"id":"x","level":"stop","when":"sponsor","color":1}]}`,
		"unknown filler": `{"rules":[{"id":"x","level":"stop","when":"sponsor","why":"{nothing}"}]}`,
	} {
		if _, err := readTable([]byte(data)); err == nil || !strings.Contains(err.Error(), "read") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
