package claims

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// tidyText folds blanks to one each and composes letters with their marks, so
// that one text has one form.
func tidyText(typed string) string {
	return norm.NFC.String(strings.Join(strings.Fields(typed), " "))
}

// checkText says what to do about a line of text, "" if it is fine. What is
// the thing's name in a sentence.
func checkText(text, what string, most int) string {
	switch {
	case !utf8.ValidString(text) || strings.ContainsFunc(text, invisible):
		return "There is an invisible character in " + what + ". Please type it anew."
	case utf8.RuneCountInString(text) > most:
		return fmt.Sprintf("Please shorten %s to %d characters.", what, most)
	}
	return ""
}

// invisible reports what nobody sees on a label: controls, and marks that
// change direction or have no width.
func invisible(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Co, r) || r == utf8.RuneError
}

// upper is a text in capitals.
func upper(s string) string { return strings.ToUpper(s) }

// ticked reports whether a tick box was ticked: a browser sends on, programs
// send true or yes.
func ticked(s string) bool {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "yes", "on", "true", "1", "y":
		return true
	}
	return false
}
