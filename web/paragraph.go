package web

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// A paragraph of a posted text. A template escapes its lines; none is HTML.
type paragraph struct {
	Item  bool // it begins with a number, a letter or a dash of a list
	Lines []string
}

// listMark begins an item of a list: "1. ", "12) ", "(a) ", "- ", "• ".
var listMark = regexp.MustCompile(`^\s*(?:\(?(?:[0-9]{1,3}|[A-Za-z])[.)]|[-*•–])\s`)

// wrapWidth is the narrowest width at which a writer's editor is taken to have
// broken lines: 60, of common practice, no source.
const wrapWidth = 60

// paragraphs parts a text at its blank lines and before each item of a list.
// Inside of them a line end stays where the writer meant one; where the next
// word no longer fitted, it was the editor's, and the lines are joined.
func paragraphs(text string) []paragraph {
	var out []paragraph
	last := "" // the line before as it was typed; "" after a blank one
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, " \t\r\n")
		words := strings.TrimSpace(line)
		item := listMark.MatchString(line + " ")
		switch {
		case words == "":
		case last == "" || item:
			out = append(out, paragraph{Item: item, Lines: []string{words}})
		default:
			lines := &out[len(out)-1].Lines
			if wrapped(last, words) {
				(*lines)[len(*lines)-1] += " " + words
			} else {
				*lines = append(*lines, words)
			}
		}
		last = line
	}
	return out
}

// wrapped reports whether next stands on a line of its own only because its
// first word did not fit behind the line before.
func wrapped(line, next string) bool {
	word, _, _ := strings.Cut(next, " ")
	return utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > wrapWidth
}
