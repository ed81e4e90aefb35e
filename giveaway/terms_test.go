package giveaway

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenhand/eligibility"
	"evenhand/sizing"
)

// bootTerms is a whole example; the JSON beside it reads to the same value.
func bootTerms() Terms {
	return Terms{
		Draw: "trail-boots", Channel: "Slow Miles", Host: "hello@slow-miles.example",
		Title: "Win a pair of hiking boots in your size.", Prize: "a pair of hiking boots",
		Sponsor: "Larkspur Trail Supply", Value: "about 190 US dollars",
		Opens:   Moment{"2026-11-27T18:00", "America/New_York", time.Date(2026, 11, 27, 23, 0, 0, 0, time.UTC)},
		Closes:  Moment{"2026-12-11T18:00", "America/New_York", time.Date(2026, 12, 11, 23, 0, 0, 0, time.UTC)},
		Event:   Moment{"2026-12-11T20:30", "America/New_York", time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)},
		Winners: 1, Alternates: 3, AnswerDays: 7, LockMinutes: 30, KeepDays: 90,
		Sizes: &SizeTerms{
			Run:   sizing.Run{{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D"}}},
			Scale: sizing.Common,
		},
		Region: eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}},
		MinAge: 18, Barred: []string{"staff of Larkspur Trail Supply and their households"},
		Steps:     "Subscribe to Slow Miles.",
		Questions: []Question{{Key: "trail", Label: "Your favourite trail?", Kind: KindText}},
		Beacon:    BeaconQuicknet,
		Rules:     "One entry a person.\n",
	}
}

const bootJSON = `{
  "draw": "trail-boots", "channel": "Slow Miles", "host": "hello@slow-miles.example",
  "title": "Win a pair of hiking boots in your size.", "prize": "a pair of hiking boots",
  "sponsor": "Larkspur Trail Supply", "value": "about 190 US dollars",
  "opens": {"local": "2026-11-27T18:00", "zone": "America/New_York"},
  "closes": {"local": "2026-12-11T18:00", "zone": "America/New_York", "utc": "2026-12-11T23:00:00Z"},
  "event": {"local": "2026-12-11T20:30", "zone": "America/New_York", "utc": "2026-12-11T20:30:00-05:00"},
  "winners": 1, "alternates": 3,
  "sizes": {"run": [{"system": "mens", "from": "7", "to": "14", "step": "half", "widths": ["D"]}]},
  "region": {"live": ["US"], "ship": ["US"]},
  "min_age": 18, "barred": ["staff of Larkspur Trail Supply and their households"],
  "steps": "Subscribe to Slow Miles.",
  "questions": [{"key": "trail", "label": "Your favourite trail?", "kind": "text"}],
  "rules": "One entry a person.\n"
}`

func TestReadTerms(t *testing.T) {
	got, err := ReadTerms(strings.NewReader(bootJSON))
	if err != nil {
		t.Fatal(err)
	}
	if want := bootTerms(); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	out, err := got.JSON()
	if err != nil {
		t.Fatal(err)
	}
	again, err := ReadTerms(bytes.NewReader(out))
	if err != nil || !reflect.DeepEqual(again, got) {
		t.Errorf("read back: %v\ngot  %+v\nwant %+v", err, again, got)
	}
}

