package giveaway

import (
	"bytes"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/yuin/goldmark"
)

// A value shows as it was typed, whatever Markdown would make of it (judged by
// a CommonMark 0.31 implementation, goldmark).
func TestMark(t *testing.T) {
	tags := regexp.MustCompile(`<[^>]*>`)
	for _, s := range []string{
		"plain words, 2 of them", "a_b_c", "_a_", "*a*", "**b**", "`c`", "[d](e)", "<b>f</b>", "<https://example.com>", "&amp; & &lt;", `back\slash \* `,
		"# g", "- h", "+ i", "> j", "1. k", "12) l", "=== m", "~~n~~", "![o](p)", "AT&T", "snake_case_", "100%", "é *ü*", "|a|b|", "1.5 pairs",
	} {
		s = strings.TrimSpace(s)
		for _, in := range []string{mark(s), "before " + mark(s) + " after"} {
			var out bytes.Buffer
			if err := goldmark.Convert([]byte(in), &out); err != nil {
				t.Fatal(err)
			}
			got := strings.TrimSpace(html.UnescapeString(tags.ReplaceAllString(out.String(), "")))
			got = strings.TrimSuffix(strings.TrimPrefix(got, "before "), " after")
			if got != s || !strings.HasPrefix(out.String(), "<p>") {
				t.Errorf("%q was written %q and shows as %q (%s)", s, in, got, out.String())
			}
		}
	}
	for _, s := range []string{"Win a pair of boots.", "hello@slow-miles.example", "Larkspur & Sons, 12 Mill Lane", "snake_case"} {
		if mark(s) != s {
			t.Errorf("%q need not be marked, but is: %q", s, mark(s))
		}
	}
}
