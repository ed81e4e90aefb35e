package web

import (
	"strings"
	"unicode/utf8"
)

// wrapWidth is the narrowest width at which a writer's editor is taken to have
// broken lines: 60, of common practice, no source.
const wrapWidth = 60

// wrapped reports whether next stands on a line of its own only because its
// first word did not fit behind the line before.
func wrapped(line, next string) bool {
	word, _, _ := strings.Cut(next, " ")
	return utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > wrapWidth
}
