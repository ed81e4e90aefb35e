package draw

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
)

// alphabet is Crockford's base32: no I, L, O, U.
const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// ticketLen is 16 characters of 5 bits: 80 random bits.
const ticketLen = 16

// A Ticket is the public number of an entry, 16 characters of Crockford's
// base32. It is not a secret and opens nothing.
type Ticket [ticketLen]byte

// NewTicket takes 10 bytes from rand. Their bits stand in the ticket in order,
// most significant first.
func NewTicket(rand io.Reader) (Ticket, error) {
	var raw [ticketLen * 5 / 8]byte
	if _, err := io.ReadFull(rand, raw[:]); err != nil {
		return Ticket{}, fmt.Errorf("new ticket: %w", err)
	}
	return ticketOf(raw), nil
}

func ticketOf(raw [10]byte) (t Ticket) {
	var bits, have uint
	n := 0
	for _, b := range raw {
		bits, have = bits<<8|uint(b), have+8
		for have >= 5 {
			have -= 5
			t[n] = alphabet[bits>>have&31]
			n++
		}
	}
	return t
}

// ParseTicket reads the canonical form, as it stands in files.
func ParseTicket(s string) (Ticket, error) {
	var t Ticket
	if len(s) != ticketLen {
		return t, errors.New("want a ticket of 16 characters")
	}
	copy(t[:], s)
	if !t.canonical() {
		return Ticket{}, errors.New("want a ticket of 16 characters of " + alphabet)
	}
	return t, nil
}

// ReadTicket reads what a person typed: any case, hyphens and spaces dropped,
// O read as 0, I and L as 1. U is an error, since it is no character of the
// alphabet and looks like V.
func ReadTicket(s string) (Ticket, error) {
	clean := make([]byte, 0, ticketLen)
	for _, r := range strings.TrimSpace(s) {
		switch {
		case r == '-' || r == ' ':
			continue
		case 'a' <= r && r <= 'z':
			r -= 'a' - 'A'
		}
		switch r {
		case 'O':
			r = '0'
		case 'I', 'L':
			r = '1'
		case 'U':
			return Ticket{}, errors.New("a ticket has no letter U: is it a V?")
		}
		if r > unicode.MaxASCII || !base32[r] {
			return Ticket{}, errors.New("a ticket has digits and Latin letters only")
		}
		clean = append(clean, byte(r))
	}
	if len(clean) != ticketLen {
		return Ticket{}, fmt.Errorf("a ticket has %d characters; this has %d", ticketLen, len(clean))
	}
	return Ticket(clean), nil
}

// base32 marks the bytes of the alphabet.
var base32 = func() (ok [256]bool) {
	for i := range len(alphabet) {
		ok[alphabet[i]] = true
	}
	return ok
}()

func (t *Ticket) canonical() bool {
	for _, c := range t {
		if !base32[c] {
			return false
		}
	}
	return true
}

// String is the form for files: 16 characters without hyphens.
func (t Ticket) String() string { return string(t[:]) }

// Grouped is the form for people: groups of four.
func (t Ticket) Grouped() string {
	s := string(t[:])
	return s[:4] + "-" + s[4:8] + "-" + s[8:12] + "-" + s[12:]
}

// Less tells whether t stands before u in a list.
func (t Ticket) Less(u Ticket) bool { return string(t[:]) < string(u[:]) }

// MarshalText makes JSON show the form for files.
func (t Ticket) MarshalText() ([]byte, error) { return t[:], nil }

// UnmarshalText reads what MarshalText wrote.
func (t *Ticket) UnmarshalText(b []byte) (err error) {
	*t, err = ParseTicket(string(b))
	return err
}
