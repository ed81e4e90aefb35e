package giveaway

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// marked returns the terms with every string so written that Markdown shows
// it as it is; most strings stay what they are. Paragraphs are Markdown
// already.
func (t Terms) marked() Terms {
	for _, s := range []*string{
		&t.Channel, &t.Host, &t.Title, &t.Prize, &t.Sponsor, &t.Value, &t.SponsorAddress, &t.Disclosure, &t.Steps,
	} {
		*s = mark(*s)
	}
	t.Barred = markAll(t.Barred)
	t.Seconds = slices.Clone(t.Seconds)
	for i := range t.Seconds {
		t.Seconds[i].Who = mark(t.Seconds[i].Who)
	}
	t.Questions = slices.Clone(t.Questions)
	for i, q := range t.Questions {
		t.Questions[i].Label, t.Questions[i].Choices = mark(q.Label), markAll(q.Choices)
	}
	return t
}

func markAll(list []string) []string {
	list = slices.Clone(list)
	for i := range list {
		list[i] = mark(list[i])
	}
	return list
}

// mark puts a backslash before what CommonMark would take for its own
// (CommonMark 0.31.2, sections 2.4, 4 and 6): inline signs anywhere, an
// underscore but inside a word, and what opens a block at the beginning.
func mark(s string) string {
	var b strings.Builder
	before := ' '
	for i, c := range s {
		after, _ := utf8.DecodeRuneInString(s[i+utf8.RuneLen(c):])
		if strings.ContainsRune("\\*`[]<&~", c) && !(c == '&' && after == ' ') ||
			c == '_' && !(letter(before) && letter(after)) {
			b.WriteByte('\\')
		}
		b.WriteRune(c)
		before = c
	}
	return markStart(b.String())
}

func letter(c rune) bool { return unicode.IsLetter(c) || unicode.IsDigit(c) }

// markStart keeps the beginning from being taken for a heading, a quotation, a
// rule or a list.
func markStart(s string) string {
	digits := len(s) - len(strings.TrimLeft(s, "0123456789"))
	switch {
	case s == "":
	case strings.ContainsRune("#>+-=|", rune(s[0])):
		return "\\" + s
	case digits > 0 && digits < len(s) && strings.ContainsRune(".)", rune(s[digits])):
		return s[:digits] + "\\" + s[digits:]
	}
	return s
}
