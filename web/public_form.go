package web

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A formState is what the entry form is filled with, and what came of it.
type formState struct {
	Form     entries.Form
	Verdict  entries.Verdict
	Sent     bool   // the form was sent, and Verdict says what is to be put right
	Friendly bool   // all that is missing may be a friend's tick; see [friendFirst]
	Fixing   string // ticket whose address is put right
	FixURL   string // where its corrected form goes
	Back     string // its private page
	Done     string // what was just done (private page)
	Named    bool   // the form was that of the name (private page)
	Preview  string // address of the creator's preview; "": this is the page itself
}

// An entryPage is the giveaway's page while it takes entries.
type entryPage struct {
	Frame
	Know
	Terms     giveaway.Terms
	Closes    Stamp
	Event     Stamp
	Action    string
	Preview   bool // the creator looks at the page beforehand
	RulesURL  string
	Summary   summary
	Fixing    string // ticket whose address is put right
	Back      string // its private page
	Email     field
	EmailSeen string
	Once      string      // the form's own value; see entries.Form
	Size      *sizeFields // nil: something without sizes
	Live      field
	State     *field // nil: the terms don't ask
	Ship      *field // nil: the parcel goes home, there is nothing to choose
	ShipState *field
	Friend    *field // nil: everybody lives where the parcel can go; it stands with Ship
	Name      field
	Age       *field
	Rules     field
	Barred    *field // nil: the terms ask for no tick
	Step      *field
	Questions []question
}

// A question is one of the creator's own.
type question struct {
	field
	Choice bool
}

// sizeFields are the three controls of a size.
type sizeFields struct {
	System, Number, Width field
	Seen                  string
	Sponsor               string
}

// Faulty are those with messages, in order.
func (s sizeFields) Faulty() []field {
	return slices.DeleteFunc([]field{s.System, s.Number, s.Width}, func(f field) bool { return !f.Invalid() })
}

// Keep reports whether the messages are only offers: then one's own size may
// be sent again.
func (s sizeFields) Keep() bool {
	all := s.Faulty()
	return len(all) == 1 && len(all[0].Offers()) > 0
}

func (s *Site) showForm(c echo.Context, status int, g giveaway.Giveaway, st formState) error {
	know, _, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	t := g.Terms
	st = friendFirst(st, t, now(c))
	know.FairURL = fairURL(g.ID) // short: this page is small, and is not for print
	p := entryPage{
		Frame: frame(g, now(c), t.Title), Know: know, Terms: t, Action: homeURL(g.ID), RulesURL: rulesURL(g.ID),
		Closes: stamp("", t.Closes.UTC, t.Closes.Zone), Event: stamp("", t.Event.UTC, t.Event.Zone),
		Summary: summarize(st), Fixing: st.Fixing, Back: st.Back,
		Email: st.text("email", "E-mail", "We write to it if you win.", st.Form.Email, "email"),
		Name:  st.text("name", "A name to be said on the show", "If you like; 40 characters at most. A first name will do.", st.Form.Name, "nickname"),
		Rules: st.tick("rules", "I have read the rules and accept them.", "", st.Form.Rules),
	}
	if st.Fixing != "" {
		p.Action, p.Title = st.FixURL, "Put the address right · "+t.Channel
	}
	if st.Preview != "" {
		p.Preview, p.Action, p.RulesURL, p.FairURL = true, st.Preview, "/desk/g/"+g.ID+"/rules", st.Preview
		p.Left, p.Home = "Your desk", "/desk"
	}
	if st.Sent {
		p.Title = "To put right · " + p.Title
		p.EmailSeen = strings.TrimSpace(st.Form.Email)
	}
	p.Email.Needed, p.Rules.Needed = true, true
	if t.Sizes != nil {
		p.Size = sizeOf(t, st)
	}
	p.places(t.Region, st)
	p.others(t, st)
	if p.Once, err = entries.NewOnce(s.cfg.Rand); err != nil {
		return err
	}
	c.Response().Header().Set("Cache-Control", "no-store") // each form has a value of its own
	return s.render(c, status, "form", p)
}

// text makes a field to type in.
func (st formState) text(name, label, hint, value, auto string) field {
	return field{Name: name, Label: label, Hint: hint, Value: value, Auto: auto, Faults: problemsOf(st, name)}
}

// tick makes a box to tick.
func (st formState) tick(name, label, hint, value string) field {
	f := st.text(name, label, hint, "yes", "")
	f.Checked = slices.Contains([]string{"yes", "on", "true", "1"}, strings.ToLower(value))
	return f
}

