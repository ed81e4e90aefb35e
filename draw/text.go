package draw

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// A SyntaxError says where a text departs from its exact form, and what
// was expected there.
type SyntaxError struct {
	File string // the file's name in the publication
	Line int    // counting from 1; 0 is the file as a whole
	Want string // what was expected
}

func (e *SyntaxError) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Want
	}
	return fmt.Sprintf("%s: line %d: %s", e.File, e.Line, e.Want)
}

// A lineError is about the line of a text that begins with key.
type lineError struct{ key, want string }

func (e *lineError) Error() string { return e.want }

func lineErrorf(key, format string, args ...any) error {
	return &lineError{key, fmt.Sprintf(format, args...)}
}

// lineOf is the number of the first line that begins with key, or 0.
func lineOf(text []byte, key string) int {
	n := 0
	for line := range strings.Lines(string(text)) {
		if n++; strings.HasPrefix(line, key+" ") {
			return n
		}
	}
	return 0
}

// printer writes the lines of a text.
type printer struct{ bytes.Buffer }

func (p *printer) line(fields ...string) {
	p.WriteString(strings.Join(fields, " "))
	p.WriteByte('\n')
}

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

// parser reads a text line by line. The first thing that is not as expected
// sticks in err; everything after it is skipped.
type parser struct {
	file string
	rest string
	n    int // the line last read
	err  error
	utf8 bool // lines may hold more than printable ASCII
}

func newParser(file string, text []byte) *parser {
	return &parser{file: file, rest: string(text)}
}

// fail keeps the first error, at the line last read.
func (p *parser) fail(format string, args ...any) {
	if p.err == nil {
		p.err = &SyntaxError{p.file, p.n, fmt.Sprintf(format, args...)}
	}
}

// next reads one line, without its LF.
func (p *parser) next(want string) string {
	if p.err != nil {
		return ""
	}
	p.n++
	line, rest, ended := strings.Cut(p.rest, "\n")
	switch {
	case p.rest == "":
		p.fail("want %s; the text ends here", want)
	case strings.Contains(line, "\r"):
		p.fail("want lines that end in LF alone; here is a CR")
	case !ended:
		p.fail("want a line end (LF) after the last line")
	case p.n == 1 && strings.HasPrefix(line, "\ufeff"):
		p.fail("want %s; a byte-order mark stands before it", want)
	case !p.utf8 && !printable(line):
		p.fail("want %s in printable ASCII; here is another character", want)
	case line == "":
		p.fail("want %s; this line is empty", want)
	case strings.HasSuffix(line, " "):
		p.fail("want no space at the end of the line")
	case line[0] == ' ', strings.Contains(line, "  "):
		p.fail("want %s, its parts one space apart", want)
	}
	p.rest = rest
	return line
}

// literal wants exactly this line.
func (p *parser) literal(want string) {
	if got := p.next(strconv.Quote(want)); p.err == nil && got != want {
		p.fail("want %q", want)
	}
}

// at tells whether the next line begins with this key.
func (p *parser) at(key string) bool {
	return p.err == nil && (strings.HasPrefix(p.rest, key+" "))
}

// fields reads one line: the key, then as many values as there are names.
func (p *parser) fields(key string, names ...string) []string {
	form := key + " <" + strings.Join(names, "> <") + ">"
	got := strings.Split(p.next(strconv.Quote(form)), " ")
	out := make([]string, len(names))
	if p.err != nil {
		return out
	}
	if len(got) != len(names)+1 || got[0] != key {
		p.fail("want %q", form)
		return out
	}
	return got[1:]
}

func (p *parser) value(key, name string) string { return p.fields(key, name)[0] }

// end wants nothing more.
func (p *parser) end() {
	if p.err == nil && p.rest != "" {
		p.n++
		p.fail("want the end of the text; this line is too many, or not in its place")
	}
}

// convert applies a strict reader to a value of the line last read.
func convert[T any](p *parser, s string, read func(string) (T, error)) T {
	var zero T
	if p.err != nil {
		return zero
	}
	v, err := read(s)
	if err != nil {
		p.fail("%v", err)
		return zero
	}
	return v
}

func (p *parser) digest(key, name string) Digest {
	return convert(p, p.value(key, name), ParseDigest)
}

func (p *parser) time(key string) time.Time {
	return convert(p, p.value(key, "time"), ParseTime)
}

func (p *parser) number(key string, least int64) int64 {
	return p.least(p.value(key, "n"), least)
}

func (p *parser) least(s string, least int64) int64 {
	n := convert(p, s, parseNumber)
	if p.err == nil && n < least {
		p.fail("want a number of %d or more", least)
	}
	return n
}

func (p *parser) id(key string) string {
	id := p.value(key, "draw id")
	if p.err == nil && !ValidID(id) {
		p.fail("want a draw id: a-z, 0-9 and inner hyphens, 64 characters at most")
	}
	return id
}

func (p *parser) role(s, what string) string {
	if p.err == nil && !ValidRole(s) {
		p.fail("want %s: a-z first, then a-z, 0-9 and inner hyphens, 32 characters at most", what)
	}
	return s
}

func printable(s string) bool {
	for i := range len(s) {
		if s[i] < 0x20 || s[i] > 0x7e {
			return false
		}
	}
	return true
}
