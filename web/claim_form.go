package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"evenhand/claims"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// claimOffers are the fields that the button of an offer may fill.
var claimOffers = []string{"system", "size", "width", "line1", "line2", "line3", "city", "state", "postal", "country"}

// decodeClaim reads what a browser sent of a claim form. Back says that the
// form is wanted again, not sent.
func decodeClaim(r *http.Request) (f claims.Form, back bool, err error) {
	if err := r.ParseForm(); err != nil {
		return f, false, unreadable(err)
	}
	v := r.PostForm
	takeInto(v, claimOffers)
	if picked, ok := readPick(v.Get("pick")); ok {
		v.Set("system", string(picked.System))
		v.Set("size", picked.Size.String())
		v.Set("width", picked.Width)
	}
	for name, to := range fieldsOf(&f) {
		*to = v.Get(name)
	}
	f.Seen = seenSent(v)
	if v.Get("pick") == "none" {
		f.Decline = "yes"
	}
	return f, v.Get("back") != "", nil
}

// seenSent are the questions that a form counts as seen. Who takes an offer
// answers that one question alone: those asked beside it are asked again.
func seenSent(v url.Values) string {
	if v.Has("take") {
		return v.Get("seen_before")
	}
	return v.Get("seen")
}

// fieldsOf are the fields of a form by their names.
func fieldsOf(f *claims.Form) map[string]*string {
	return map[string]*string{
		"system": &f.System, "size": &f.Size, "width": &f.Width, "name": &f.Name, "care_of": &f.CareOf,
		"line1": &f.Line1, "line2": &f.Line2, "line3": &f.Line3, "city": &f.City, "state": &f.State,
		"postal": &f.Postal, "country": &f.Country, "phone": &f.Phone, "adult": &f.Adult, "eligible": &f.Eligible,
		"decline": &f.Decline, "seen": &f.Seen, "sure": &f.Sure, "skill": &f.Skill,
	}
}

// hiddenOf carries a form over a page that shows it back.
func hiddenOf(f claims.Form) []pair {
	var all []pair
	for name, value := range fieldsOf(&f) {
		if *value != "" && name != "sure" {
			all = append(all, pair{name, *value})
		}
	}
	slices.SortFunc(all, func(a, b pair) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// A pick is a size as the value of a button or box: "mens|10.5|D".
func pickOf(s sizing.Size) string { return string(s.System) + "|" + s.Size.String() + "|" + s.Width }

func readPick(text string) (sizing.Size, bool) {
	parts := strings.Split(text, "|")
	if len(parts) != 3 {
		return sizing.Size{}, false
	}
	system, err := sizing.ParseSystem(parts[0])
	if err != nil {
		return sizing.Size{}, false
	}
	size, err := sizing.ParseSize(parts[1])
	if err != nil {
		return sizing.Size{}, false
	}
	width, err := sizing.ParseWidth(system, parts[2])
	return sizing.Size{System: system, Size: size, Width: width}, err == nil
}

// A claimForm is the part of a page that asks where to send the prize.
type claimForm struct {
	Size     *sizeFields // nil: something without sizes, or not asked here
	Can      string      // which sizes there are
	Advice   []string    // marked as advice, no promise
	Name     field
	CareOf   field
	Street   []field // three lines
	City     field
	State    field
	Postal   field
	Country  field
	Phone    field
	Adult    *field // nil: the terms set no age
	Eligible field
	Seen     string
	Before   string // what counted as seen in the form just sent
	NoPerson bool   // only the address is asked for
}

// claimState puts problems beside the fields, as on the entry form.
func claimState(problems []entries.Problem, sent bool) formState {
	for i := range problems {
		problems[i].Text = askAgain(problems[i].Text)
	}
	return formState{Verdict: entries.Verdict{Fields: problems}, Sent: sent}
}

// askAgain says how a question is answered. Questions end in a question mark;
// what has to be put right does not.
func askAgain(text string) string {
	if strings.HasSuffix(text, "?") {
		return text + " If it is right as it is, send the form again."
	}
	return text
}

// claimFormOf fills the form. The autofill names are those of the HTML
// standard, section "Autofill".
func claimFormOf(t giveaway.Terms, f claims.Form, st formState) claimForm {
	text := func(name, label, hint, value, auto string, needed bool) field {
		one := st.text(name, label, hint, value, auto)
		one.Needed = needed
		return one
	}
	c := claimForm{
		Name:   text("name", "Full name", "As it should stand on the parcel.", f.Name, "name", true),
		CareOf: text("care_of", "At a friend’s?", "Whose address it is, if it is not yours.", f.CareOf, "off", false),
		Street: []field{
			text("line1", "Street and number", "", f.Line1, "address-line1", true),
			text("line2", "Flat, unit", "", f.Line2, "address-line2", false),
			text("line3", "One more line, if you need it", "", f.Line3, "address-line3", false),
		},
		City:     text("city", "Town or city", "", f.City, "address-level2", true),
		Postal:   text("postal", "ZIP or postal code", "", f.Postal, "postal-code", false),
		Country:  text("country", "Country", "", f.Country, "country", true),
		Phone:    text("phone", "Phone", "For the carrier, if it can’t find the door. Nobody else uses it.", f.Phone, "tel", true),
		Eligible: st.tick("eligible", eligibleWords, "", f.Eligible),
		Seen:     f.Seen,
	}
	c.Country.Groups = countryGroups(f.Country, "Choose …", t.Region.Ship)
	c.State = claimStateField(t, f, st)
	c.Eligible.Needed = true
	if t.MinAge > 0 {
		adult := st.tick("adult", adultWords(t), "", f.Adult)
		adult.Needed = true
		c.Adult = &adult
	}
	if t.Sizes != nil {
		st.Form = entries.Form{System: f.System, Size: f.Size, Width: f.Width}
		c.Size, c.Can = sizeOf(t, st), capitalized(sizeWords(t))
	}
	return c
}

// What the winner says with a tick.
const eligibleWords = "The rules let me win."

func adultWords(t giveaway.Terms) string { return "I am " + number(int64(t.MinAge)) + " or over." }

// claimStateField is a list where every country that a parcel can go to has
// one, otherwise a field to type in.
func claimStateField(t giveaway.Terms, f claims.Form, st formState) field {
	ship := t.Region.Ship
	others := slices.ContainsFunc(ship, func(c string) bool { return eligibility.States(c) == nil })
	if len(ship) == 0 || others {
		return st.text("state", "State, province or region", "If addresses there have one.", f.State, "address-level1")
	}
	label := "State"
	if slices.Contains(ship, "CA") {
		label = "State or province"
	}
	return *stateField(st, "state", label, f.State, "address-level1", ship, "Choose …")
}

// addressAlone leaves only the address in the form.
func (c claimForm) addressAlone() claimForm {
	c.NoPerson, c.Size = true, nil
	return c
}

// takeInto puts the values of the offer whose button was pressed into their
// fields: without script the button itself brings them.
func takeInto(v url.Values, fields []string) {
	offer, err := url.ParseQuery(v.Get("take"))
	if err != nil {
		return
	}
	for name, values := range offer {
		if slices.Contains(fields, name) {
			v[name] = values
		}
	}
}

// A shown answer is one written out for reading.
type shownAnswer struct {
	Rows     []pair
	Label    []string // as it stands on the parcel
	Country  string
	Typed    []string // the address as it was typed
	Warnings []string
	Asked    []string // questions that were asked and answered by sending the same again
}

func showAnswer(a claims.Answer, t giveaway.Terms) shownAnswer {
	s := shownAnswer{Label: a.Label(), Country: a.Tidy.Country, Typed: typedLines(a), Warnings: a.Tidy.Warnings}
	add := func(name, value string) {
		if value != "" {
			s.Rows = append(s.Rows, pair{name, value})
		}
	}
	if t.Sizes != nil && !a.Size.IsZero() {
		add("Size", a.Size.String())
	}
	add("Phone", claims.PhoneShown(a.Phone, a.Address.Country))
	var said []string
	if a.Adult {
		said = append(said, "“"+adultWords(t)+"”")
	}
	if a.Eligible {
		said = append(said, "“"+eligibleWords+"”")
	}
	add("Ticked", strings.Join(said, " "))
	for _, q := range a.Tidy.Questions {
		s.Asked = append(s.Asked, q.Text)
	}
	return s
}

// beside writes the entered value beside the one that was answered.
func (s *shownAnswer) beside(name, entered string) {
	for i := range s.Rows {
		switch row := &s.Rows[i]; {
		case row.Name != name:
		case row.Value == entered:
			row.Value += ", as entered"
		default:
			row.Value += "; entered was " + entered
		}
	}
}

// typedLines are name and address as they were typed.
func typedLines(a claims.Answer) []string {
	lines := []string{a.Name}
	if a.CareOf != "" {
		lines = append(lines, "at "+a.CareOf)
	}
	lines = append(lines, a.Address.Lines...)
	lines = append(lines, strings.Join(strings.Fields(a.Address.City+" "+a.Address.State+" "+a.Address.Postal), " "))
	return append(lines, eligibility.CountryName(a.Address.Country))
}
