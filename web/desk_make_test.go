package web

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// What a draft holds comes back from its form, whatever it is: no field of the
// terms is lost. Only when written rules were written has no place in the form.
func TestFormBringsBackTheTerms(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 400 {
		terms := someTerms(t, r)
		if err := terms.Validate(); err != nil {
			t.Fatalf("terms %d are not valid: %v", n, err)
		}
		want, err := terms.JSON()
		if err != nil {
			t.Fatal(err)
		}
		f := readTermsForm(formOf(terms).values())
		got, problems := f.starting().onto(giveaway.Terms{Rules: terms.Rules, RulesWritten: terms.RulesWritten, RulesDate: terms.RulesDate})
		back, err := got.JSON()
		if err != nil || len(problems) > 0 || string(back) != string(want) {
			t.Fatalf("terms %d: %v %v\n%s\nbecame\n%s", n, problems, err, want, back)
		}
	}
}

// Every field of the terms was met by the test above in some other state than
// empty; if terms get a new field, this says that the test lacks it.
func TestSomeTermsHaveAllFields(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	left := setFields(giveaway.Terms{})
	for range 300 {
		for name, set := range setFields(someTerms(t, r)) {
			if set {
				delete(left, name)
			}
		}
	}
	for name := range left {
		t.Errorf("no terms of the test have the field %s", name)
	}
}

// setFields says of each field of terms, and of the region, whether it is set.
func setFields(x giveaway.Terms) map[string]bool {
	set := map[string]bool{}
	for _, v := range []reflect.Value{reflect.ValueOf(x), reflect.ValueOf(x.Region)} {
		for i := range v.NumField() {
			set[v.Type().Name()+"."+v.Type().Field(i).Name] = !v.Field(i).IsZero()
		}
	}
	return set
}

