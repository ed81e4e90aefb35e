package web

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
)

// A termsForm is the form in which a giveaway is made, as typed. Every field
// of the terms has its place here: what a draft holds, the form brings back.
// [termsForm.fields] and [termsForm.ticks] give the names of the fields.
type termsForm struct {
	Asked, AskedNow            string // what was asked once; see [ask]
	Draw, DrawProposed         string // DrawProposed is what the page proposed last
	Title, Prize, Value        string
	WorthSum, WorthCurrency    string
	Sponsor, SponsorAddress    string
	DisclosureKind             string // "": not chosen; see [termsForm.disclosure]
	DisclosureMore, Disclosure string // what else is paid; the sentence in own words
	Channel, Host              string

	Ranges []rangeForm
	Scale  string
	Table  string // pasted sizes, not yet read

	Zone, OpensZone, ClosesZone         string // the two others only where they differ from Zone
	Opens, Closes, Event                string
	OpensWhich, ClosesWhich, EventWhich string // "", "1" or "2": which of two equal wall times
	OpensTake, ClosesTake, EventTake    string // taken in place of a time that never comes
	LockMinutes                         string

	Live, NotLive, Ship, NotShip string // codes or names, with commas
	AlaskaHawaii, Territories    bool
	Military, FreelyAssociated   bool
	Friend                       bool
	Carriers, MinAge             string
	BarredStaff                  bool   // who works for the sponsor; see [termsForm.barred]
	Barred                       string // the others, one a line
	BarredTick                   bool   // of no account where nobody is left out

	Winners, Alternates, AnswerDays, KeepDays string

	Steps      string
	StepKinds  map[string]bool
	Questions  []questionForm
	Number     bool // a public number goes into the draw
	Seconds    []secondForm
	Filed      map[string]bool
	Paragraphs string
	Rules      string
	Follows    string
}

// A rangeForm is one row of sizes.
//
// Whole is where whole sizes end that follow behind To; "" where none do.
type rangeForm struct{ System, From, To, Step, Whole, Widths, Except string }

// A questionForm is one of the creator's own questions; Choices one a line.
type questionForm struct {
	Key, Label, Kind, Choices string
	Required                  bool
}

// A secondForm is one second secret.
type secondForm struct{ Role, Who, Hash string }

// A bound ties a field's name to its place in the form.
type bound[T any] struct {
	name string
	at   *T
}

// fields are the fields in words, but for those of lists.
func (f *termsForm) fields() []bound[string] {
	return []bound[string]{
		{"asked", &f.Asked}, {"asked_now", &f.AskedNow}, {"draw", &f.Draw}, {"draw_proposed", &f.DrawProposed}, {"title", &f.Title}, {"prize", &f.Prize}, {"value", &f.Value},
		{"worth_sum", &f.WorthSum}, {"worth_currency", &f.WorthCurrency}, {"sponsor", &f.Sponsor}, {"sponsor_address", &f.SponsorAddress},
		{"disclosure_kind", &f.DisclosureKind}, {"disclosure_more", &f.DisclosureMore}, {"disclosure", &f.Disclosure}, {"channel", &f.Channel}, {"host", &f.Host},
		{"scale", &f.Scale}, {"table", &f.Table},
		{"zone", &f.Zone}, {"opens_zone", &f.OpensZone}, {"closes_zone", &f.ClosesZone},
		{"opens", &f.Opens}, {"closes", &f.Closes}, {"event", &f.Event},
		{"opens_which", &f.OpensWhich}, {"closes_which", &f.ClosesWhich}, {"event_which", &f.EventWhich},
		{"opens_take", &f.OpensTake}, {"closes_take", &f.ClosesTake}, {"event_take", &f.EventTake}, {"lock_minutes", &f.LockMinutes},
		{"live", &f.Live}, {"not_live", &f.NotLive}, {"ship", &f.Ship}, {"not_ship", &f.NotShip},
		{"carriers", &f.Carriers}, {"min_age", &f.MinAge}, {"barred", &f.Barred},
		{"winners", &f.Winners}, {"alternates", &f.Alternates}, {"answer_days", &f.AnswerDays}, {"keep_days", &f.KeepDays},
		{"steps", &f.Steps}, {"paragraphs", &f.Paragraphs}, {"rules", &f.Rules}, {"follows", &f.Follows},
	}
}

// texts are the fields in which blanks at the ends and line ends count.
var texts = map[string]bool{"table": true, "paragraphs": true, "rules": true}

// ticks are the fields to tick, but for those of lists.
func (f *termsForm) ticks() []bound[bool] {
	return []bound[bool]{
		{"alaska_hawaii", &f.AlaskaHawaii}, {"territories", &f.Territories}, {"military", &f.Military},
		{"freely_associated", &f.FreelyAssociated}, {"friend", &f.Friend}, {"barred_staff", &f.BarredStaff}, {"barred_tick", &f.BarredTick}, {"number", &f.Number},
	}
}

// fields of one row; i is its place from 0.
func (r *rangeForm) fields(i int) []bound[string] {
	return numbered("run", i, []bound[string]{{"system", &r.System}, {"from", &r.From}, {"to", &r.To}, {"step", &r.Step}, {"whole", &r.Whole}, {"widths", &r.Widths}, {"except", &r.Except}})
}

