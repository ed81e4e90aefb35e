package main

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// hidden tells whether a rune could steer a terminal or turn the order of what
// stands beside it: the controls of C0 and C1 with DEL, the format characters
// (Cf, the bidirectional controls among them) and the line separators of
// Unicode. Only LF is let through.
func hidden(r rune) bool {
	return r != '\n' && unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp)
}

// visible writes what is hidden, and bytes that are not UTF-8, as an escape:
// ESC becomes the four characters \x1b. Texts that others wrote reach a
// terminal through it only.
func visible(s string) string {
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, s[0])
		case !hidden(r):
			b.WriteString(s[:n])
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
		s = s[n:]
	}
	return b.String()
}

// oneLine is visible for a text that must not begin a line of its own, such as
// an error that a server's certificate has words in.
func oneLine(s string) string { return strings.ReplaceAll(visible(s), "\n", `\x0a`) }

// visibleJSON does the same for JSON, whose own escapes it uses (RFC 8259,
// section 7). Outside strings JSON has none of these runes; those below U+0020
// are escaped already, or they are the line ends between the members.
func visibleJSON(data []byte) []byte {
	var b []byte
	for _, r := range string(data) {
		switch {
		case r < ' ' || !hidden(r):
			b = utf8.AppendRune(b, r)
		case r < 0x10000:
			b = fmt.Appendf(b, `\u%04x`, r)
		default:
			high, low := utf16.EncodeRune(r)
			b = fmt.Appendf(b, `\u%04x\u%04x`, high, low)
		}
	}
	return b
}
