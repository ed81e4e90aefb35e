// Package address reads e-mail addresses: what can be written to, and which two
// are one person's. Start with [Canonical]; [Fold] only makes the key. The form
// takes entries by it, and terms may bar nobody whom it would not take.
//
// The rules and their sources stand in testdata/facts/email.md. The package is
// pure, and no error of it holds an address.
package address

import (
	"errors"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/net/idna"
	"golang.org/x/text/unicode/norm"
)

// An Address is one e-mail address, as typed and as it counts.
type Address struct {
	Typed string   // as typed, outer blanks off: mail goes here, unchanged
	Key   string   // what counts for duplicates; 3 to 254 bytes, UTF-8 in NFC
	Steps []string // what makes Key differ from Typed, in words
}

// ErrAddress is the cause of every error of [Canonical]; an [Error]
// says more.
var ErrAddress = errors.New("not an e-mail address that can be taken")

// An Error says what to do about an address, never what it was.
type Error struct{ Sentence string }

func (e *Error) Error() string { return "read address: " + e.Sentence }

// Is makes errors.Is(err, ErrAddress) true.
func (e *Error) Is(target error) bool { return target == ErrAddress }

// The messages for an address.
const (
	addressEmpty  = "Please write your e-mail address."
	addressForm   = "Please write the whole address, such as robin@example.com."
	addressAt     = "An address has one @, such as robin@example.com."
	addressDot    = "The part after the @ needs a dot, such as example.com."
	addressDots   = "There is a dot too many, or one at the wrong place, before the @."
	addressHidden = "There is an invisible character in the address. Please type it anew."
	addressLong   = "That is longer than an address can be. Please check it."
	addressLocal  = "Before the @ we can only take plain letters, digits and signs, because we could not write to others."
	addressQuoted = "We can't take addresses with quotation marks."
)

// whatwg is the form that a browser's own e-mail field takes (WHATWG HTML,
// "valid e-mail address"). It lets odd dots and single labels through; see
// [checkForm].
var whatwg = regexp.MustCompile("^[a-zA-Z0-9.!#$%&'*+/=?^_`{|}~-]+@[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?(?:\\.[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?)*$")

// Octets that an address may have (RFC 5321, sections 4.5.3.1.1 and .3; RFC
// 3696, erratum 1690).
const (
	maxLocal   = 64
	maxAddress = 254
)

// Canonical reads an address that somebody wants to enter with. It refuses
// what nobody could write to from here, as an [Error]; otherwise the
// result's Key is the one for duplicates.
func Canonical(typed string) (Address, error) {
	a, err := Fold(typed)
	if err != nil {
		return Address{}, err
	}
	if err := checkForm(a.Typed); err != nil {
		return Address{}, err
	}
	return a, nil
}

// checkForm is the form's own judgement, on top of what [Fold] refuses.
func checkForm(typed string) error {
	local, domain, _ := cutLast(typed)
	ascii, err := toASCII(domain)
	if err != nil {
		return &Error{addressForm}
	}
	whole := local + "@" + ascii
	switch {
	case strings.Contains(local, `"`):
		return &Error{addressQuoted}
	case strings.ContainsFunc(local, func(r rune) bool { return r > unicode.MaxASCII }):
		return &Error{addressLocal} // RFC 6531 needs SMTPUTF8 at every hop
	case strings.Contains(local, "@"):
		return &Error{addressAt}
	case !whatwg.MatchString(whole):
		return &Error{addressForm}
	case local[0] == '.' || strings.HasSuffix(local, ".") || strings.Contains(local, ".."):
		return &Error{addressDots} // RFC 5322, section 3.2.3: dot-atom
	case len(local) > maxLocal || len(whole) > maxAddress:
		return &Error{addressLong}
	case !strings.Contains(ascii, "."):
		return &Error{addressDot} // useless for a winner, though the pattern takes it
	case allDigits(ascii[strings.LastIndexByte(ascii, '.')+1:]):
		return &Error{addressForm} // RFC 3696, section 2: no top-level domain is all digits
	}
	return nil
}

