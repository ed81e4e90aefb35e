package web

import (
	"net/url"
	"strconv"
	"strings"

	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A termsForm is the short page for terms, as typed. Field names are those of
// the form.
type termsForm struct {
	Draw, Channel, Host, Title, Prize, Sponsor, Value string
	Zone, Opens, Closes, Event                        string
	OpensWhich, ClosesWhich, EventWhich               string // "", "1" or "2": which of two equal wall times
	Winners, Alternates, AnswerDays, MinAge           string
	LockMinutes                                       string
	Mens, Womens                                      sizesForm
	Scale                                             string
	Live, NotLive, Ship                               string // codes or names, with commas
	AlaskaHawaii, Territories, Military, Friend       bool
	Steps, Rules                                      string
	Number                                            bool // a public number goes into the draw
}

// A sizesForm is one system's range.
type sizesForm struct{ From, To, Step, Widths, Except string }

func (f sizesForm) empty() bool {
	return strings.TrimSpace(f.From+f.To+f.Except) == ""
}

// readTermsForm takes the form as it came.
func readTermsForm(v url.Values) termsForm {
	get := func(name string) string { return strings.TrimSpace(v.Get(name)) }
	sizes := func(s string) sizesForm {
		return sizesForm{get(s + "_from"), get(s + "_to"), get(s + "_step"), get(s + "_widths"), get(s + "_except")}
	}
	return termsForm{
		Draw: get("draw"), Channel: get("channel"), Host: get("host"), Title: get("title"),
		Prize: get("prize"), Sponsor: get("sponsor"), Value: get("value"),
		Zone: get("zone"), Opens: get("opens"), Closes: get("closes"), Event: get("event"),
		OpensWhich: get("opens_which"), ClosesWhich: get("closes_which"), EventWhich: get("event_which"),
		Winners: get("winners"), Alternates: get("alternates"), AnswerDays: get("answer_days"), MinAge: get("min_age"),
		LockMinutes: get("lock_minutes"),
		Mens:        sizes("mens"), Womens: sizes("womens"), Scale: get("scale"),
		Live: get("live"), NotLive: get("not_live"), Ship: get("ship"),
		AlaskaHawaii: get("alaska_hawaii") != "", Territories: get("territories") != "",
		Military: get("military") != "", Friend: get("friend") != "",
		Steps: get("steps"), Number: get("number") != "",
		Rules: strings.ReplaceAll(v.Get("rules"), "\r\n", "\n"),
	}
}

// newForm is what an empty form begins with.
func newForm() termsForm {
	return termsForm{
		Zone: "America/New_York", Winners: "1", Alternates: "3", AnswerDays: "7", MinAge: "18", LockMinutes: strconv.Itoa(giveaway.DefaultLockMinutes),
		Live: "US", Ship: "US", AlaskaHawaii: true, Friend: true, Number: true, Scale: "3",
		Mens: sizesForm{Step: sizing.HalfSteps, Widths: "D"}, Womens: sizesForm{Step: sizing.HalfSteps, Widths: "B"},
	}
}

// formOf fills the form from terms. What the form has no field for (questions,
// barred people, sizes of several ranges) stays in the terms; see [termsForm.onto].
func formOf(t giveaway.Terms) termsForm {
	f := newForm()
	f.Draw, f.Channel, f.Host, f.Title, f.Prize, f.Sponsor, f.Value = t.Draw, t.Channel, t.Host, t.Title, t.Prize, t.Sponsor, t.Value
	f.Zone, f.Opens, f.Closes, f.Event = t.Event.Zone, t.Opens.Local, t.Closes.Local, t.Event.Local
	f.OpensWhich, f.ClosesWhich, f.EventWhich = whichOf(t.Opens), whichOf(t.Closes), whichOf(t.Event)
	f.Winners, f.Alternates = strconv.Itoa(t.Winners), strconv.Itoa(t.Alternates)
	f.LockMinutes = strconv.Itoa(t.LockMinutes)
	f.AnswerDays, f.MinAge = strconv.Itoa(t.AnswerDays), strconv.Itoa(t.MinAge)
	f.Live, f.NotLive, f.Ship = strings.Join(t.Region.Live, ", "), strings.Join(t.Region.NotLive, ", "), strings.Join(t.Region.Ship, ", ")
	f.AlaskaHawaii, f.Territories = t.Region.AlaskaHawaii, t.Region.Territories
	f.Military, f.Friend = t.Region.Military, t.Region.Friend
	f.Steps, f.Rules, f.Number = t.Steps, t.Rules, t.Beacon != giveaway.BeaconNone
	if t.Sizes != nil {
		f.Scale = strconv.Itoa(int(t.Sizes.Scale))
		for _, r := range t.Sizes.Run {
			if r.System == sizing.Mens {
				f.Mens = rangeForm(r)
			} else {
				f.Womens = rangeForm(r)
			}
		}
	}
	return f
}

func rangeForm(r sizing.Range) sizesForm {
	var except []string
	for _, h := range r.Except {
		except = append(except, h.String())
	}
	return sizesForm{r.From.String(), r.To.String(), r.Step, strings.Join(r.Widths, ", "), strings.Join(except, ", ")}
}

// whichOf is which of two equal wall times a moment means, "" where there is
// only one.
func whichOf(m giveaway.Moment) string {
	for which := 1; which <= 2; which++ {
		one, err := giveaway.ParseMoment(m.Local, m.Zone, which)
		plain, plainErr := giveaway.ParseMoment(m.Local, m.Zone, 0)
		if err == nil && (plainErr != nil || !plain.UTC.Equal(one.UTC)) && one.UTC.Equal(m.UTC) {
			return strconv.Itoa(which)
		}
	}
	return ""
}

// onto puts what was typed into terms, over those that are there already. What
// can't be read is a problem beside its field; whether the rest makes sense is
// for the terms to say.
func (f termsForm) onto(t giveaway.Terms) (giveaway.Terms, giveaway.Problems) {
	r := formReader{}
	t.Draw, t.Channel, t.Host, t.Title, t.Prize, t.Sponsor, t.Value = f.Draw, f.Channel, f.Host, f.Title, f.Prize, f.Sponsor, f.Value
	t.Opens = r.moment("opens", f.Opens, f.Zone, f.OpensWhich)
	t.Closes = r.moment("closes", f.Closes, f.Zone, f.ClosesWhich)
	t.Event = r.moment("event", f.Event, f.Zone, f.EventWhich)
	t.Winners, t.Alternates = r.number("winners", f.Winners), r.number("alternates", f.Alternates)
	t.AnswerDays, t.MinAge = r.number("answer_days", f.AnswerDays), r.number("min_age", f.MinAge)
	t.LockMinutes = r.number("lock_minutes", f.LockMinutes)
	t.Region.Live, t.Region.Ship = r.countries("live", f.Live), r.countries("ship", f.Ship)
	t.Region.NotLive = r.states("not_live", f.NotLive)
	t.Region.AlaskaHawaii, t.Region.Territories = f.AlaskaHawaii, f.Territories
	t.Region.Military, t.Region.Friend = f.Military, f.Friend
	t.Steps, t.Rules, t.Beacon = f.Steps, f.Rules, giveaway.BeaconQuicknet
	if !f.Number {
		t.Beacon = giveaway.BeaconNone
	}
	t.Sizes = f.sizes(&r, t.Sizes)
	return t, r.problems
}

// sizes reads both ranges. Terms from a file may have several ranges of one
// system; they stay while the form shows what it was filled with.
func (f termsForm) sizes(r *formReader, old *giveaway.SizeTerms) *giveaway.SizeTerms {
	if f.Mens.empty() && f.Womens.empty() {
		return nil
	}
	scale := sizing.Scale(r.number("scale", f.Scale))
	if old != nil && len(old.Run) > 0 {
		shown := formOf(giveaway.Terms{Sizes: old})
		if shown.Mens == f.Mens && shown.Womens == f.Womens {
			return &giveaway.SizeTerms{Run: old.Run, Scale: scale}
		}
	}
	s := &giveaway.SizeTerms{Scale: scale}
	if !f.Mens.empty() {
		s.Run = append(s.Run, r.sizes("mens", sizing.Mens, f.Mens))
	}
	if !f.Womens.empty() {
		s.Run = append(s.Run, r.sizes("womens", sizing.Womens, f.Womens))
	}
	return s
}

// splitList splits at commas, and drops what is blank.
func splitList(text string) []string {
	var list []string
	for _, one := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		if one = strings.TrimSpace(one); one != "" {
			list = append(list, one)
		}
	}
	return list
}

// countryCode reads a code or a name.
func countryCode(text string) (string, error) { return eligibility.ParseCountry(text) }
