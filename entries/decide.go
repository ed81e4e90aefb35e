package entries

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// Decide reads a form by the terms at the time now. It is pure. The window
// comes first: outside it nothing else is asked. Then a refusal wins over
// fields to put right, so that nobody corrects a form in vain.
func Decide(f Form, t giveaway.Terms, now time.Time) Verdict {
	d := decision{form: f, terms: t}
	d.readEmail()
	d.readSize()
	d.readPlaces()
	d.readName()
	d.readAge()
	d.readBarred()
	d.readRules()
	d.readAnswers()
	d.Entry.Step = ticked(f.Step)
	if window := eligibility.Window(now, t.Opens.UTC, t.Closes.UTC); !window.OK {
		d.Refusal = &window
	}
	if d.Refusal != nil {
		d.Fields = nil
	}
	return d.Verdict
}

// A decision is a verdict in the making.
type decision struct {
	Verdict
	form  Form
	terms giveaway.Terms
}

func (d *decision) problem(field, text string, offers ...Offer) {
	d.Fields = append(d.Fields, Problem{Field: field, Text: text, Offers: offers})
}

// judge takes the answer of one rule: a field to fill in, or a refusal. The
// first refusal stands. It reports whether the answer was yes.
func (d *decision) judge(field string, a eligibility.Decision) bool {
	switch {
	case a.OK:
	case a.Field():
		d.problem(field, a.Reason)
	case d.Refusal == nil:
		d.Refusal = &a
	}
	return a.OK
}

func (d *decision) readEmail() {
	meant, near := Suggest(d.form.Email)
	var offers []Offer
	if near {
		offers = []Offer{{Text: meant, Values: map[string]string{"email": meant}}}
	}
	a, err := Canonical(d.form.Email)
	if err != nil {
		d.problem("email", sentence(err), offers...)
		return
	}
	d.Entry.Key, d.Entry.Typed = a.Key, a.Typed
	d.judge("email", eligibility.Barred(a.Key, barredKeys(d.terms.Barred)))
	if !near {
		return
	}
	hint := Problem{"email", "Did you mean " + meant + "? If your address is right, send the form again as it is.", offers}
	if strings.TrimSpace(d.form.EmailSeen) == a.Typed {
		d.Hints = append(d.Hints, hint)
	} else {
		d.Fields = append(d.Fields, hint)
	}
}

// barredKeys picks the addresses out of the terms' list of people who may not
// win; the rest are sentences for people to read.
func barredKeys(barred []string) []string {
	var keys []string
	for _, b := range barred {
		if a, err := Fold(b); err == nil && !strings.ContainsAny(b, " \t") {
			keys = append(keys, a.Key)
		}
	}
	return keys
}

func (d *decision) readAge() {
	choice := yearsToRange(d.form.Age, d.terms.MinAge)
	if !d.judge("age", eligibility.Age(d.terms.MinAge, choice)) {
		return
	}
	for _, r := range eligibility.AgeRanges(d.terms.MinAge) {
		if c := strings.TrimSpace(choice); strings.EqualFold(c, r.Code) || strings.EqualFold(c, r.Label) {
			d.Entry.AgeRange = r.Code
		}
	}
}

// yearsToRange turns a number of years, as other forms ask for it, into the
// code of the range that it lies in; anything else is left as it is.
func yearsToRange(age string, least int) string {
	ranges := eligibility.AgeRanges(least)
	digits := strings.TrimSuffix(strings.TrimSpace(age), "+")
	if len(ranges) != 2 || digits == "" || len(digits) > 3 || !allDigits(digits) {
		return age
	}
	years := 0
	for _, c := range digits {
		years = years*10 + int(c-'0')
	}
	if years < least {
		return ranges[0].Code
	}
	return ranges[1].Code
}

func (d *decision) readRules() { d.judge("rules", eligibility.Rules(ticked(d.form.Rules))) }

// readBarred asks for the tick that one is none of those who may not win.
func (d *decision) readBarred() {
	if d.terms.BarredTick && !ticked(d.form.Barred) {
		d.problem("barred", "Please tick this if it is so. Whoever is one of them can’t win, and can’t enter.")
	}
}

const maxAnswer = 500 // characters

func (d *decision) readAnswers() {
	asked := map[string]bool{}
	for _, q := range d.terms.Questions {
		asked[q.Key] = true
		answer := strings.TrimSpace(strings.ReplaceAll(d.form.Answers[q.Key], "\r\n", "\n"))
		if text := checkAnswer(q, answer); text != "" {
			d.problem("answers."+q.Key, text)
			continue
		}
		if answer != "" {
			if d.Entry.Answers == nil {
				d.Entry.Answers = map[string]string{}
			}
			d.Entry.Answers[q.Key] = answer
		}
	}
	var strange []string
	for key := range d.form.Answers {
		if !asked[key] {
			strange = append(strange, key)
		}
	}
	if len(strange) > 0 {
		d.problem("answers", "There is an answer to a question that isn't asked here. Leave it out.")
	}
}

// checkAnswer returns what to do about an answer, "" if it is fine.
func checkAnswer(q giveaway.Question, answer string) string {
	switch {
	case answer == "" && q.Required:
		return "Please answer this."
	case answer == "":
		return ""
	case tooLong(answer, maxAnswer):
		return fmt.Sprintf("Please shorten this to %d characters.", maxAnswer)
	case q.Kind == giveaway.KindChoice && !slices.Contains(q.Choices, answer):
		return "Please choose one of the answers."
	case !plainText(answer):
		return "There is an invisible character in this. Please type it anew."
	}
	return ""
}

// ticked reports whether a tick box was ticked: a browser sends on, programs
// send true or yes.
func ticked(s string) bool {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "yes", "on", "true", "1", "y":
		return true
	}
	return false
}

// sentence returns the words for people that an error bears.
func sentence(err error) string {
	var address *AddressError
	if errors.As(err, &address) {
		return address.Sentence
	}
	return inputSentence(err)
}
