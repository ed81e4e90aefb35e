package cautions

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// wordNames are the placeholders that are no names of values.
var wordNames = []string{"value.why", "age.why", "opens", "sponsor.name", "question.tax", "question.pay", "question.personal"}

var placeholder = regexp.MustCompile(`\{([^{}]*)\}`)

// Placeholders for those of some places whose people may enter.
const (
	statesOf    = "states.of."
	countriesOf = "countries.of."
)

// checkWords checks the placeholders of a Why.
func checkWords(why string) error {
	for _, m := range placeholder.FindAllStringSubmatch(why, -1) {
		k, known := kinds[m[1]]
		if !(known && k == isNumber) && !slices.Contains(wordNames, m[1]) && !strings.HasPrefix(m[1], statesOf) && !strings.HasPrefix(m[1], countriesOf) {
			return fmt.Errorf("nothing is known for {%s}", m[1])
		}
	}
	return nil
}

// fillIn puts values in place of the placeholders.
func fillIn(why string, e env, words map[string]string) string {
	return placeholder.ReplaceAllStringFunc(why, func(s string) string {
		name := s[1 : len(s)-1]
		if codes, ok := strings.CutPrefix(name, statesOf); ok {
			return e.of("allow.states", strings.Split(codes, "."), usState)
		}
		if codes, ok := strings.CutPrefix(name, countriesOf); ok {
			return e.of("allow.countries", strings.Split(codes, "."), eligibility.CountryName)
		}
		if n, ok := e[name].(*big.Rat); ok {
			return amount(name, n)
		}
		return words[name]
	})
}

// of names those of some codes that may enter.
func (e env) of(list string, codes []string, name func(string) string) string {
	var names []string
	for _, code := range codes {
		if slices.Contains(e[list].([]string), code) {
			names = append(names, name(code))
		}
	}
	return joined(names)
}

func usState(code string) string { return eligibility.StateName("US", code) }

// amount writes a number: a year plainly, a sum as "5,000.01".
func amount(name string, n *big.Rat) string {
	if name == "award.year" || name == "tax.known_until" {
		return n.RatString()
	}
	whole, cents, _ := strings.Cut(n.FloatString(2), ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if cents == "00" {
		return whole
	}
	return whole + "." + cents
}

// describe adds the words that come from the terms.
func describe(words map[string]string, t giveaway.Terms) {
	words["opens"] = inZone(t.Opens, t.Opens.UTC).Format("2 January 2006")
	words["sponsor.name"] = t.Sponsor
	words["age.why"] = "The least age is " + strconv.Itoa(t.MinAge) + "."
	if t.MinAge == 0 {
		words["age.why"] = "No least age is set, and nobody is asked for their age."
	}
	if t.Worth != nil {
		words["worth"] = t.Worth.Words()
	}
}

// valueWhy says which value is missing, and what can't be judged without it.
func valueWhy(worth string, open []string) string {
	why := "No retail value is given."
	if worth != "" {
		why = "The retail value is given as " + worth + "."
	}
	if len(open) > 0 {
		why += " So nobody here can judge these: " + joined(open) + "."
	}
	return why
}

func joined(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
