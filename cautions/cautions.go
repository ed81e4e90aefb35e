// Package cautions reminds a creator of what to look at before a giveaway is
// posted. It gives no legal advice, and no terms are ever called good: each
// caution says what raised it, what to look at, and where that comes from.
//
// # Where to start
//
// [For] takes the terms of a draft. [Changing] takes terms as they stand and
// as they would be after a change. [TaxThreshold] is the one figure that other
// packages need too.
//
// # How it works
//
// The rules are data: rules.json, compiled strictly when the program starts.
// A rule's "when" is an expression over a few names (names.go), read from the
// terms or fixed because the programs settle them: everybody enters free and
// with the same chance, every ticket left out has a published reason, no mail
// is sent for advertising. Where a value is missing, what hangs on it is
// neither raised nor dropped: the caution about the missing value lists it.
//
// Source: testdata/facts/law.md, whose table H the ids, levels and conditions
// follow; "notes" in rules.json says where they differ.
package cautions

import (
	"slices"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A Level is how heavy a caution is.
type Level string

// The levels, heaviest first. Whoever goes on after a stop says why.
const (
	LevelStop    Level = "stop"
	LevelCaution Level = "caution"
	LevelMissing Level = "missing" // something to fill in
	LevelAsk     Level = "ask"     // a question that only people can answer
	LevelNote    Level = "note"
)

var levels = []Level{LevelStop, LevelCaution, LevelMissing, LevelAsk, LevelNote}

func order(l Level) int { return slices.Index(levels, l) }

// Lawyer stands with every list of cautions.
const Lawyer = "This is no legal advice. Ask a lawyer where you live."

// A Caution is something to look at.
type Caution struct {
	Code   string // of the facts: "L-A9a"
	Level  Level
	Why    string      // what raised it, with the values
	Text   string      // what to look at, a sentence or two
	Also   string      // what stands behind it, for who wants to know more; may be ""
	Source string      // where it comes from
	Looked string      // when that was looked up: "24 November 2026"; "": nothing was
	Mark   draw.Digest // of Code, Level, Why, Text and Also: a mark that it was read counts for exactly this text
}

// For returns the cautions about terms, stops first. The time now counts for
// the days that are left to file.
func For(t giveaway.Terms, now time.Time) []Caution {
	t = t.Starting(now)
	return raise(facts(t, t, now))
}

// Changing returns the cautions that a change of posted terms raises and that
// the terms as they were did not.
func Changing(was, t giveaway.Terms, now time.Time) []Caution {
	before := For(was, now)
	return slices.DeleteFunc(raise(facts(was, t, now)), func(c Caution) bool {
		return slices.ContainsFunc(before, func(b Caution) bool { return b.Mark == c.Mark })
	})
}

// raise evaluates all rules. The second round knows what could not be judged.
func raise(e env, words map[string]string) []Caution {
	open := unjudged(e)
	e["unjudged"] = len(open) > 0
	words["value.why"] = valueWhy(words["worth"], open)
	var all []Caution
	for _, r := range rules.Rules {
		if r.when(e) == yes {
			all = append(all, r.caution(e, words))
		}
	}
	slices.SortStableFunc(all, func(a, b Caution) int { return order(a.Level) - order(b.Level) })
	return all
}

// unjudged lists what the rules are about that hang on a value that is not
// known, each once. It sets the names of the rules themselves.
func unjudged(e env) []string {
	var about []string
	for _, r := range rules.Rules {
		switch r.when(e) {
		case maybe:
			if r.Level != LevelMissing && r.About != "" && !slices.Contains(about, r.About) {
				about = append(about, r.About)
			}
		case yes:
			e[r.ID] = true
		default:
			e[r.ID] = false
		}
	}
	return about
}

func (r rule) caution(e env, words map[string]string) Caution {
	c := Caution{Code: r.ID, Level: r.Level, Why: fillIn(r.Why, e, words), Text: r.Text, Also: r.Also, Source: r.Source}
	if !r.Unsourced {
		c.Looked = rules.Looked
	}
	c.Mark = draw.Hash([]byte("evenhand/caution/v1\n" + c.Code + "\n" + string(c.Level) + "\n" + c.Why + "\n" + c.Text + "\n" + c.Also))
	return c
}

// TaxThreshold is the sum in US dollars from which on prizes to one person in
// one year are usually reported in the United States, for prizes given in that
// year; known is false for a year whose sum was not found, and the last known
// one is returned. TaxSource says where it comes from.
func TaxThreshold(year int) (dollars int64, known bool) {
	for _, step := range rules.Tax.From {
		if year >= step.Year {
			dollars = step.Dollars
		}
	}
	return dollars, year <= rules.Tax.KnownUntil
}

// TaxKnownUntil is the last year whose sum [TaxThreshold] knows.
func TaxKnownUntil() int { return rules.Tax.KnownUntil }

// TaxSource is where the sums of [TaxThreshold] come from.
func TaxSource() string {
	return "Public Law 119-21 (4 July 2025), § 70433; looked up " + rules.Looked
}

// Whole is all that a caution says of what to look at, what explains it first.
func (c Caution) Whole() string { return strings.TrimPrefix(c.Also+" "+c.Text, " ") }

// Origin says where a caution comes from, in a sentence.
func (c Caution) Origin() string {
	if c.Looked == "" {
		return "It rests on this: " + c.Source + "."
	}
	return "Source: " + c.Source + ", looked up " + c.Looked + "."
}
