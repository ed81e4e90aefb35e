package claims

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// Decide reads a claim form by the terms and the entry. It is pure. No
// problems: the answer is accepted, but for By and At, which are the
// caller's. A doubt is a problem until its key stands in Form.Seen; the
// answer's Typed.Seen has the keys of all that were asked, for the next try.
func Decide(f Form, t giveaway.Terms, entry entries.Stored) (Answer, []Problem) {
	d := decision{form: f, terms: t, entry: entry}
	d.Typed = f
	if ticked(f.Decline) {
		d.Declined = true
		return d.Answer, nil
	}
	d.readSize()
	d.readName()
	d.readCareOf()
	d.readAddress()
	d.readPhone()
	d.readStatements()
	d.Typed.Seen = d.seen()
	return d.Answer, d.problems
}

// A decision is an answer in the making.
type decision struct {
	Answer
	form     Form
	terms    giveaway.Terms
	entry    entries.Stored
	problems []Problem
	asked    []Doubt // all doubts, seen or not
}

func (d *decision) problem(field, text string, offers ...Offer) {
	d.problems = append(d.problems, Problem{Field: field, Text: text, Offers: offers})
}

// doubt asks, unless the same was asked before about the same words.
func (d *decision) doubt(q Doubt) {
	d.asked = append(d.asked, q)
	if !slices.Contains(strings.Fields(d.form.Seen), q.Key) {
		d.problem(q.Field, q.Text, q.Offers...)
	}
}

// seen are the keys of all doubts asked so far, with blanks between.
func (d *decision) seen() string {
	var keys []string
	for _, q := range d.asked {
		keys = append(keys, q.Key)
	}
	for _, old := range strings.Fields(d.form.Seen) {
		if len(keys) < maxSeen && len(old) == keyLen && !slices.Contains(keys, old) {
			keys = append(keys, old)
		}
	}
	return strings.Join(keys, " ")
}

const (
	keyLen  = 16 // hex digits
	maxSeen = 40 // more than one form can raise
)

// newDoubt makes a question about certain words; other words make another
// question, which is asked again.
func newDoubt(field, text string, about []string, offers ...Offer) Doubt {
	sum := sha256.Sum256([]byte(field + "\n" + text + "\n" + upper(strings.Join(about, "\n"))))
	return Doubt{Key: hex.EncodeToString(sum[:])[:keyLen], Field: field, Text: text, Offers: offers}
}

// Limits of what is typed, in characters. Common practice, no source.
const (
	maxName  = 80
	maxLine  = 60
	maxPlace = 60
	maxCode  = 20
)

func (d *decision) readName() {
	d.Name = tidyText(d.form.Name)
	switch text := checkText(d.form.Name, "the name", maxName); {
	case text != "":
		d.problem("name", text)
	case d.Name == "":
		d.problem("name", "Please write your full name, as it should stand on the parcel.")
	case !strings.Contains(d.Name, " "):
		d.doubt(newDoubt("name", "Carriers ask for a first and a last name. Is this the whole name?", []string{d.Name}))
	}
}

func (d *decision) readCareOf() {
	name := tidyText(d.form.CareOf)
	for _, lead := range []string{"c/o ", "care of "} {
		if len(name) > len(lead) && strings.EqualFold(name[:len(lead)], lead) {
			name = name[len(lead):]
		}
	}
	d.CareOf = name
	if text := checkText(d.form.CareOf, "the friend’s name", maxName); text != "" {
		d.problem("care_of", text)
	}
}

// readStatements reads the two ticks.
func (d *decision) readStatements() {
	d.Adult, d.Eligible = ticked(d.form.Adult), ticked(d.form.Eligible)
	if d.terms.MinAge > 0 && !d.Adult {
		d.problem("adult", "Please tick this if you are "+itoa(d.terms.MinAge)+" or over. If you are not, write to "+d.terms.Channel+".")
	}
	if !d.Eligible {
		d.problem("eligible", "Please tick this if the rules let you win. If you are not sure, write to "+d.terms.Channel+".")
	}
}

// readAddress reads and judges the postal address.
func (d *decision) readAddress() {
	d.Address = d.form.Address()
	tidy, problems := CheckAddress(d.Address, d.terms)
	d.problems = append(d.problems, problems...)
	d.Tidy = tidy
	d.Address.Country, d.Address.State = normalPlace(d.Address)
	if len(problems) > 0 {
		return
	}
	for _, q := range tidy.Questions {
		d.doubt(q)
	}
	d.compareWithEntry()
}

// Address is the address of the form as typed.
func (f Form) Address() Address {
	a := Address{City: tidyText(f.City), State: tidyText(f.State), Postal: tidyText(f.Postal), Country: tidyText(f.Country)}
	for _, line := range []string{f.Line1, f.Line2, f.Line3} {
		if line = tidyText(line); line != "" {
			a.Lines = append(a.Lines, line)
		}
	}
	return a
}

// compareWithEntry asks where the address is not the one that was entered for.
func (d *decision) compareWithEntry() {
	entry := d.entry.Entry
	at := eligibility.Place{Country: d.Address.Country, State: d.Address.State}
	if was, is := eligibility.Fold(entry.Ship).Country, eligibility.Fold(at).Country; was != is && was != "" {
		d.doubt(newDoubt("country", "The entry was for a parcel to "+eligibility.CountryName(was)+"; this address is in "+eligibility.CountryName(is)+". Is it right?",
			[]string{was, is}))
	}
	friend := d.terms.Region.Decide(entry.Live, at, entry.Friend || d.CareOf != "")
	switch {
	case friend.Code == eligibility.CodeAbroadWithoutFriend:
		d.problem("care_of", "Whose address is it? Please write your friend’s name, so that the carrier finds the door.")
	case entry.Friend && d.CareOf == "" && d.terms.Region.Decide(entry.Live, at, false).Code == eligibility.CodeAbroadWithoutFriend:
		d.doubt(newDoubt("care_of", "The entry was for a friend’s address. Please write the friend’s name, so that the carrier finds the door.", d.Address.Lines))
	}
}