// Reading is exact. RFC 8259, section 4, leaves names given twice open; they
// are refused here, since the last would win in silence.
func TestReadTermsIsExact(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"unknown field", `"winners": 1`, `"winners": 1, "colour": "red"`, "unknown field"},
		{"unknown field within", `"kind": "text"`, `"kind": "text", "hint": ""`, "unknown field"},
		{"name twice", `"winners": 1`, `"winners": 1, "winners": 2`, "stands twice"},
		{"name twice within", `"kind": "text"`, `"kind": "text", "kind": "text"`, "stands twice"},
		{"other case", `"winners": 1`, `"Winners": 1`, "lower case"},
		{"wrong kind of value", `"winners": 1`, `"winners": "1"`, "winners"},
		{"fraction", `"winners": 1`, `"winners": 1.5`, "winners"},
		{"trailing", `"One entry a person.\n"` + "\n}", `"One entry a person.\n"} {}`, "after"},
		{"cut short", `"One entry a person.\n"` + "\n}", `"One`, "JSON"},
		{"size that is none", `"from": "7"`, `"from": "7.25"`, "size"},
	} {
		if !strings.Contains(bootJSON, c.old) {
			t.Fatalf("%s: the example lacks %s", c.name, c.old)
		}
		_, err := ReadTerms(strings.NewReader(strings.Replace(bootJSON, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestValidateListsEverything(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Terms)
		want   []string // fields, in order
	}{
		{"nothing", func(*Terms) {}, nil},
		{"empty", func(x *Terms) { *x = Terms{} }, []string{"draw", "channel", "title", "prize", "sponsor",
			"opens", "closes", "event", "winners", "answer_days", "lock_minutes", "beacon"}},
		{"draw id in capitals", func(x *Terms) { x.Draw = "Trail-Boots" }, []string{"draw"}},
		{"draw id ends in a hyphen", func(x *Terms) { x.Draw = "trail-" }, []string{"draw"}},
		{"closes with opens", func(x *Terms) { x.Closes = x.Opens }, []string{"closes"}},
		{"closes 10 minutes before the event", func(x *Terms) { x.Closes = before(x.Event, 10*time.Minute) }, nil},
		{"closes 9:59 before the event", func(x *Terms) { x.Closes = before(x.Event, 10*time.Minute-time.Second) }, []string{"event"}},
		{"lock 10 minutes before", func(x *Terms) { x.LockMinutes = 10 }, nil},
		{"lock 9 minutes before", func(x *Terms) { x.LockMinutes = 9 }, []string{"lock_minutes"}},
		{"10000 places", func(x *Terms) { x.Winners, x.Alternates = 1, 9999 }, nil},
		{"10001 places", func(x *Terms) { x.Winners, x.Alternates = 1, 10000 }, []string{"alternates"}},
		{"no winner", func(x *Terms) { x.Winners = 0 }, []string{"winners"}},
		{"two things", func(x *Terms) { x.Winners, x.MinAge = 0, -1 }, []string{"winners", "min_age"}},
		{"follows itself", func(x *Terms) { x.Follows = x.Draw }, []string{"follows"}},
		{"control character", func(x *Terms) { x.Prize = "boots\x07" }, []string{"prize"}},
		{"line break", func(x *Terms) { x.Title = "a\nb" }, []string{"title"}},
		{"201 characters", func(x *Terms) { x.Sponsor = strings.Repeat("é", 201) }, []string{"sponsor"}},
		{"200 characters", func(x *Terms) { x.Sponsor = strings.Repeat("é", 200) }, nil},
		{"blank rules", func(x *Terms) { x.Rules = " \n" }, []string{"rules"}},
		{"unknown country", func(x *Terms) { x.Region.Live = []string{"XX"} }, []string{"region.live"}},
		{"no sizes in the run", func(x *Terms) { x.Sizes.Run = nil }, []string{"sizes.run"}},
		{"unknown scale", func(x *Terms) { x.Sizes.Scale = 9 }, []string{"sizes.scale"}},
		{"carriers", func(x *Terms) { x.Carriers = "pigeon" }, []string{"carriers"}},
		{"carriers known", func(x *Terms) { x.Carriers = CarriersPrivate }, nil},
		{"beacon", func(x *Terms) { x.Beacon = "other" }, []string{"beacon"}},
		{"question key twice", func(x *Terms) { x.Questions = append(x.Questions, x.Questions[0]) }, []string{"questions.1.key"}},
		{"question kind", func(x *Terms) { x.Questions[0].Kind = "number" }, []string{"questions.0.kind"}},
		{"one choice", func(x *Terms) { x.Questions[0].Kind, x.Questions[0].Choices = KindChoice, []string{"a"} }, []string{"questions.0.choices"}},
		{"nonexistent time", func(x *Terms) { x.Opens = Moment{Local: "2026-03-08T02:30", Zone: "America/New_York"} }, []string{"opens"}},
		{"repeated time", func(x *Terms) { x.Opens = Moment{Local: "2026-11-01T01:30", Zone: "America/New_York"} }, []string{"opens"}},
		{"abbreviation", func(x *Terms) { x.Opens.Zone = "EST" }, []string{"opens"}},
		{"an hour of drift", func(x *Terms) { x.Event.UTC = x.Event.UTC.Add(time.Hour) }, nil},
		{"another day", func(x *Terms) { x.Event.UTC = x.Event.UTC.Add(24 * time.Hour) }, []string{"event"}},
	} {
		terms := bootTerms()
		c.change(&terms)
		var got []string
		for _, p := range asProblems(terms.Validate()) {
			got = append(got, p.Field)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got problems in %v, want %v", c.name, got, c.want)
		}
	}
}

// A repeated time is settled by its instant (time.md, TZ-09).
func TestRepeatedTimeSettled(t *testing.T) {
	for _, utc := range []string{"2026-11-01T05:30:00Z", "2026-11-01T06:30:00Z"} {
		text := strings.Replace(bootJSON, `"opens": {"local": "2026-11-27T18:00", "zone": "America/New_York"}`,
			`"opens": {"local": "2026-11-01T01:30", "zone": "America/New_York", "utc": "`+utc+`"}`, 1)
		got, err := ReadTerms(strings.NewReader(text))
		if err != nil || got.Opens.UTC.Format(time.RFC3339) != utc {
			t.Errorf("%s: got %v, %v", utc, got.Opens.UTC, err)
		}
	}
}

// before is the moment that much before another.
func before(m Moment, d time.Duration) Moment {
	out, err := MomentAt(m.UTC.Add(-d), m.Zone)
	if err != nil {
		panic(err)
	}
	return out
}

func TestProblemsIsAnError(t *testing.T) {
	err := Terms{}.Validate()
	var p Problems
	if !errors.As(err, &p) || len(p.Of("title")) != 1 || p.Of("nothing") != nil {
		t.Errorf("got %v", err)
	}
}

// What ReadTerms takes prints to a text that it reads back to the same value
// and prints to the same bytes.
func FuzzReadTerms(f *testing.F) {
	f.Add([]byte(bootJSON))
	f.Add([]byte(`{"draw":"a","opens":{"local":"2026-11-01T01:30","zone":"America/New_York","utc":"2026-11-01T05:30:00Z"}}`))
	f.Add([]byte(`[[{`))
	f.Fuzz(func(t *testing.T, data []byte) {
		terms, err := ReadTerms(bytes.NewReader(data))
		if err != nil {
			return
		}
		out, err := terms.JSON()
		if err != nil {
			t.Fatal(err)
		}
		again, err := ReadTerms(bytes.NewReader(out))
		if err != nil {
			t.Fatalf("read back: %v\n%s", err, out)
		}
		out2, err := again.JSON()
		if err != nil || !bytes.Equal(out, out2) {
			t.Fatalf("printed twice, differs: %v\n%s\n%s", err, out, out2)
		}
	})
}
