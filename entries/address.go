package entries

import (
	"strings"
	"unicode"

	"evenhand/address"
)

// The form reads addresses by package address.
type (
	Address      = address.Address
	AddressError = address.Error
)

// ErrAddress is the cause of every error of [Canonical].
var ErrAddress = address.ErrAddress

// Canonical reads an address that somebody wants to enter with; see
// [address.Canonical].
func Canonical(typed string) (Address, error) { return address.Canonical(typed) }

// Fold makes the key of an address; see [address.Fold].
func Fold(typed string) (Address, error) { return address.Fold(typed) }

func cutLast(s string) (local, domain string, found bool) {
	i := strings.LastIndexByte(s, '@')
	if i < 0 {
		return "", "", false
	}
	return s[:i], s[i+1:], true
}

func allDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// invisible reports control and format characters, zero-width ones among them,
// and letters that show nothing: what Unicode calls default ignorable (Hangul
// fillers), and the empty braille cell.
func invisible(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Other_Default_Ignorable_Code_Point) || r == '\u2800'
}
