package web

import "strings"

// Text is a stamp as a sentence.
func (s Stamp) Text() string { return s.Before + " " + s.Words + "." }

// zoneWords names a zone as times do: "New York time".
func zoneWords(zone string) string {
	if zone == "UTC" {
		return zone
	}
	return strings.ReplaceAll(zone[strings.LastIndexByte(zone, '/')+1:], "_", " ") + " time"
}

// many writes a number with its noun: "one ticket", "1,204 tickets".
func many(n int64, one, more string) string {
	switch n {
	case 0:
		return "no " + more
	case 1:
		return "one " + one
	}
	return number(n) + " " + more
}

// peopleIn is the sentence that the desk's headings begin with.
func peopleIn(n int64) string {
	switch n {
	case 0:
		return "Nobody is in yet."
	case 1:
		return "One person is in."
	}
	return number(n) + " people are in."
}
