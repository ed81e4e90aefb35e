package entries

import (
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// formFields lists the fields of a form that a column may hold, but for the
// answers.
var formFields = map[string]func(*Form) *string{
	"email": func(f *Form) *string { return &f.Email },
	"size":  func(f *Form) *string { return &f.Size }, "system": func(f *Form) *string { return &f.System },
	"width": func(f *Form) *string { return &f.Width },
	"live":  func(f *Form) *string { return &f.Live }, "state": func(f *Form) *string { return &f.State },
	"ship": func(f *Form) *string { return &f.Ship }, "ship_state": func(f *Form) *string { return &f.ShipState },
	"friend": func(f *Form) *string { return &f.Friend }, "name": func(f *Form) *string { return &f.Name },
	"age": func(f *Form) *string { return &f.Age }, "rules": func(f *Form) *string { return &f.Rules },
	"barred": func(f *Form) *string { return &f.Barred }, "step": func(f *Form) *string { return &f.Step },
}

const answersPrefix = "answers."

// A plan knows which cell of a row is what.
type plan struct {
	header []string
	at     map[string]int // field → cell; only fields that a column holds
	fill   Form
	when   time.Time // where no column holds a time
	zone   *time.Location
	terms  giveaway.Terms

	countries map[string]string // as the file writes them → code
}

func newPlan(header []string, cols Columns, t giveaway.Terms, o ImportOptions) (plan, error) {
	p := plan{header: header, at: map[string]int{}, fill: o.Fill, when: o.At, terms: t, countries: map[string]string{}}
	if p.fill.Barred == "" {
		p.fill.Barred = "yes"
	}
	if p.fill.Rules == "" {
		p.fill.Rules = "yes"
	}
	known := p.knownFields()
	for field := range cols {
		if !known[field] {
			return p, fmt.Errorf("there is no field %q to map a column to", field)
		}
	}
	var wrong []string
	for _, field := range sorted(known) {
		if problem := p.locate(field, cols); problem != "" {
			wrong = append(wrong, problem)
		}
	}
	for _, field := range p.missing() {
		if cols[field] == "" {
			wrong = append(wrong, fmt.Sprintf("no column for %s", field))
		}
	}
	if len(wrong) > 0 {
		return p, errors.New(strings.Join(wrong, "; "))
	}
	return p, nil
}

func (p plan) knownFields() map[string]bool {
	known := map[string]bool{"time": true, "zone": true}
	for field := range formFields {
		known[field] = true
	}
	for _, q := range p.terms.Questions {
		known[answersPrefix+q.Key] = true
	}
	return known
}

// locate finds the column of a field. A name that the header has twice is a
// problem only if it is wanted.
func (p plan) locate(field string, cols Columns) (problem string) {
	name, mapped := cols[field]
	switch {
	case mapped && name == "":
		return ""
	case !mapped:
		name = field
	}
	found := 0
	for i, h := range p.header {
		if sameName(h, name) {
			p.at[field] = i
			found++
		}
	}
	switch {
	case found > 1:
		return fmt.Sprintf("the header has the column %q %d times", name, found)
	case found == 0 && mapped:
		return fmt.Sprintf("the header has no column %q for %s", name, field)
	}
	return ""
}

func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// missing lists the fields that the terms need and that neither a column nor
// Fill holds.
func (p plan) missing() []string {
	need := map[string]bool{"email": true, "live": p.fill.Live == "", "time": p.when.IsZero()}
	if p.terms.Sizes != nil {
		need["size"] = p.fill.Size == ""
	}
	if p.terms.MinAge > 0 {
		need["age"] = p.fill.Age == ""
	}
	for _, q := range p.terms.Questions {
		need[answersPrefix+q.Key] = q.Required && p.fill.Answers[q.Key] == ""
	}
	var missing []string
	for _, field := range sorted(need) {
		if _, have := p.at[field]; need[field] && !have {
			missing = append(missing, field)
		}
	}
	return missing
}

func sorted(set map[string]bool) []string {
	list := make([]string, 0, len(set))
	for s := range set {
		list = append(list, s)
	}
	sort.Strings(list)
	return list
}

// form puts a row's cells where a form has them.
func (p plan) form(row tableRow) Form {
	f := p.fill
	f.Answers = map[string]string{}
	for key, answer := range p.fill.Answers {
		f.Answers[key] = answer
	}
	for field, i := range p.at {
		cell := row.cell(i)
		if set, ok := formFields[field]; ok {
			*set(&f) = cell
		} else if key, ok := strings.CutPrefix(field, answersPrefix); ok {
			f.Answers[key] = cell
		}
	}
	f.Live, f.Ship = p.country(f.Live), p.country(f.Ship)
	return f
}

// country turns a country into its code, and leaves what is none as it is. A
// file names few countries, many times.
func (p plan) country(text string) string {
	code, known := p.countries[text]
	if !known {
		var err error
		if code, err = eligibility.ParseCountry(text); err != nil {
			code = text
		}
		if len(p.countries) < 1000 {
			p.countries[text] = code
		}
	}
	return code
}
