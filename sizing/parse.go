package sizing

import (
	"strings"
	"unicode"
)

// InputKind tells apart what is wrong with a typed value.
type InputKind string

const (
	Empty     InputKind = "empty"
	Malformed InputKind = "malformed"
	NotHalf   InputKind = "not-half"  // 9.25: sizes come in halves
	TooSmall  InputKind = "too-small" // below 1
	European  InputKind = "european"  // 33 to 60
	Length    InputKind = "length"    // above 60: centimetres or millimetres of something
	Ambiguous InputKind = "ambiguous" // it means two things: ask
)

// InputError says why a typed size, system or width was refused. Sentence is
// for the page, beside the field; it never repeats what was typed.
type InputError struct {
	Kind     InputKind
	Sentence string
}

func (e *InputError) Error() string { return "read size: " + string(e.Kind) }

// maxInput bounds what the parsers look at, in bytes.
const maxInput = 64

func isBlank(r rune) bool { return unicode.IsSpace(r) }

const sizeHelp = "Write the number on the label, for example 10 or 10.5."

// ParseSize reads a US size as people write it: "10", "10.5", "10,5", "10½",
// "10 1/2", with or without "US". Only whole and half sizes exist. The result
// lies between 1 and 32½; the error is an *InputError. Whether the number is
// usual for a system tells Size.Warning.
func ParseSize(text string) (Half, error) {
	if len(text) > maxInput {
		return 0, &InputError{Malformed, sizeHelp}
	}
	body := trimUS(text)
	if body == "" {
		return 0, &InputError{Empty, "Please write a size."}
	}
	digits := len(body) - len(strings.TrimLeft(body, "0123456789"))
	switch {
	case strings.HasPrefix(body, "eu"):
		return 0, european()
	case digits < 1 || digits > 3:
		return 0, &InputError{Malformed, sizeHelp}
	}
	half, err := readFraction(body[digits:])
	if err != nil {
		return 0, err
	}
	whole := 0
	for _, c := range body[:digits] {
		whole = whole*10 + int(c-'0')
	}
	return checkRange(Half(2*whole) + half)
}

func trimUS(text string) string {
	body := strings.ToLower(strings.TrimFunc(text, isBlank))
	body = strings.TrimPrefix(body, "us")
	body = strings.TrimSuffix(body, "us")
	return strings.TrimFunc(body, isBlank)
}

// readFraction reads what follows the whole number's digits and returns 0 or 1
// halves. "101/2" stays wrong: without a gap only the sign ½ is clear.
func readFraction(rest string) (Half, error) {
	if rest == "" {
		return 0, nil
	}
	if rest[0] == '.' || rest[0] == ',' {
		return readDecimal(rest[1:])
	}
	switch strings.TrimLeftFunc(rest, func(r rune) bool { return isBlank(r) || r == '-' }) {
	case "½", "1/2", "1⁄2":
		return 1, nil
	case "¼", "¾", "⅓", "⅔", "1/4", "3/4", "1/3", "2/3":
		return 0, notHalf()
	}
	return 0, &InputError{Malformed, sizeHelp}
}

// readDecimal takes one or two digits, so that "1,000" is not read as 1.
func readDecimal(digits string) (Half, error) {
	switch digits {
	case "0", "00":
		return 0, nil
	case "5", "50":
		return 1, nil
	}
	if len(digits) < 1 || len(digits) > 2 || strings.Trim(digits, "0123456789") != "" {
		return 0, &InputError{Malformed, sizeHelp}
	}
	return 0, notHalf()
}

func notHalf() error {
	return &InputError{NotHalf, "US sizes come in whole and half sizes. Write the nearest one, for example 9 or 9.5."}
}

func checkRange(h Half) (Half, error) {
	switch {
	case h < minHalf:
		return 0, &InputError{TooSmall, sizeHelp}
	case h <= maxHalf:
		return h, nil
	case h <= 120:
		return 0, european()
	}
	return 0, &InputError{Length, "There is no such US size; it may be a length in millimetres. Please write the US size."}
}

func european() error {
	return &InputError{European, "That looks like a European size. Please write the US size."}
}

// systemNames maps folded spellings to the system.
var systemNames = map[string]System{
	"m": Mens, "man": Mens, "men": Mens, "mens": Mens,
	"w": Womens, "woman": Womens, "women": Womens, "womens": Womens,
}

// ParseSystem reads "mens", "Men's", "women’s", "W" and the like. The error is
// an *InputError; for "unisex" it says what such shoes are usually numbered on
// (common practice, no source) and asks.
func ParseSystem(text string) (System, error) {
	if len(text) > maxInput {
		return "", &InputError{Malformed, "Please choose men’s or women’s."}
	}
	folded := strings.Map(func(r rune) rune {
		if isBlank(r) || strings.ContainsRune("'’‘`´", r) {
			return -1
		}
		return unicode.ToLower(r)
	}, text)
	if s, ok := systemNames[folded]; ok {
		return s, nil
	}
	switch folded {
	case "":
		return "", &InputError{Empty, "Please choose men’s or women’s."}
	case "u", "unisex":
		return "", &InputError{Ambiguous, "Unisex shoes usually carry men’s numbers. Please choose men’s or women’s."}
	}
	return "", &InputError{Malformed, "Please choose men’s or women’s."}
}
