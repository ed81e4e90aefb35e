package web

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// RFC 5545, 3.3.5: "19980119T070000Z" is 07:00 UTC on 19 January 1998; an
// instant of any zone is written in UTC.
func TestCalendarTime(t *testing.T) {
	for want, at := range map[string]time.Time{
		"19980119T070000Z": time.Date(1998, 1, 19, 7, 0, 0, 0, time.UTC),
		// RFC 5545, 3.3.5: 8:30 in New York on 19 January 1998, where UTC-05:00 holds
		"19980119T133000Z": time.Date(1998, 1, 19, 8, 30, 0, 0, time.FixedZone("EST", -5*3600)),
	} {
		if got := calendarTime(at); got != want {
			t.Errorf("%v is %s, want %s", at, got, want)
		}
	}
}

// RFC 5545, 3.3.11, has this example of an escaped text.
func TestCalendarText(t *testing.T) {
	const plain = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
	if got, want := calendarText(plain), `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := calendarText("a;b,c\\d\r\ne"), `a\;b\,c\\d\ne`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// RFC 5545, 3.1: a line has at most 75 octets without its break; a fold is CRLF
// and one blank, and taking it out gives the line again. No character of
// several octets is cut.
func TestCalendarFold(t *testing.T) {
	for _, line := range []string{
		"DESCRIPTION:This is a long description that exists on a long line.", strings.Repeat("a", 75), strings.Repeat("a", 76), strings.Repeat("a", 74) + "é",
		strings.Repeat("b", 149), strings.Repeat("b", 150), "SUMMARY:" + strings.Repeat("川é", 100), strings.Repeat("🥾", 60),
	} {
		var b bytes.Buffer
		fold(&b, line)
		text := b.String()
		if !strings.HasSuffix(text, "\r\n") {
			t.Errorf("%q has no end", text)
		}
		for _, part := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
			if len(part) > 75 || !utf8.ValidString(part) || strings.Trim(part, " ") == "" {
				t.Errorf("the part %q of %d octets", part, len(part))
			}
		}
		if got := strings.ReplaceAll(strings.TrimSuffix(text, "\r\n"), "\r\n ", ""); got != line {
			t.Errorf("unfolded: %q, want %q", got, line)
		}
		if len(line) <= 75 && strings.Contains(text, "\r\n ") {
			t.Errorf("%q is folded", line)
		}
	}
}
