package web

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
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
	Ships     string      // where it can be sent, in a sentence; "": anywhere
	Sizes     string      // those that are made
	Real      string      // how to know a real message
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
	p.Email.Needed, p.Rules.Needed, p.Real = true, true, officialWords(t)
	if len(t.Region.Ship) > 0 {
		p.Ships = capitalized(shortShip(t.Region)) + "."
	}
	if t.Sizes != nil {
		p.Sizes = shortSizes(t.Sizes)
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