// dotless lists the domains whose provider ignores dots before the @, with
// the domain that its names are one with (common practice: public write-ups
// named in testdata/facts/email.md).
var dotless = map[string]string{"gmail.com": "gmail.com", "googlemail.com": "gmail.com"}

// Fold makes the key of an address, also of one that a form would refuse, such
// as one with other letters than ASCII before the @. Two addresses with one
// key count as one person's. Steps 1 to 7 of testdata/facts/email.md, section
// 5: hyphen, underscore, accents, look-alike letters and digits stay apart.
func Fold(typed string) (Address, error) {
	a := Address{Typed: strings.Trim(typed, " \t\n\f\r\u00a0")}
	if a.Typed == "" {
		return Address{}, &Error{addressEmpty}
	}
	if !utf8.ValidString(a.Typed) || strings.ContainsFunc(a.Typed, invisible) {
		return Address{}, &Error{addressHidden}
	}
	local, domain, found := cutLast(a.Typed)
	if !found {
		return Address{}, &Error{addressAt}
	}
	ascii, err := toASCII(domain)
	if err != nil || local == "" || ascii == "" {
		return Address{}, &Error{addressForm}
	}
	a.Key = a.foldLocal(local, ascii) + "@" + a.foldDomain(domain, ascii)
	if len(a.Key) < 3 || len(a.Key) > maxAddress || strings.ContainsFunc(a.Key, unicode.IsSpace) {
		return Address{}, &Error{addressForm}
	}
	return a, nil
}

func (a *Address) foldLocal(local, domain string) string {
	if unquoted, ok := unquote(local); ok {
		local = unquoted
		a.step("The quotation marks don't count.")
	}
	lower := norm.NFC.String(strings.ToLower(norm.NFC.String(local)))
	if lower != local {
		a.step("Capital letters don't count.")
	}
	if plus := strings.IndexByte(lower, '+'); plus > 0 {
		lower = lower[:plus]
		a.step("What stands between + and @ doesn't count.")
	}
	if _, ok := dotless[domain]; ok && strings.Contains(lower, ".") {
		if bare := strings.ReplaceAll(lower, ".", ""); bare != "" {
			lower = bare
			a.step("At this provider dots before the @ don't count.")
		}
	}
	return lower
}

func (a *Address) foldDomain(typed, ascii string) string {
	if ascii != strings.ToLower(typed) {
		a.step("The part after the @ is written in its international form.")
	} else if ascii != typed {
		a.step("Capital letters don't count.")
	}
	if alias, ok := dotless[ascii]; ok && alias != ascii {
		a.step("This provider's two domains are one.")
		return alias
	}
	return ascii
}

// step notes a folding once.
func (a *Address) step(words string) {
	for _, have := range a.Steps {
		if have == words {
			return
		}
	}
	a.Steps = append(a.Steps, words)
}

// profile is UTS 46, non-transitional (ß stays ß), as registries' names and
// nothing else: no underscore, but a double hyphen anywhere.
var profile = idna.New(idna.MapForLookup(), idna.Transitional(false),
	idna.StrictDomainName(true), idna.CheckHyphens(false), idna.BidiRule())

func toASCII(domain string) (string, error) {
	ascii, err := profile.ToASCII(domain)
	return strings.ToLower(ascii), err
}

// unquote takes a quoted local part apart (RFC 5321, section 4.1.2: all quoted
// forms are equal to each other and to the unquoted form).
func unquote(local string) (string, bool) {
	if len(local) < 3 || local[0] != '"' || local[len(local)-1] != '"' {
		return "", false
	}
	var b strings.Builder
	escaped := false
	for _, r := range local[1 : len(local)-1] {
		if r == '\\' && !escaped {
			escaped = true
			continue
		}
		b.WriteRune(r)
		escaped = false
	}
	return b.String(), b.Len() > 0
}

// invisible reports control and format characters, zero-width ones among them.
func invisible(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) }

func cutLast(s string) (local, domain string, found bool) {
	i := strings.LastIndexByte(s, '@')
	if i < 0 {
		return "", "", false
	}
	return s[:i], s[i+1:], true
}

func allDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }
