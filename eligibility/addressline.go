package eligibility

import (
	"slices"
	"strings"
)

// LineKind says what a US delivery line is, since carriers differ in what they
// reach: only USPS delivers to a PO Box, General Delivery or military post.
type LineKind string

const (
	LineStreet          LineKind = "street"
	LinePOBox           LineKind = "po_box"
	LinePrivateMailbox  LineKind = "private_mailbox"
	LineAmbiguousHash   LineKind = "ambiguous_hash" // "# 456" after a street: a private mailbox or a flat, ask
	LineRuralRoute      LineKind = "rural_route"    // RR or HC: ordinary USPS delivery
	LineGeneralDelivery LineKind = "general_delivery"
	LineMilitary        LineKind = "military"
	LineMilitaryShip    LineKind = "military_ship"
)

// boxWords are the words that mean a PO Box before a number, longest first.
// Source: USPS Publication 28, sections 281 and 283; APARTADO from memory.
var boxWords = [][]string{
	{"POST", "OFFICE", "BOX"}, {"P", "O", "BOX"}, {"FIRM", "CALLER"}, {"PO", "BOX"},
	{"POB"}, {"CALLER"}, {"BIN"}, {"LOCKBOX"}, {"DRAWER"}, {"APARTADO"},
}

// KindOfLine classifies a delivery line. It is a hint for a question to the
// winner: "12 Boxwood Ct", "1 Post Office Sq" and "5 Drawer Hill Rd" are
// streets, and so is every line that it doesn't recognise.
func KindOfLine(line string) LineKind {
	words := lineWords(line)
	switch {
	case isPOBox(words):
		return LinePOBox
	case slices.Equal(words, []string{"GENERAL", "DELIVERY"}):
		return LineGeneralDelivery
	case isBoxed(words, "PSC", "CMR", "UNIT"): // DMM 703.2.2.1, 31 May 2015
		return LineMilitary
	case len(words) > 1 && (words[0] == "USS" || words[0] == "USNS" || words[0] == "USCGC"):
		return LineMilitaryShip
	case isBoxed(words, "RR", "HC"): // Publication 28, sections 24 and 25
		return LineRuralRoute
	}
	return mailboxKind(words)
}

// lineWords folds case, drops dots and commas and gives # a word of its own.
func lineWords(line string) []string {
	r := strings.NewReplacer(".", " ", ",", " ", "#", " # ")
	return strings.Fields(r.Replace(strings.ToUpper(line)))
}

func isPOBox(words []string) bool {
	for _, w := range boxWords {
		if len(words) == len(w)+1 && slices.Equal(words[:len(w)], w) && isNumber(words[len(w)]) {
			return true
		}
	}
	return false
}

// isBoxed recognises "RR 2 BOX 152" and the like.
func isBoxed(words []string, first ...string) bool {
	return len(words) == 4 && slices.Contains(first, words[0]) &&
		isNumber(words[1]) && words[2] == "BOX" && isNumber(words[3])
}

// mailboxKind looks at the end of a street line (Publication 28, section 284
// in older editions, 285 from 2020).
func mailboxKind(words []string) LineKind {
	if n := len(words); n > 2 && isNumber(words[n-1]) {
		switch words[n-2] {
		case "PMB":
			return LinePrivateMailbox
		case "#":
			return LineAmbiguousHash
		}
	}
	return LineStreet
}

// isNumber takes a box number: digits with letters allowed, "12A".
func isNumber(word string) bool { return strings.ContainsAny(word, "0123456789") }
