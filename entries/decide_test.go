package entries

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

var (
	opens  = time.Date(2026, 11, 27, 23, 0, 0, 0, time.UTC)
	closes = time.Date(2026, 12, 11, 23, 0, 0, 0, time.UTC)
	event  = time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)
	during = time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)
)

func moment(at time.Time) giveaway.Moment {
	m, err := giveaway.MomentAt(at, "America/New_York")
	if err != nil {
		panic(err)
	}
	return m
}

// boots are the terms that the tests begin with.
func boots() giveaway.Terms {
	return giveaway.Terms{
		Draw: "trail-boots", Channel: "Slow Miles", Title: "Win a pair of hiking boots in your size.",
		Prize: "a pair of hiking boots", Sponsor: "Larkspur Trail Supply",
		Opens: moment(opens), Closes: moment(closes), Event: moment(event),
		Winners: 1, Alternates: 3, AnswerDays: 7, LockMinutes: 30,
		Sizes: &giveaway.SizeTerms{Scale: sizing.Common, Run: sizing.Run{
			{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}},
			{System: sizing.Womens, From: 10, To: 22, Step: sizing.HalfSteps, Widths: []string{"B"}},
		}},
		Region: eligibility.Region{
			Live: []string{"US", "DE", "NZ"}, Ship: []string{"US"}, Friend: true,
			AlaskaHawaii: true, Territories: true, Military: true,
		},
		MinAge: 18, Barred: []string{"Host@slow-miles.example", "staff of Larkspur Trail Supply and their households"},
		Steps: "Subscribe to Slow Miles.",
		Questions: []giveaway.Question{
			{Key: "trail", Label: "Your favourite trail?", Kind: giveaway.KindText},
			{Key: "season", Label: "When do you hike?", Kind: giveaway.KindChoice, Choices: []string{"summer", "winter"}, Required: true},
		},
		Beacon: giveaway.BeaconNone, Rules: "One entry a person.\n",
	}
}

func goodForm() Form {
	return Form{
		Email: "Robin+boots@Example.com", System: "mens", Size: "10½", Width: "D", Live: "US", Name: " Robin  L. ",
		Age: "18-or-over", Rules: "on", Answers: map[string]string{"season": "winter"},
	}
}

func TestAccepted(t *testing.T) {
	v := Decide(goodForm(), boots(), during)
	us := eligibility.Place{Country: "US"}
	want := Entry{
		Key: "robin@example.com", Typed: "Robin+boots@Example.com",
		Size: sizing.Size{System: sizing.Mens, Size: 21, Width: "D"}, Live: us, Ship: us,
		Name: "Robin L.", AgeRange: "18-or-over", Answers: map[string]string{"season": "winter"},
	}
	if !v.OK() || len(v.Hints) != 0 || !reflect.DeepEqual(v.Entry, want) {
		t.Errorf("got %+v\nwant %+v", v, want)
	}
}

