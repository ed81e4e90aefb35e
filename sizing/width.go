package sizing

import (
	"slices"
	"strings"
)

// ladder holds the width letters from narrow to wide. A repeated letter is the
// same thing as its count (AA is 2A). Source: Shoemakers Academy glossary,
// "Width"; Wikipedia, "Shoe size".
var ladder = []string{"4A", "3A", "2A", "A", "B", "C", "D", "E", "2E", "3E", "4E", "5E", "6E"}

// Ladder returns the thirteen canonical width letters, narrow to wide.
func Ladder() []string { return slices.Clone(ladder) }

// WidthRank is the place of a canonical width on the ladder, 0 for 4A to 12
// for 6E, and -1 for anything else.
func WidthRank(width string) int { return slices.Index(ladder, width) }

// words holds the width words from narrow to wide with the letter that each
// stands for. The men's letter is always two steps wider than the women's.
// Source: ShoeStores.com, "Shoe Widths Explained"; stepbystep.com for the first
// and the last row. The middle three are also what makers usually stock.
var words = []struct{ word, mens, womens string }{
	{"extra narrow", "2A", "4A"},
	{"narrow", "B", "2A"},
	{"standard", "D", "B"},
	{"wide", "2E", "D"},
	{"extra wide", "4E", "2E"},
	{"triple wide", "6E", "4E"},
}

// wordSteps is how many ladder steps a men's letter lies above the women's
// letter of the same word.
const wordSteps = 2

// WidthWord is the word for a canonical width: "narrow", "standard", "wide" …;
// "" for a letter between two words (C, E) and for anything unknown.
func WidthWord(system System, width string) string {
	for _, w := range words {
		if width != "" && width == wordLetter(system, w.word) {
			return w.word
		}
	}
	return ""
}

// StandardWidth is the letter of an ordinary shoe: D for men's, B for women's.
func StandardWidth(system System) string { return wordLetter(system, "standard") }

func wordLetter(system System, word string) string {
	for _, w := range words {
		switch {
		case w.word != word:
		case system == Mens:
			return w.mens
		case system == Womens:
			return w.womens
		}
	}
	return ""
}

// NextWider is the next wider width that makers usually stock: 2E after a
// men's D, since most skip every second letter (common practice, no source).
// It is false at the wide end. Run.Advise looks at the run's own widths.
func NextWider(system System, width string) (string, bool) {
	rank := WidthRank(width)
	for _, w := range words {
		letter := wordLetter(system, w.word)
		if rank >= 0 && WidthRank(letter) > rank {
			return letter, true
		}
	}
	return "", false
}

// aliases maps folded spellings of the width words to the word. Source:
// testdata/facts/sizing.json, widths.word_abbreviations, and the words
// themselves. A lone S is left out on purpose: it is "slim" in some lists and
// "standard" in others.
var aliases = map[string]string{
	"SS": "extra narrow", "XN": "extra narrow", "EXTRANARROW": "extra narrow", "XNARROW": "extra narrow", "SLIM": "extra narrow",
	"N": "narrow", "NARROW": "narrow",
	"M": "standard", "R": "standard", "MED": "standard", "REG": "standard",
	"STANDARD": "standard", "MEDIUM": "standard", "REGULAR": "standard", "NORMAL": "standard",
	"W": "wide", "WIDE": "wide",
	"WW": "extra wide", "XW": "extra wide", "EW": "extra wide", "EXTRAWIDE": "extra wide", "XWIDE": "extra wide",
	"XXW": "triple wide", "XXWIDE": "triple wide", "TRIPLEWIDE": "triple wide",
}

// ParseWidth reads a width as people write it: a letter in any case, repeated
// or counted ("EE", "2e", "E E"), a word or a usual abbreviation ("wide",
// "XW"), or two that mean the same ("D (medium)", "B/M"). A word means another
// letter on the women's scale than on the men's. The result is canonical; the
// error is an *InputError.
func ParseWidth(system System, text string) (string, error) {
	if len(text) > maxInput {
		return "", &InputError{Malformed, widthHelp}
	}
	var found string
	for _, part := range strings.FieldsFunc(text, isDivider) {
		folded := foldWidth(part)
		if folded == "" {
			continue
		}
		width, err := readWidth(system, folded)
		if err != nil {
			return "", err
		}
		if found != "" && found != width {
			return "", &InputError{Malformed, widthHelp}
		}
		found = width
	}
	if found == "" {
		return "", &InputError{Empty, "Please choose a width."}
	}
	return found, nil
}

const widthHelp = "That is not a width we know. Write a letter such as B, D or 2E, or a word such as narrow, standard or wide."

func isDivider(r rune) bool { return strings.ContainsRune("()/,", r) }

func foldWidth(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case isBlank(r) || strings.ContainsRune("-_.\u2010\u2011", r):
			return -1
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return r
	}, text)
}

func readWidth(system System, folded string) (string, error) {
	if folded == "S" {
		return "", &InputError{Ambiguous, "S means slim in some lists and standard in others. Please write narrow or standard."}
	}
	if word, ok := aliases[folded]; ok {
		if letter := wordLetter(system, word); letter != "" {
			return letter, nil
		}
	}
	if letter := foldLetters(folded); WidthRank(letter) >= 0 {
		return letter, nil
	}
	return "", &InputError{Malformed, widthHelp}
}

// foldLetters turns AA into 2A, EEEE into 4E, 1E into E, and leaves the rest.
func foldLetters(folded string) string {
	if folded == "1A" || folded == "1E" {
		return folded[1:]
	}
	n := len(folded)
	if n < 2 || n > 6 || folded != strings.Repeat(folded[:1], n) {
		return folded
	}
	return string(rune('0'+n)) + folded[:1]
}
