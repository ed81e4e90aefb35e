package giveaway

import "strings"

// PrizeWithin is the prize as it stands inside a sentence: "a pair of boots"
// for "A pair of boots". Only an article or a number word loses its capital;
// a name keeps it.
func (t Terms) PrizeWithin() string {
	first, rest, _ := strings.Cut(t.Prize, " ")
	switch first {
	case "A", "An", "The", "One", "Two", "Three":
		return strings.ToLower(first) + " " + rest
	}
	return t.Prize
}