// sizeOf makes the size's fields. Standard width stands first, and is what
// most people have.
func sizeOf(t giveaway.Terms, st formState) *sizeFields {
	s := &sizeFields{
		System:  st.text("system", "Men’s or women’s", "", st.Form.System, "off"),
		Number:  st.text("size", "US size", "", st.Form.Size, "off"),
		Width:   st.text("width", "Width", "", st.Form.Width, "off"),
		Sponsor: t.Sponsor,
	}
	s.System.Groups = options(st.Form.System, option{"", "Choose …", false}, option{"mens", "Men’s", false}, option{"womens", "Women’s", false})
	s.Width.Groups = widthGroups(st.Form, t.Sizes.Run)
	s.System.Needed, s.Number.Needed = true, true
	if st.Sent {
		s.Seen = st.Form.SizeTyped()
	} else {
		s.Seen = st.Form.SizeSeen
	}
	return s
}

var widthWordsOrder = []string{"standard", "extra narrow", "narrow", "wide", "extra wide", "triple wide"}

// widthGroups offers the widths that the sizes come in, by word with its letters,
// and by letter where some letter has no word; the ordinary one always, and the
// one that was chosen.
func widthGroups(f entries.Form, run sizing.Run) []group {
	var words, letters []option
	alone := false // a letter needs an option of its own
	for _, w := range widthWordsOrder {
		chosen := strings.EqualFold(f.Width, w) || f.Width == "" && w == "standard"
		if chosen || w == "standard" || comesIn(run, w) {
			words = append(words, option{w, w + lettersOf(run, w), chosen})
		}
	}
	for _, l := range sizing.Ladder() {
		if chosen := strings.EqualFold(f.Width, l); chosen || comesIn(run, l) {
			letters = append(letters, option{l, l + onlyIn(run, l), chosen})
			alone = alone || chosen || !worded(run, l)
		}
	}
	if !alone {
		return []group{{"", words}}
	}
	return []group{{"", words}, {"by letter", letters}}
}

// worded reports whether a letter has a word in all of the sizes that come in it.
func worded(run sizing.Run, letter string) bool {
	return !slices.ContainsFunc(systemsOf(run), func(system sizing.System) bool {
		return (run.Empty() || slices.Contains(run.Widths(system), letter)) && sizing.WidthWord(system, letter) == ""
	})
}

// systemsOf are those that sizes come in; sizes that are not told apart may come
// in any.
func systemsOf(run sizing.Run) []sizing.System {
	if run.Empty() {
		return sizing.Systems()
	}
	return run.Systems()
}

// lettersOf says which letter a word for a width stands for, since it is another
// one in men's and in women's sizes: " (men’s D, women’s B)"; " (D)" where all
// are men's.
func lettersOf(run sizing.Run, word string) string {
	var letters []string
	systems := systemsOf(run)
	for _, system := range systems {
		letter, err := sizing.ParseWidth(system, word)
		switch {
		case err != nil || word != "standard" && !run.Empty() && !slices.Contains(run.Widths(system), letter):
		case len(systems) == 1:
			letters = append(letters, letter)
		default:
			letters = append(letters, system.Shown()+" "+letter)
		}
	}
	if len(letters) == 0 {
		return ""
	}
	return " (" + strings.Join(letters, ", ") + ")"
}

// onlyIn says of a letter whose sizes alone come in it; "" where all do.
func onlyIn(run sizing.Run, letter string) string {
	in := slices.DeleteFunc(slices.Clone(systemsOf(run)), func(system sizing.System) bool {
		return !run.Empty() && !slices.Contains(run.Widths(system), letter)
	})
	if len(in) != 1 || len(systemsOf(run)) == 1 {
		return ""
	}
	return ", " + in[0].Shown() + " only"
}

// comesIn reports whether a width, a word or a letter, exists in men's or in
// women's sizes. Sizes that are not told apart may come in any.
func comesIn(run sizing.Run, width string) bool {
	return run.Empty() || slices.ContainsFunc(run.Systems(), func(system sizing.System) bool {
		letter, err := sizing.ParseWidth(system, width)
		return err == nil && slices.Contains(run.Widths(system), letter)
	})
}

// places makes the fields for where the entrant lives and where the parcel
// goes. Without script all that the terms may need stand there.
func (p *entryPage) places(r eligibility.Region, st formState) {
	p.Live = st.text("live", "Where you live", "", st.Form.Live, "country")
	p.Live.Groups = liveGroups(st.Form.Live, r.Live)
	p.Live.Needed = true
	if countries := statesNeeded(r.LiveStateNeeded); len(countries) > 0 {
		p.State = stateField(st, "state", "State", st.Form.State, "address-level1", countries, outside(countries))
	}
	home := r.Ship
	if len(home) != 1 || len(r.Live) != 1 || home[0] != r.Live[0] {
		ship := st.shipChosen(r)
		f := st.text("ship", "Where to send it", "", ship, "shipping country")
		f.Groups = countryGroups(ship, "To where I live", r.Ship)
		p.Ship = &f
	}
	if countries := statesNeeded(r.ShipStateNeeded); len(countries) > 0 && p.Ship != nil {
		p.ShipState = stateField(st, "ship_state", "State to send it to", st.Form.ShipState, "shipping address-level1", countries,
			"the same, or not needed")
	}
	if r.Friend && someAbroad(r) {
		f := st.tick("friend", "A friend in "+friendPlace(r.Ship)+" can receive it for me.",
			"If you live where the parcel can’t go, tick this: without such a friend you can’t enter. You only name them if you win.", st.Form.Friend)
		p.Friend = &f
	}
}

