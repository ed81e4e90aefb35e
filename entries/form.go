package entries

import (
	"evenhand/eligibility"
	"evenhand/sizing"
)

// A Form is what was typed, untouched, whichever way it came. Ticks are ticked
// when they hold "yes", "on", "true" or "1".
type Form struct {
	Email     string            // the address
	System    string            // mens or womens, as sizing.ParseSystem reads it
	Size      string            // as sizing.ParseSize reads it
	Width     string            // as sizing.ParseWidth reads it
	Live      string            // country where the entrant lives, ISO 3166-1 alpha-2
	State     string            // state where they live, two letters, where the terms need it
	Ship      string            // country where the parcel goes; "": the same as Live
	ShipState string            // its state, where the terms need it; "": the same as State if Ship is Live
	Friend    string            // a tick: a friend there can receive it
	Name      string            // a name to be said on the show; may be ""
	Age       string            // the Code of one of eligibility.AgeRanges, or a number of years
	Rules     string            // a tick: rules accepted
	Barred    string            // a tick: they are none of the people who may not win; asked where the terms say so
	Step      string            // a tick: the creator's own steps done; it changes nothing
	Answers   map[string]string // by Question.Key

	// EmailSeen and SizeSeen are the values for which "did you mean …?" and
	// "the sponsor has no such size" were already shown: the same value sent
	// again is taken as it is. SizeSeen has the form of [Form.SizeTyped].
	EmailSeen, SizeSeen string

	// Once is the form's own value, as [NewOnce] makes it. The same form sent
	// again, with the same value and address, brings the same private link:
	// a double tap or a lost answer costs nobody the link. A value of any
	// other form counts as none.
	Once string
}

// An Entry is a form that was accepted.
type Entry struct {
	Key      string      // the address as it counts for duplicates
	Typed    string      // the address as typed, outer blanks off; mail goes here
	Size     sizing.Size // zero: a giveaway of something without sizes
	Live     eligibility.Place
	Ship     eligibility.Place
	Friend   bool
	Name     string
	AgeRange string // the Value of an AgeRange, or "" where age is not asked
	Step     bool
	Answers  map[string]string
}

// A Verdict is what came of a form. Fields not empty: something to put right.
// Refusal not nil: all fields were readable, but this person may not enter.
// Otherwise Entry is accepted.
type Verdict struct {
	Entry   Entry // filled in as far as the form could be read
	Fields  []Problem
	Refusal *eligibility.Decision
	Hints   []Problem // worth telling, but not in the way: known near misses, sizes to be settled
}

// OK reports whether the form was accepted.
func (v Verdict) OK() bool { return len(v.Fields) == 0 && v.Refusal == nil }

// A Problem is a sentence beside a field, with what may be taken instead.
type Problem struct {
	Field  string // the form's field name: email, size, … or answers.<key>
	Text   string // a plain sentence that says what to do
	Offers []Offer
}

// An Offer is one click's worth of fields.
type Offer struct {
	Text   string            // such as "10½ D"
	Values map[string]string // form field name → value to put in
}
