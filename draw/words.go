package draw

import (
	"regexp"
	"strings"

	"evenhand/draw/beacon"
)

// remarkWords are the table's patterns of remarks, each with the plain words
// for it.
var remarkWords = func() (all []struct {
	was *regexp.Regexp
	say string
}) {
	for _, r := range statement.Remarks {
		all = append(all, struct {
			was *regexp.Regexp
			say string
		}{regexp.MustCompile(r.Was), r.Say})
	}
	return all
}()

// InWords says a remark in the plain words of the table, its times and hashes
// as they were; another finding's text, and a remark that the table does not
// know, stay as they are.
func (f Finding) InWords() string {
	if f.Level != Remark {
		return f.Text
	}
	text := f.Text
	for _, r := range remarkWords {
		text = r.was.ReplaceAllString(text, r.say)
	}
	return strings.TrimSpace(text)
}

// OnPages fits a sentence of the statement into the words of pages: the
// protocol's event is the draw there.
func OnPages(said string) string {
	for _, r := range statement.Pages {
		said = strings.ReplaceAll(said, r.Was, r.Say)
	}
	return said
}

// weakOpening is why the posted terms alone make a draw weak, "" where they
// don't: the remark's text.
func weakOpening(o *Opening) string {
	switch b := o.Beacon; {
	case b == nil:
		return "weak: no beacon: whoever holds all secrets could have steered the draw, and no file shows that they are different people"
	case *b != Digest(beacon.Quicknet().Hash):
		return "weak: the beacon's chain is not quicknet: " + b.String()
	}
	return ""
}

func weakSecret(role string) string {
	return "weak: the secret of " + role + " was withheld: its holder, or the host by claiming it, could choose between two results"
}

// WeakWords says in plain words why these posted terms make a draw weak, ""
// where they don't.
func (o Opening) WeakWords() string { return Finding{Level: Remark, Text: weakOpening(&o)}.InWords() }

// WithheldWords says in plain words what a secret number that did not arrive
// means. who is its holder, as readers know them.
func WithheldWords(who string) string { return Finding{Level: Remark, Text: weakSecret(who)}.InWords() }
