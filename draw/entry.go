package draw

import (
	"encoding/hex"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// An EntryText is what one person entered, with a salt that keeps its hash
// from being guessed. Only the entrant gets it, and later, for a winner, the
// sponsor.
type EntryText struct {
	Salt   [32]byte // random for each entry and each change of it
	Draw   string
	Ticket Ticket
	Email  string // the address as it counts for duplicates
	Size   EntrySize
	Ship   string // ISO 3166-1 alpha-2
}

// An EntrySize is the size as it was entered. The zero value is a giveaway of
// something without sizes.
type EntrySize struct {
	System string // mens or womens
	Size   string
	Width  string
}

// Text is the entry's own text. Its only line that is not plain ASCII is the
// address.
func (e EntryText) Text() []byte {
	var p printer
	p.line("evenhand/entry/v1")
	p.line("salt", hex.EncodeToString(e.Salt[:]))
	p.line("draw", e.Draw)
	p.line("ticket", e.Ticket.String())
	p.line("email", e.Email)
	if e.Size == (EntrySize{}) {
		p.line("size", "none")
	} else {
		p.line("size", e.Size.System, e.Size.Size, e.Size.Width)
	}
	p.line("ship", e.Ship)
	return p.Bytes()
}

// Commitment is the hash that stands beside the ticket in roll.txt.
func (e EntryText) Commitment() Digest { return Hash(e.Text()) }

// Validate tells whether the text can be read back.
func (e EntryText) Validate() error {
	_, err := ParseEntry("entry.txt", e.Text())
	return err
}

// ParseEntry reads the text of an entry.
func ParseEntry(file string, text []byte) (EntryText, error) {
	p := newParser(file, text)
	p.literal("evenhand/entry/v1")
	var e EntryText
	e.Salt = p.digest("salt", "64 hex")
	e.Draw = p.id("draw")
	e.Ticket = convert(p, p.value("ticket", "ticket"), ParseTicket)
	e.Email = p.email()
	e.Size = p.size()
	e.Ship = p.value("ship", "country")
	if p.err == nil && !shipForm.MatchString(e.Ship) {
		p.fail("want a country code of two capital letters (ISO 3166-1 alpha-2)")
	}
	p.end()
	return e, p.err
}

func (p *parser) email() string {
	p.utf8 = true
	s := p.value("email", "address")
	p.utf8 = false
	if p.err == nil && !validEmail(s) {
		p.fail("want an address of 3 to 254 bytes, UTF-8 in NFC, without spaces or control characters")
	}
	return s
}

func validEmail(s string) bool {
	if len(s) < 3 || len(s) > 254 || !utf8.ValidString(s) || !norm.NFC.IsNormalString(s) {
		return false
	}
	return !strings.ContainsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) })
}

func (p *parser) size() EntrySize {
	if strings.HasPrefix(p.rest, "size none\n") {
		p.literal("size none")
		return EntrySize{}
	}
	v := p.fields("size", "system", "size", "width")
	s := EntrySize{v[0], v[1], v[2]}
	switch {
	case p.err != nil:
	case s.System != "mens" && s.System != "womens":
		p.fail("want the system mens or womens")
	case !sizeForm.MatchString(s.Size) || !sizeForm.MatchString(s.Width):
		p.fail("want size and width of 1 to 12 characters of A-Z a-z 0-9 . / -")
	}
	return s
}