// Each change of a good form, and what comes of it: the fields with a problem,
// or the code of the refusal.
func TestDecide(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*Form)
		fields  string
		refusal string
	}{
		{"empty", func(f *Form) { *f = Form{} }, "email system size live age rules answers.season", ""},
		{"address", func(f *Form) { f.Email = "robin" }, "email", ""},
		{"near miss", func(f *Form) { f.Email = "robin@gmial.com" }, "email", ""},
		{"near miss, seen", func(f *Form) { f.Email, f.EmailSeen = " robin@gmial.com", "robin@gmial.com" }, "", ""},
		{"near miss, another seen", func(f *Form) { f.Email, f.EmailSeen = "robin@gmial.com", "robin@gmal.com" }, "email", ""},
		{"barred", func(f *Form) { f.Email = "host+x@slow-miles.example" }, "", "barred"},
		{"system", func(f *Form) { f.System = "" }, "system", ""},
		{"size", func(f *Form) { f.Size = "10.25" }, "size", ""},
		{"European size", func(f *Form) { f.Size = "44" }, "size", ""},
		{"no width", func(f *Form) { f.Width = "" }, "width", ""},
		{"only width of the system", func(f *Form) { f.System, f.Size, f.Width = "womens", "8", "" }, "", ""},
		{"all in one field", func(f *Form) { f.System, f.Size, f.Width = "", "Men’s 10.5 D", "" }, "", ""},
		{"number and width in one field", func(f *Form) { f.Size, f.Width = "10 1/2 EE", "" }, "", ""},
		{"not in the run", func(f *Form) { f.Width = "B" }, "size", ""},
		{"not in the run, seen", func(f *Form) { f.Width, f.SizeSeen = "B", "Mens 10½ b" }, "", ""},
		{"not in the run, another seen", func(f *Form) { f.Width, f.SizeSeen = "B", "mens 10 b" }, "size", ""},
		{"country", func(f *Form) { f.Live = "" }, "live", ""},
		{"unknown country", func(f *Form) { f.Live = "Nowhere" }, "live", ""},
		{"unknown state", func(f *Form) { f.State = "ZZ" }, "state", ""},
		{"lives elsewhere", func(f *Form) { f.Live = "FR" }, "", "live-region"},
		{"abroad, parcel home", func(f *Form) { f.Live = "DE" }, "", "ship-region"},
		{"abroad, no friend", func(f *Form) { f.Live, f.Ship = "DE", "US" }, "", "abroad-without-friend"},
		{"abroad, friend", func(f *Form) { f.Live, f.Ship, f.Friend = "DE", "US", "yes" }, "", ""},
		{"abroad, friend, where is clear", func(f *Form) { f.Live, f.Friend = "DE", "yes" }, "", ""},
		{"abroad, friend elsewhere", func(f *Form) { f.Live, f.Ship, f.Friend = "DE", "FR", "yes" }, "", "ship-region"},
		{"unknown ship country", func(f *Form) { f.Ship = "Nowhere" }, "ship", ""},
		{"unknown ship state", func(f *Form) { f.Ship, f.ShipState = "US", "ZZ" }, "ship_state", ""},
		{"Puerto Rico", func(f *Form) { f.Live = "PR" }, "", ""},
		{"name of 40", func(f *Form) { f.Name = strings.Repeat("é", 40) }, "", ""},
		{"name of 41", func(f *Form) { f.Name = strings.Repeat("é", 41) }, "name", ""},
		{"name with a link", func(f *Form) { f.Name = "see slow-miles.example" }, "name", ""},
		{"name with a scheme", func(f *Form) { f.Name = "https://x" }, "name", ""},
		{"name with an address", func(f *Form) { f.Name = "robin@home" }, "name", ""},
		{"name with a control", func(f *Form) { f.Name = "Robin\x1b[2J" }, "name", ""},
		{"name over two lines", func(f *Form) { f.Name = "Robin\nwon" }, "name", ""},
		{"name turned round", func(f *Form) { f.Name = "Robin\u202e" }, "name", ""},
		{"name with dots", func(f *Form) { f.Name = "J. R. O’Neil Jr." }, "", ""},
		{"name in other letters", func(f *Form) { f.Name = "Ренée 川" }, "", ""},
		{"age not chosen", func(f *Form) { f.Age = "" }, "age", ""},
		{"too young", func(f *Form) { f.Age = "under-18" }, "", "too-young"},
		{"17 years", func(f *Form) { f.Age = "17" }, "", "too-young"},
		{"18 years", func(f *Form) { f.Age = "18" }, "", ""},
		{"rules", func(f *Form) { f.Rules = "" }, "rules", ""},
		{"required answer", func(f *Form) { f.Answers = nil }, "answers.season", ""},
		{"no such choice", func(f *Form) { f.Answers["season"] = "spring" }, "answers.season", ""},
		{"answer of 500", func(f *Form) { f.Answers["trail"] = strings.Repeat("x", 500) }, "", ""},
		{"answer of 501", func(f *Form) { f.Answers["trail"] = strings.Repeat("x", 501) }, "answers.trail", ""},
		{"answer with a control", func(f *Form) { f.Answers["trail"] = "a\x00" }, "answers.trail", ""},
		{"answer over two lines", func(f *Form) { f.Answers["trail"] = "a\r\nb" }, "", ""},
		{"not asked", func(f *Form) { f.Answers["phone"] = "555" }, "answers", ""},
		{"refusal wins", func(f *Form) { f.Age, f.Email = "under-18", "" }, "", "too-young"},
	} {
		f := goodForm()
		c.change(&f)
		v := Decide(f, boots(), during)
		var fields []string
		for _, p := range v.Fields {
			fields = append(fields, p.Field)
			if p.Text == "" {
				t.Errorf("%s: %s has no text", c.name, p.Field)
			}
		}
		refusal := ""
		if v.Refusal != nil {
			refusal = v.Refusal.Code
		}
		if strings.Join(fields, " ") != c.fields || refusal != c.refusal {
			t.Errorf("%s: got fields %q, refusal %q; want %q, %q", c.name, strings.Join(fields, " "), refusal, c.fields, c.refusal)
		}
	}
}

// The window is half-open (design: time facts, section 2, rule 5), and the
// server's time decides.
func TestDecideWindow(t *testing.T) {
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{opens.Add(-time.Nanosecond), "not-yet-open"},
		{opens, ""},
		{closes.Add(-time.Millisecond), ""},
		{closes, "window-closed"},
	} {
		v := Decide(goodForm(), boots(), c.at)
		got := ""
		if v.Refusal != nil {
			got = v.Refusal.Code
		}
		if got != c.want {
			t.Errorf("%v: got %q, want %q", c.at, got, c.want)
		}
	}
	// Outside the window nothing else is asked.
	if v := Decide(Form{}, boots(), closes); v.Refusal == nil || len(v.Fields) != 0 {
		t.Errorf("late and empty: got %+v", v)
	}
}

