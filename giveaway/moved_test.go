package giveaway

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"
)

// A giveaway made with the zone data of 2025 and read with newer ones: the
// instants that both give stand in testdata/facts/time.md (TZ-36, TZ-37:
// Alberta and Manitoba stopped changing clocks in 2026).
func TestMoved(t *testing.T) {
	needFreshZones(t)
	stale := 0
	for _, c := range readTimeFacts(t).Cases {
		if c.Stale == nil || len(*c.Stale) != 1 || c.Kind != "unique" {
			continue
		}
		stale++
		terms := bootTerms()
		terms.Event = Moment{Local: c.Local, Zone: c.Zone, UTC: minute(t, (*c.Stale)[0])}
		got := Moved(terms)
		if len(got) != 1 || got[0].Field != "event" || got[0].Said != terms.Event {
			t.Fatalf("%s: got %+v", c.ID, got)
		}
		if len(got[0].Means) != 1 || !got[0].Means[0].Equal(minute(t, c.UTC[0])) {
			t.Errorf("%s: the wall time means %v now, want %s", c.ID, got[0].Means, c.UTC[0])
		}
		apart := terms.Event.UTC.Sub(minute(t, c.UTC[0]))
		wall, _, _ := parseLocal(c.Local)
		if want := printLocal(wall.Add(apart)); got[0].Shows != want {
			t.Errorf("%s: clocks show %s at the announced instant, want %s", c.ID, got[0].Shows, want)
		}
		terms.Event.UTC = minute(t, c.UTC[0])
		if got := Moved(terms); len(got) > 0 {
			t.Errorf("%s: nothing moved, but got %+v", c.ID, got)
		}
	}
	if stale < 2 {
		t.Errorf("only %d cases of old zone data", stale)
	}
}

func TestMovedInOrder(t *testing.T) {
	terms := bootTerms()
	if got := Moved(terms); len(got) > 0 {
		t.Fatalf("got %+v", got)
	}
	for _, m := range []*Moment{&terms.Opens, &terms.Closes, &terms.Event} {
		m.UTC = m.UTC.Add(time.Hour)
	}
	var fields []string
	for _, m := range Moved(terms) {
		fields = append(fields, m.Field)
	}
	if got := strings.Join(fields, " "); got != "opens closes event" {
		t.Errorf("got %s", got)
	}
	terms.Opens.Zone = "America/Nowhere"
	if got := Moved(terms); len(got) != 2 {
		t.Errorf("an unknown zone: got %+v", got)
	}
}

// timedJSON are terms with three times as JSON.
func timedJSON(t *testing.T, opens, closes, event Moment) string {
	t.Helper()
	x := bootTerms()
	x.Opens, x.Closes, x.Event = opens, closes, event
	data, err := x.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var plain map[string]any
	if err := json.Unmarshal(data, &plain); err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"opens", "closes", "event"} {
		if m := plain[field].(map[string]any); m["utc"] == "0001-01-01T00:00:00Z" {
			delete(m, "utc")
		}
	}
	out, err := json.Marshal(plain)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// The windows across a change of clocks (testdata/facts/time.md, section 4)
// come through terms, their posted text and their rules unchanged.
func TestWindowsThroughTerms(t *testing.T) {
	for _, w := range readTimeFacts(t).Windows {
		later, err := MomentAt(minute(t, w.ClosesUTC).Add(time.Hour), w.Zone)
		if err != nil {
			t.Fatal(err)
		}
		text := timedJSON(t, Moment{Local: w.OpensLocal, Zone: w.Zone}, Moment{Local: w.ClosesLocal, Zone: w.Zone}, Moment{Local: later.Local, Zone: w.Zone})
		terms, err := ReadTerms(strings.NewReader(text))
		if err != nil {
			t.Errorf("%s: %v", w.ID, err)
			continue
		}
		if !terms.Opens.UTC.Equal(minute(t, w.OpensUTC)) || !terms.Closes.UTC.Equal(minute(t, w.ClosesUTC)) {
			t.Errorf("%s: got %v to %v", w.ID, terms.Opens.UTC, terms.Closes.UTC)
		}
		if got := terms.Closes.UTC.Sub(terms.Opens.UTC); got != time.Duration(w.Hours)*time.Hour {
			t.Errorf("%s: got %v, want %d hours", w.ID, got, w.Hours)
		}
		terms.Rules = ""
		rules := terms.RulesText()
		for _, at := range []time.Time{terms.Opens.UTC, terms.Closes.UTC} {
			if want := at.Format("Monday 2 January 2006, 3:04 pm") + " (UTC)"; !strings.Contains(strings.ReplaceAll(rules, "midnight, as the day begins", "12:00 am"), want) {
				t.Errorf("%s: the rules lack %q", w.ID, want)
			}
		}
		if len(Moved(terms)) > 0 {
			t.Errorf("%s: moved", w.ID)
		}
	}
}

// Each wall time of the facts as the time of entries' end: one that means one
// instant is taken, one that never comes or comes twice is asked about, and
// one that comes twice is settled by its instant.
func TestWallTimesThroughTerms(t *testing.T) {
	for _, c := range readTimeFacts(t).Cases {
		if c.Stale != nil && len(StaleZones()) > 0 {
			continue // TestReadings says so
		}
		around := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
		opens, _ := MomentAt(around, c.Zone)
		event, _ := MomentAt(around.AddDate(2, 0, 0), c.Zone)
		read := func(m Moment) (Terms, error) {
			return ReadTerms(strings.NewReader(timedJSON(t, opens, m, event)))
		}
		terms, err := read(Moment{Local: c.Local, Zone: c.Zone})
		if c.Kind == "unique" {
			if err != nil || !terms.Closes.UTC.Equal(minute(t, c.UTC[0])) {
				t.Errorf("%s: got %v, %v", c.ID, terms.Closes.UTC, err)
			}
			continue
		}
		var p Problems
		word := map[string]string{"nonexistent": "jump over", "repeated": "comes twice"}[c.Kind]
		if !errors.As(err, &p) || len(p.Of("closes")) != 1 || !strings.Contains(p.Of("closes")[0], word) {
			t.Errorf("%s: got %v, want a problem that says %q", c.ID, err, word)
		}
		for _, utc := range c.UTC {
			terms, err := read(Moment{Local: c.Local, Zone: c.Zone, UTC: minute(t, utc)})
			if err != nil || !terms.Closes.UTC.Equal(minute(t, utc)) || len(Moved(terms)) > 0 {
				t.Errorf("%s: settled as %s: got %v, %v", c.ID, utc, terms.Closes.UTC, err)
			}
		}
	}
}
