package web

import (
	"errors"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// Things of one second stand in the order in which they can only have happened
// (a giveaway is written, looked at, posted, locked, drawn), the last first;
// two of one name stay as they came.
func TestDayRowsOfOneSecond(t *testing.T) {
	at := time.Date(2026, 8, 22, 20, 0, 0, 0, time.UTC)
	want := []dayRow{
		{Name: "Noted", Text: "later", at: at.Add(time.Second)},
		{Name: "Noted", Text: "second", at: at}, {Name: "Noted", Text: "first", at: at},
		{Name: "Drawn", at: at}, {Name: rowLocked, at: at}, {Name: "Sheet kept", at: at}, {Name: "Terms posted", at: at},
		{Name: "Looked at", at: at}, {Name: "Terms written", at: at},
		{Name: "Terms posted", at: at.Add(-time.Second)},
	}
	for range 50 {
		var p dayPage
		p.Rows = append(p.Rows, want...)
		rand.Shuffle(len(p.Rows), func(i, j int) {
			if p.Rows[i].Name != "Noted" && p.Rows[j].Name != "Noted" {
				p.Rows[i], p.Rows[j] = p.Rows[j], p.Rows[i]
			}
		})
		p.newestFirst()
		if !reflect.DeepEqual(p.Rows, want) {
			t.Fatalf("%v", p.Rows)
		}
	}
}

// A file is read once for all its pages, and again where its columns mean
// something else; a file that could not be read is not kept.
func TestLastRead(t *testing.T) {
	var l lastRead
	reads := 0
	get := func(of string) entries.Imported {
		file, err := l.get(draw.Hash([]byte(of)), func() (entries.Imported, error) {
			reads++
			return entries.Imported{Read: len(of), Rows: make([]entries.ImportedRow, 2)}, nil
		})
		if err != nil || file.Read != len(of) {
			t.Fatalf("%d rows, %v", file.Read, err)
		}
		return file
	}
	get("a").Rows[0].Row = 7
	if got := get("a"); reads != 1 || got.Rows[0].Row != 0 {
		t.Errorf("read %d times, want once; a row of one page is another's: %d", reads, got.Rows[0].Row)
	}
	get("bb")
	get("a")
	if reads != 3 {
		t.Errorf("read %d times, want 3", reads)
	}
	l.clear()
	get("a")
	if reads != 4 {
		t.Errorf("read %d times after it was dropped, want 4", reads)
	}
	wrong := errors.New("not to be read")
	if _, err := l.get(draw.Hash([]byte("x")), func() (entries.Imported, error) { return entries.Imported{}, wrong }); !errors.Is(err, wrong) {
		t.Errorf("got %v", err)
	}
	get("x")
	if reads != 5 || l.file.Read != 1 {
		t.Errorf("read %d times, want 5", reads)
	}
}

// Days that are in time, and a prize's sum, are not said twice where there is
// one (a newcomer's finding).
func TestSaidOnce(t *testing.T) {
	day := func(from, to string) giveaway.Terms {
		a, err := time.Parse(time.RFC3339, from)
		if err != nil {
			t.Fatal(err)
		}
		b, err := time.Parse(time.RFC3339, to)
		if err != nil {
			t.Fatal(err)
		}
		return giveaway.Terms{Opens: giveaway.Moment{UTC: a, Zone: "UTC"}, Closes: giveaway.Moment{UTC: b, Zone: "UTC"},
			Winners: 1, Worth: &giveaway.Worth{Cents: 18900, Currency: "USD"}}
	}
	one := day("2026-08-21T08:00:00Z", "2026-08-22T00:00:00Z") // closes at the end of the day
	if got, want := daysWords(one), "Friday 21 August 2026"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := daysWords(day("2026-08-21T08:00:00Z", "2026-08-22T00:00:01Z")), "Friday 21 August 2026 to Saturday 22 August 2026"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	for winners, want := range map[int]string{1: "189.00 US dollars", 2: "189.00 US dollars, together 378.00 US dollars"} {
		one.Winners = winners
		if !slices.Contains(factsOf(one), fact{"Retail value", want}) {
			t.Errorf("%d winners: want %q in %v", winners, want, factsOf(one))
		}
	}
}

// A second number that came before the giveaway was called off goes into no
// draw (draw protocol, "cancelled.txt": no draw follows).
func TestSecondOfOneCalledOff(t *testing.T) {
	off := giveaway.Giveaway{State: giveaway.StateCancelled}
	if got, want := secondWords(off, true, false), "It was handed in; nothing is drawn with it."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// When the list locks itself, as giveaway.Giveaway.LockAt has it, before and
// after the terms are posted: 30 minutes before the draw, or with the close
// where that is later.
func TestLockIsTold(t *testing.T) {
	event := time.Date(2026, 8, 22, 21, 40, 0, 0, time.UTC)
	for minutes, want := range map[int][2]string{
		15:  {"as soon as entries have closed, fewer than 30 minutes before the draw; so there is no time", "The list locks itself at that moment"},
		30:  {"as soon as entries have closed, 30 minutes before the draw; so there is no time", "The list locks itself at that moment"},
		120: {"Saturday 22 August 2026, 5:10 pm New York time (30 minutes before the draw)", "it locks itself on Saturday 22 August 2026, 5:10 pm New York time."},
	} {
		g := giveaway.Giveaway{}
		g.Terms.LockMinutes, g.Terms.Event = 30, giveaway.Moment{UTC: event, Zone: "America/New_York"}
		g.Terms.Closes.UTC = event.Add(-time.Duration(minutes) * time.Minute)
		g.Opening.Closes, g.Opening.Event = g.Terms.Closes.UTC, event
		if got := lockWords(g.Terms); !strings.Contains(got, want[0]) {
			t.Errorf("%d minutes, before posting: %s", minutes, got)
		}
		if got := (&dayPage{G: g}).thenLock(); !strings.Contains(got, want[1]) {
			t.Errorf("%d minutes, while entries are taken: %s", minutes, got)
		}
	}
}