// The offers are the sizing package's; the sentence is the sketch's.
func TestOffersForASize(t *testing.T) {
	f := goodForm()
	f.Width = "B"
	v := Decide(f, boots(), during)
	if len(v.Fields) != 1 {
		t.Fatalf("got %+v", v)
	}
	p := v.Fields[0]
	if !strings.HasPrefix(p.Text, "Larkspur Trail Supply doesn’t make a men’s 10½ B. The nearest are ") {
		t.Errorf("got %q", p.Text)
	}
	near := boots().Sizes.Run.Nearest(sizing.Size{System: sizing.Mens, Size: 21, Width: "B"}, sizing.Common, 3)
	if len(p.Offers) != len(near) || len(near) != 3 {
		t.Fatalf("got %d offers, want 3", len(p.Offers))
	}
	for i, o := range p.Offers {
		want := map[string]string{"system": string(near[i].System), "size": near[i].Size.String(), "width": near[i].Width}
		if !reflect.DeepEqual(o.Values, want) || o.Text == "" || !strings.Contains(p.Text, o.Text) {
			t.Errorf("offer %d: got %+v, want %v", i, o, want)
		}
		// One click is enough: what the offer puts in is accepted.
		f.System, f.Size, f.Width = o.Values["system"], o.Values["size"], o.Values["width"]
		if v := Decide(f, boots(), during); !v.OK() {
			t.Errorf("offer %d is not accepted: %+v", i, v.Fields)
		}
	}
}

func TestOfferForAnAddress(t *testing.T) {
	f := goodForm()
	f.Email = "Robin+x@gmial.com"
	v := Decide(f, boots(), during)
	if len(v.Fields) != 1 || len(v.Fields[0].Offers) != 1 || v.Fields[0].Offers[0].Values["email"] != "Robin+x@gmail.com" {
		t.Fatalf("got %+v", v.Fields)
	}
	f.EmailSeen = f.Email
	v = Decide(f, boots(), during)
	if !v.OK() || v.Entry.Typed != "Robin+x@gmial.com" || len(v.Hints) != 1 {
		t.Errorf("sent again: got %+v", v)
	}
	// An address that can't be read is offered too, where it is near one.
	f.Email = "robin@gmailcom"
	if v = Decide(f, boots(), during); len(v.Fields) != 1 || len(v.Fields[0].Offers) != 1 {
		t.Errorf("without a dot: got %+v", v.Fields)
	}
}

// The creator's own step is asked and changes nothing.
func TestStepChangesNothing(t *testing.T) {
	without, with := goodForm(), goodForm()
	with.Step = "on"
	a, b := Decide(without, boots(), during), Decide(with, boots(), during)
	if a.Entry.Step || !b.Entry.Step {
		t.Error("the tick is not noted")
	}
	b.Entry.Step = false
	if !reflect.DeepEqual(a, b) {
		t.Errorf("got %+v and %+v", a, b)
	}
}

func TestWithoutSizesAndAge(t *testing.T) {
	terms := boots()
	terms.Sizes, terms.MinAge, terms.Questions = nil, 0, nil
	f := Form{Email: "robin@example.com", Live: "US", Rules: "yes", Size: "nonsense", Age: "5"}
	v := Decide(f, terms, during)
	if !v.OK() || !v.Entry.Size.IsZero() || v.Entry.AgeRange != "" {
		t.Errorf("got %+v", v)
	}
}

// Where the state decides it is asked for, beside its own field.
func TestStateNeeded(t *testing.T) {
	terms := boots()
	terms.Region = eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}}
	for _, c := range []struct{ state, ship, shipState, fields, refusal string }{
		{"", "", "", "state", ""},
		{"NY", "", "", "", ""},
		{"AK", "", "", "", "live-region"},
		{"NY", "US", "", "", ""},
		{"NY", "US", "HI", "", "ship-region"},
		{"NY", "", "HI", "", "ship-region"},
	} {
		f := goodForm()
		f.State, f.Ship, f.ShipState = c.state, c.ship, c.shipState
		v := Decide(f, terms, during)
		fields, refusal := "", ""
		for _, p := range v.Fields {
			fields += p.Field
		}
		if v.Refusal != nil {
			refusal = v.Refusal.Code
		}
		if fields != c.fields || refusal != c.refusal {
			t.Errorf("%+v: got %q, %q", c, fields, refusal)
		}
	}
}

// Nobody's words come back in an error: it may reach a log.
func TestRejectedIsSilent(t *testing.T) {
	f := goodForm()
	f.Email, f.Name = "secret", "secret@x"
	if err := rejected(Decide(f, boots(), during)); strings.Contains(err.Error(), "secret") {
		t.Errorf("got %v", err)
	}
}

// Where the terms ask for it, nobody enters without saying that they are none
// of those who may not win. Our own rule.
func TestBarredTick(t *testing.T) {
	terms := boots()
	terms.Barred, terms.BarredTick = []string{"Everyone who lives with the host."}, true
	f := goodForm()
	v := Decide(f, terms, during)
	if len(v.Fields) != 1 || v.Fields[0].Field != "barred" {
		t.Errorf("without the tick: %+v", v.Fields)
	}
	f.Barred = "yes"
	if v := Decide(f, terms, during); !v.OK() {
		t.Errorf("with the tick: %+v %+v", v.Fields, v.Refusal)
	}
	terms.BarredTick, f.Barred = false, ""
	if v := Decide(f, terms, during); !v.OK() {
		t.Errorf("nobody asked: %+v", v.Fields)
	}
}