// someTerms makes valid terms of any kind.
func someTerms(t *testing.T, r *rand.Rand) giveaway.Terms {
	t.Helper()
	maybe := func(s string) string {
		if r.IntN(2) == 0 {
			return ""
		}
		return s
	}
	word := func() string {
		return []string{"Moos & Farn", "a “quoted” <b>word</b>", "ночь", "x", "one, two; three", "10½"}[r.IntN(6)] + fmt.Sprint(r.IntN(100))
	}
	at := time.Date(2026, 9, 1+r.IntN(80), r.IntN(24), r.IntN(60), r.IntN(2)*r.IntN(60), 0, time.UTC)
	moment := func(at time.Time) giveaway.Moment {
		zone := []string{"America/New_York", "America/New_York", "Europe/London", "Australia/Lord_Howe", "UTC"}[r.IntN(5)]
		m, err := giveaway.MomentAt(at, zone)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	x := giveaway.Terms{
		Draw: fmt.Sprintf("d%d", r.IntN(1000)), Channel: word(), Host: maybe(word()), Title: word(), Prize: word(), Sponsor: word(), Value: maybe(word()),
		SponsorAddress: maybe(word()), Disclosure: maybe(word()),
		Opens: moment(at), Closes: moment(at.Add(time.Hour)), Event: moment(at.Add(2 * time.Hour)),
		Winners: 1 + r.IntN(9), Alternates: r.IntN(9), AnswerDays: 1 + r.IntN(9), LockMinutes: 10 + r.IntN(90), MinAge: r.IntN(30), KeepDays: r.IntN(3) * 30,
		Region: eligibility.Region{
			Live: some(r, "US", "CA", "DE"), NotLive: some(r, "US-FL", "CA-QC"), Ship: some(r, "US", "PR"), NotShip: some(r, "US-AK", "US-AE"),
			AlaskaHawaii: r.IntN(2) == 0, Territories: r.IntN(2) == 0, Military: r.IntN(2) == 0, FreelyAssociated: r.IntN(2) == 0, Friend: r.IntN(2) == 0,
		},
		Barred: some(r, "Everyone who lives with the host.", "barred-person@example.org", "Staff, and their families"), Carriers: []string{"", "post", "private"}[r.IntN(3)],
		Steps: maybe(word()), StepKinds: some(r, giveaway.StepKinds...), Filed: some(r, giveaway.Filings...),
		Beacon: []string{giveaway.BeaconQuicknet, giveaway.BeaconNone}[r.IntN(2)], Follows: maybe("earlier"),
		Paragraphs: maybe("One *more*.\n\n- and another\n"), Rules: maybe("  Rules\n\nwith blanks at the ends. \n"),
	}
	if r.IntN(2) == 0 { // the sentences that the form offers, and some near them
		begin := x.Sponsor + " gives the prize, and "
		also := begin + "also gives " + x.Channel + " "
		x.Disclosure = []string{begin + "pays " + x.Channel + " nothing else.", also + word() + ".", also + ".",
			also + "a fee..", also + "a fee", also + " a fee.", also + "A fee.", begin + "pays " + x.Channel + " nothing else"}[r.IntN(8)]
	}
	if r.IntN(4) == 0 {
		x.Opens, _ = giveaway.AtPosting(x.Opens.Zone)
	}
	if r.IntN(3) == 0 { // the line that the form offers, also behind others and twice
		x.Barred = slices.Insert(x.Barred, r.IntN(len(x.Barred)+1), "People who work for "+x.Sponsor)
	}
	x.BarredTick = len(x.Barred) > 0 && r.IntN(2) == 0
	if x.Rules != "" && r.IntN(2) == 0 {
		x.RulesWritten, x.RulesDate = true, at
	}
	if r.IntN(2) == 0 {
		x.Worth = &giveaway.Worth{Cents: 1 + r.Int64N(10_000_000), Currency: giveaway.Currencies[r.IntN(len(giveaway.Currencies))]}
	}
	x.Sizes, x.Questions = someSizes(r), someQuestions(r)
	for i, role := range some(r, "co-host", "friend", "sponsor") {
		x.Seconds = append(x.Seconds, giveaway.Second{Role: role, Who: word(), Hash: draw.Hash([]byte{byte(i)})})
	}
	return x
}

func someSizes(r *rand.Rand) *giveaway.SizeTerms {
	s := &giveaway.SizeTerms{Scale: sizing.Scale(2 + r.IntN(3))}
	for range r.IntN(4) {
		from := sizing.Half(12 + r.IntN(8))
		g := sizing.Range{System: sizing.Systems()[r.IntN(2)], From: from, To: from + sizing.Half(2*r.IntN(6)), Step: sizing.HalfSteps, Widths: []string{"B", "2E"}[:1+r.IntN(2)]}
		if r.IntN(2) == 0 {
			g.Step = sizing.WholeSteps
		} else if g.To > from {
			g.Except = []sizing.Half{from + 1}
		}
		s.Run = append(s.Run, g)
	}
	if len(s.Run) == 0 {
		return nil
	}
	return s
}

func someQuestions(r *rand.Rand) []giveaway.Question {
	var list []giveaway.Question
	for i := range r.IntN(4) {
		q := giveaway.Question{Key: fmt.Sprintf("q%d", i), Label: "Which, and why?", Kind: giveaway.KindText, Required: r.IntN(2) == 0}
		if r.IntN(2) == 0 {
			q.Kind, q.Choices = giveaway.KindChoice, []string{"a, b", "c; d"}
		}
		list = append(list, q)
	}
	return list
}

// some picks some of a list, in its order; nil for none.
func some(r *rand.Rand, all ...string) []string {
	var list []string
	for _, one := range all {
		if r.IntN(2) == 0 {
			list = append(list, one)
		}
	}
	return list
}

// A short name takes few words and none that says nothing. Source: 24 letters
// and four words, common practice for what is read aloud.
func TestShortName(t *testing.T) {
	for words, want := range map[string]string{
		"Win a pair of hiking boots in your size.":          "hiking-boots",
		"Win a pair of hiking boots, for Ångström’s café!":  "hiking-boots-angstroms",
		"Win: Larkspur's Fjällräven 30-litre rucksack, red": "larkspurs-fjallraven-30",
		"Win the one":           "win-the-one",
		"Ein Paar Wanderschuhe": "ein-paar-wanderschuhe",
		"Überlandbahnhofsvorsteher-Mütze aus Filz": "uberlandbahnhofsvorstehe",
		"靴": "",
	} {
		if got := shortName(words); got != want {
			t.Errorf("%q gives %q, want %q", words, got, want)
		}
	}
}

// When the list locks itself is said with the time of the draw, as it is: the
// later of the closing and the minutes before the draw (giveaway.LockAt).
func TestLockSaid(t *testing.T) {
	for _, c := range []struct{ closes, event, minutes, want, folded string }{
		{"2026-12-11T20:00", "2026-12-11T20:15", "30", "the moment that entries close, because the draw is 15 minutes later. To have time", "locks itself when entries close."},
		{"2026-12-11T20:00", "2026-12-11T20:15", "10", "The list of entries locks itself at 8:05 pm, if you have not locked it before.", "locks itself 10 minutes before the draw."},
		{"2026-12-11T20:00", "2026-12-11T20:10", "10", "the moment that entries close, because the draw is 10 minutes later.", "locks itself when entries close."},
		{"2026-12-11T20:00", "2026-12-12T00:10", "30", "at Friday 11 December, 11:40 pm, if", "locks itself 30 minutes before the draw."},
		{"2026-12-11T20:00", "2026-12-11T20:05", "30", "", "locks itself 30 minutes before the draw."},
		{"", "2026-12-11T20:05", "30", "", "locks itself 30 minutes before the draw."},
	} {
		f := newForm()
		f.Zone, f.Closes, f.Event, f.LockMinutes = "America/New_York", c.closes, c.event, c.minutes
		if got := f.lockSaid(); !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%v: %q", c, got)
		}
		if got := f.AfterWords(); !strings.Contains(got, c.folded) {
			t.Errorf("%v: folded %q", c, got)
		}
	}
}
