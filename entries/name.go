package entries

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

const maxName = 40 // characters

// linkLike finds what could be a link or an address: a scheme, www, an @, or
// a dot between letters as in a domain name.
var linkLike = regexp.MustCompile(`(?i)://|\bwww\.|@|[\pL\pN]\.\pL{2,}`)

// readName reads the name to be said on the show. It is shown on screens, so
// nothing may hide in it.
func (d *decision) readName() {
	name, text := PlainName(d.form.Name)
	if text != "" {
		d.problem("name", text)
		return
	}
	d.Entry.Name = name
}

// unjoined is a name without the joiners that it needs between two characters:
// Persian keeps letters apart with U+200C (UAX #31, 2.3), and joined emoji hold
// together by U+200D (UTS #51, 2.3).
func unjoined(name string) string {
	all, out := []rune(name), []rune(nil)
	for i, r := range all {
		if i == 0 || i == len(all)-1 || !joins(all[i-1], r, all[i+1]) {
			out = append(out, r)
		}
	}
	return string(out)
}

func joins(before, r, after rune) bool {
	switch r {
	case '\u200C':
		return unicode.In(before, unicode.L, unicode.M) && unicode.IsLetter(after)
	case '\u200D':
		return (unicode.In(before, unicode.So, unicode.Sk) || before == '\uFE0F') && unicode.Is(unicode.So, after)
	}
	return false
}

// PlainName returns a name to be said in its one form, or what to do about it.
func PlainName(typed string) (name, text string) {
	name = norm.NFC.String(strings.Join(strings.Fields(typed), " "))
	switch {
	case !utf8.ValidString(typed) || strings.ContainsFunc(unjoined(name), invisible) || strings.ContainsFunc(typed, notBlankControl):
		return "", "There is an invisible character in the name. Please type it anew."
	case tooLong(name, maxName):
		return "", fmt.Sprintf("Please shorten the name to %d characters.", maxName)
	case linkLike.MatchString(name):
		return "", "Please leave links and addresses out of the name."
	}
	return name, ""
}

func notBlankControl(r rune) bool { return unicode.IsControl(r) && r != '\t' }

func tooLong(s string, most int) bool { return utf8.RuneCountInString(s) > most }

// plainText reports text without control characters other than line breaks
// and tabs.
func plainText(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool {
		return unicode.IsControl(r) && r != '\n' && r != '\t'
	})
}