// shipChosen is the country that the form names for the parcel; for somebody
// abroad with a friend, the one that it can go to.
func (st formState) shipChosen(r eligibility.Region) string {
	f := st.Form
	if st.Sent && f.Ship == "" && f.Friend != "" && r.Friend && len(r.Ship) == 1 && f.Live != "" && !slices.Contains(r.Ship, f.Live) {
		return r.Ship[0]
	}
	return f.Ship
}

// someAbroad reports whether somebody may live in a country that the parcel
// can't go to.
func someAbroad(r eligibility.Region) bool {
	return len(r.Ship) > 0 && (len(r.Live) == 0 || slices.ContainsFunc(r.Live, func(country string) bool {
		return !slices.Contains(r.Ship, country)
	}))
}

func friendPlace(ship []string) string {
	if len(ship) == 1 {
		return countryIn(ship[0])
	}
	return "a country that the parcel can go to"
}

// statesNeeded lists the countries whose state the terms ask for.
func statesNeeded(needed func(string) bool) []string {
	return slices.DeleteFunc([]string{"US", "CA"}, func(c string) bool { return !needed(c) })
}

func outside(countries []string) string {
	names := make([]string, len(countries))
	for i, c := range countries {
		names[i] = countryIn(c)
	}
	return "not in " + strings.Join(names, " or ")
}

func stateField(st formState, name, label, value, auto string, countries []string, none string) *field {
	f := st.text(name, label, "", value, auto)
	f.Groups = options(value, option{"", none, false})
	for _, c := range countries {
		g := group{Label: eligibility.CountryName(c)}
		for _, s := range eligibility.States(c) {
			g.Options = append(g.Options, option{s.Code, s.Name, s.Code == value})
		}
		f.Groups = append(f.Groups, g)
	}
	return &f
}

// countryGroups lists countries by name; only those given, if any are.
func countryGroups(chosen, none string, only []string) []group {
	list := []option{{"", none, chosen == ""}}
	for _, c := range eligibility.Countries() {
		if len(only) == 0 || slices.Contains(only, c.Code) {
			list = append(list, option{c.Code, c.Name, c.Code == chosen})
		}
	}
	return []group{{Options: list}}
}

// liveGroups lists the countries where people may live first, and then all
// others, so that whoever lives there is told why it can't be.
func liveGroups(chosen string, may []string) []group {
	all := countryGroups(chosen, "Choose …", nil)[0].Options
	if len(may) == 0 {
		return []group{{Options: all}}
	}
	first, rest := group{Label: "Where entries are taken"}, group{Label: "Other countries"}
	for _, o := range all[1:] {
		if slices.Contains(may, o.Value) {
			first.Options = append(first.Options, o)
		} else {
			rest.Options = append(rest.Options, o)
		}
	}
	return []group{{Options: all[:1]}, first, rest}
}

// others makes the fields that only some terms ask for.
func (p *entryPage) others(t giveaway.Terms, st formState) {
	if ranges := eligibility.AgeRanges(t.MinAge); len(ranges) > 0 {
		f := st.text("age", "Your age", "", st.Form.Age, "off")
		var list []option
		for _, r := range ranges {
			list = append(list, option{r.Code, r.Label, r.Code == st.Form.Age})
		}
		f.Groups = []group{{Options: list}}
		p.Age = &f
	}
	if t.BarredTick {
		f := st.tick("barred", "I am none of these people.", "", st.Form.Barred)
		f.Needed = true
		p.Barred = &f
	}
	if t.Steps != "" {
		f := st.tick("step", "I have done this.", "We can’t check this; it doesn’t change your chance.", st.Form.Step)
		p.Step = &f
	}
	for _, q := range t.Questions {
		f := st.text(answerPrefix+q.Key, q.Label, "", st.Form.Answers[q.Key], "off")
		f.Needed = q.Required
		if q.Kind == giveaway.KindChoice {
			list := []option{{"", "Choose …", false}}
			for _, choice := range q.Choices {
				list = append(list, option{choice, choice, choice == f.Value})
			}
			f.Groups = []group{{Options: list}}
		}
		p.Questions = append(p.Questions, question{f, q.Kind == giveaway.KindChoice})
	}
}
