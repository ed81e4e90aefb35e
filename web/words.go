package web

import (
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

const wordFieldsWrong = "Some fields need another look."

// fileWords say what each published file is, in the plain word that pages
// always use for it. The file's own name stands small beside it on the check
// page only.
var fileWords = map[string]string{
	draw.OpeningFile:   "the posted terms",
	draw.RulesFile:     "the rules",
	draw.RollFile:      "the list of tickets",
	draw.ExcludedFile:  "the tickets that are not in the draw, each with its reason",
	draw.FreezeFile:    "the fingerprint of the list, signed before the draw",
	draw.RecordFile:    "the draw’s result",
	draw.OutcomeFile:   "who gets the prize",
	draw.CancelledFile: "why there will be no draw",
}

// fileOrder is the order in which files appear.
var fileOrder = []string{draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile,
	draw.FreezeFile, draw.RecordFile, draw.OutcomeFile, draw.CancelledFile}

// reasonWords say why a ticket is not in the draw.
var reasonWords = map[string]string{
	draw.Duplicate:   "the same person had entered already",
	draw.Unconfirmed: "the address was not confirmed",
	draw.Region:      "the prize can’t go where it would have to go",
	draw.Withdrawn:   "it was withdrawn by the person who entered",
	draw.Ineligible:  "the rules don’t allow this entry",
}

// passWords say why a place was skipped.
var passWords = map[string]string{
	draw.NoReply:    "no answer came in time",
	draw.Declined:   "the prize was declined",
	draw.Ineligible: "the rules have it so", // see skippedWhy
	draw.Withdrawn:  "the entry was withdrawn",
}

// cancelWords say why a giveaway was called off; other codes are shown as
// they stand in the file.
var cancelWords = map[string]string{
	"secret-lost":     "the secret number was lost",
	"prize-withdrawn": "the prize is no longer there",
	"postponed":       "it was put off",
}

func wordOr(words map[string]string, code string) string {
	if w := words[code]; w != "" {
		return w
	}
	return code
}

// A Stamp is a time on a page: words first, the machine's form for the
// script that adds the viewer's own time.
type Stamp struct {
	Before string // words before the time: "Closes"
	Words  string // "Friday 11 December 2026, 8:30 pm New York time"
	UTC    string // RFC 3339; "": no time, Before is all
}

// stamp writes an instant out in a zone.
func stamp(before string, t time.Time, zone string) Stamp {
	m, err := giveaway.MomentAt(t, zone)
	if err != nil {
		m, _ = giveaway.MomentAt(t, "UTC") // always known
	}
	return Stamp{before, timeWords(m), m.UTC.Format(time.RFC3339)}
}

// timeWords turns "8:30 pm (New York)" into "8:30 pm New York time".
func timeWords(m giveaway.Moment) string {
	words, place, ok := strings.Cut(strings.TrimSuffix(m.Words(), ")"), " (")
	switch {
	case !ok:
		return m.Words()
	case place == "UTC":
		return words + " UTC"
	}
	return words + " " + place + " time"
}

// number writes 1204 as "1,204".
func number(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// count writes "1 ticket", "1,204 tickets".
func count(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return number(n) + " " + many
}

var ordinals = []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}

// ordinal writes 3 as "third" and 23 as "23rd".
func ordinal(n int64) string {
	if n > 0 && n < int64(len(ordinals)) {
		return ordinals[n]
	}
	end := "th"
	if tens := n / 10 % 10; tens != 1 {
		switch n % 10 {
		case 1:
			end = "st"
		case 2:
			end = "nd"
		case 3:
			end = "rd"
		}
	}
	return number(n) + end
}

// capitalized gives a sentence its first letter.
func capitalized(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}

// lowered begins a sentence as it stands within another; it has at least a letter.
func lowered(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// countryIn names a country inside a sentence: "the United States", "Canada".
func countryIn(code string) string {
	name := eligibility.CountryName(code)
	for _, with := range []string{"United ", "Netherlands", "Philippines", "Bahamas", "Gambia", "Maldives"} {
		if strings.HasPrefix(name, with) {
			return "the " + name
		}
	}
	if strings.HasSuffix(name, " Islands") || strings.HasSuffix(name, " Republic") {
		return "the " + name
	}
	return name
}

// placeName names a place: "Maine, United States", "Germany".
func placeName(p eligibility.Place) string {
	country := eligibility.CountryName(p.Country)
	if state := eligibility.StateName(p.Country, p.State); state != "" {
		return state + ", " + country
	}
	return country
}