func (q *questionForm) fields(i int) []bound[string] {
	return numbered("q", i, []bound[string]{{"key", &q.Key}, {"label", &q.Label}, {"kind", &q.Kind}, {"choices", &q.Choices}})
}

func (s *secondForm) fields(i int) []bound[string] {
	return numbered("second", i, []bound[string]{{"role", &s.Role}, {"who", &s.Who}, {"hash", &s.Hash}})
}

func numbered(list string, i int, fields []bound[string]) []bound[string] {
	for j := range fields {
		fields[j].name = fmt.Sprintf("%s_%d_%s", list, i, fields[j].name)
	}
	return fields
}

func (r rangeForm) empty() bool    { return r.From+r.To+r.Whole+r.Widths+r.Except == "" }
func (q questionForm) empty() bool { return q.Label+q.Choices == "" }
func (s secondForm) empty() bool   { return s.Role+s.Who+s.Hash == "" }

// maxRows is the most rows of one list that a form is read for: more than
// terms may have, so that the terms can say so.
const maxRows = 60

// readTermsForm takes the form as it came. Rows with nothing in them are left
// out; what is not UTF-8 is marked.
func readTermsForm(v url.Values) termsForm {
	var f termsForm
	take(v, f.fields())
	for _, b := range f.ticks() {
		*b.at = v.Get(b.name) != ""
	}
	f.StepKinds, f.Filed = chosen(v, "kind_", giveaway.StepKinds), chosen(v, "filed_", giveaway.Filings)
	for i := range maxRows {
		var r rangeForm
		var q questionForm
		var s secondForm
		take(v, r.fields(i))
		take(v, q.fields(i))
		take(v, s.fields(i))
		q.Required = v.Get(fmt.Sprintf("q_%d_required", i)) != ""
		f.Ranges = appendFilled(f.Ranges, r)
		f.Questions = appendFilled(f.Questions, q)
		f.Seconds = appendFilled(f.Seconds, s)
	}
	slices.SortStableFunc(f.Seconds, func(a, b secondForm) int { // the terms want it so
		return cmp.Or(cmp.Compare(a.roleOr(), b.roleOr()))
	})
	return f
}

func appendFilled[T interface{ empty() bool }](list []T, row T) []T {
	if row.empty() {
		return list
	}
	return append(list, row)
}

// take fills the fields from a form.
func take(v url.Values, fields []bound[string]) {
	for _, b := range fields {
		text := strings.ToValidUTF8(v.Get(b.name), "\uFFFD")
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\x00", "\uFFFD")
		if !texts[b.name] {
			text = strings.TrimSpace(text)
		}
		*b.at = text
	}
}

func chosen(v url.Values, prefix string, known []string) map[string]bool {
	got := map[string]bool{}
	for _, k := range known {
		if v.Get(prefix+k) != "" {
			got[k] = true
		}
	}
	return got
}

// values are what [readTermsForm] reads back to the same form.
func (f termsForm) values() url.Values {
	v := url.Values{}
	put := func(fields []bound[string]) {
		for _, b := range fields {
			if *b.at != "" {
				v.Set(b.name, *b.at)
			}
		}
	}
	tick := func(name string, on bool) {
		if on {
			v.Set(name, "yes")
		}
	}
	put(f.fields())
	for _, b := range f.ticks() {
		tick(b.name, *b.at)
	}
	for k, on := range f.StepKinds {
		tick("kind_"+k, on)
	}
	for k, on := range f.Filed {
		tick("filed_"+k, on)
	}
	for i := range f.Ranges {
		put(f.Ranges[i].fields(i))
	}
	for i := range f.Questions {
		put(f.Questions[i].fields(i))
		tick(fmt.Sprintf("q_%d_required", i), f.Questions[i].Required)
	}
	for i := range f.Seconds {
		put(f.Seconds[i].fields(i))
	}
	return v
}

// newForm is what an empty form begins with.
func newForm() termsForm {
	return termsForm{
		Winners: "1", Alternates: "3", MinAge: "18", WorthCurrency: "USD", Scale: "3",
		AnswerDays:  strconv.Itoa(giveaway.DefaultAnswerDays),
		LockMinutes: strconv.Itoa(giveaway.DefaultLockMinutes), KeepDays: strconv.Itoa(giveaway.DefaultKeepDays),
		Live: "US", Ship: "US", AlaskaHawaii: true, Friend: true, BarredTick: true, Number: true,
	}
}

// splitList splits at commas, and drops what is blank.
func splitList(text string) []string {
	return splitAt(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' })
}

// splitLines splits at line ends, and drops what is blank.
func splitLines(text string) []string {
	return splitAt(text, func(r rune) bool { return r == '\n' || r == '\r' })
}

func splitAt(text string, at func(rune) bool) []string {
	var list []string
	for _, one := range strings.FieldsFunc(text, at) {
		if one = strings.TrimSpace(one); one != "" {
			list = append(list, one)
		}
	}
	return list
}

// countryCode reads a code or a name.
func countryCode(text string) (string, error) { return eligibility.ParseCountry(text) }
