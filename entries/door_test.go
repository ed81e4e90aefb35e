package entries

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// doorway is a store in memory that can be made to fail in the middle.
type doorway struct {
	rows    []New
	batches int
	failAt  int // the batch that fails; 0 none
}

var errCut = errors.New("the power is gone")

func (s *doorway) ImportEntries(_ context.Context, _ string, now time.Time, rows []New) ([]ImportedStamp, error) {
	if s.batches++; s.batches == s.failAt {
		return nil, errCut
	}
	out := make([]ImportedStamp, len(rows))
	for i, n := range rows {
		out[i] = ImportedStamp{Stamp: Stamp{Entered: now}}
		for _, old := range s.rows {
			if old.Ticket == n.Ticket && old.LinkHash == n.LinkHash {
				n.Ticket = draw.Ticket{}
			} else if n.Reason == "" && old.Reason == "" && old.Entry.Key == n.Entry.Key {
				out[i].Err, n.Ticket = ErrAlreadyIn, draw.Ticket{}
			}
		}
		if n.Ticket != (draw.Ticket{}) {
			s.rows = append(s.rows, n)
		}
	}
	return out, nil
}

func (s *doorway) EntriesByKey(_ context.Context, _ string, keys []string) (map[string]string, error) {
	found := map[string]string{}
	for _, r := range s.rows {
		for _, k := range keys {
			if r.Reason == "" && r.Entry.Key == k {
				found[k] = r.Origin
			}
		}
	}
	return found, nil
}

func (s *doorway) TicketsIn(_ context.Context, _ string, tickets []draw.Ticket) (map[draw.Ticket]bool, error) {
	found := map[draw.Ticket]bool{}
	for _, r := range s.rows {
		for _, t := range tickets {
			found[t] = found[t] || r.Ticket == t
		}
	}
	return found, nil
}

func (s *doorway) EntryByLink(context.Context, string, [32]byte) (Stored, error) {
	return Stored{}, ErrNoSuchLink
}

// planned reads and plans a file as the desk does.
func planned(t *testing.T, d Door, text string, terms giveaway.Terms) []Planned {
	t.Helper()
	zone, err := giveaway.LoadZone("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	file, err := ReadRows(strings.NewReader(text), nil, zone, terms, ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := d.Plan(t.Context(), "boots", file)
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// fates writes a plan down: "row:fate", by row.
func fates(plan []Planned) string {
	var out []string
	for _, p := range plan {
		out = append(out, fmt.Sprintf("%d:%s", p.Row, p.Fate))
	}
	return strings.Join(out, " ")
}

func newDoor(s *doorway) Door {
	return Door{Store: s, Rand: rand.NewChaCha8([32]byte{1}), Key: [32]byte{7}}
}

func person(email, at string) string { return email + ",2026-12-01 " + at + ",mens 10 D,US,\n" }

// A file is planned, and planned again when it is in; entries that are in
// stand (the protocol's one ticket in the draw for an address).
func TestPlan(t *testing.T) {
	open := giveaway.Giveaway{ID: "boots", State: giveaway.StateOpen}
	ada, bob := person("ada@example.com", "12:00"), person("bob@example.com", "12:00")
	late := "kim@example.com,2026-12-12 12:00,mens 10 D,US,\n"
	first := head + ada + ada + bob + late + person("nonsense", "12:00")
	for _, c := range []struct{ name, before, file, want string }{
		{"new", "", first, "2:in 3:out 4:in 5:out 6:unreadable"},
		{"the same again", first, first, "2:again 3:again 4:again 5:again 6:unreadable"},
		{"in another order", first, head + late + bob + ada + ada, "2:again 3:again 4:again 5:again"},
		{"with rows more", first, first + person("sam@example.com", "13:00"), "2:again 3:again 4:again 5:again 6:unreadable 7:in"},
		{"the same person at another time", head + ada, head + person("ada@example.com", "13:00"), "2:there"},
		{"an earlier row of one who is in", head + ada, head + person("ada@example.com", "11:00") + ada, "2:there 3:there"},
		{"late rows keep nobody out", head + "ada@example.com,2026-12-12 12:00,mens 10 D,US,\n", head + ada, "2:in"},
	} {
		s := &doorway{}
		d := newDoor(s)
		if c.before != "" {
			if _, err := d.Bring(t.Context(), time.Unix(1, 0), open, planned(t, d, c.before, formTerms())); err != nil {
				t.Fatal(err)
			}
		}
		n := len(s.rows)
		if got := fates(planned(t, d, c.file, formTerms())); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		if len(s.rows) != n {
			t.Errorf("%s: planning stored something", c.name)
		}
	}
}

// Cut off after any batch, a second press finishes: every row once, and with
// the tickets that it would have had without the cut.
func TestBringGoesOn(t *testing.T) {
	var b strings.Builder
	b.WriteString(head)
	for i := range 1700 {
		b.WriteString(person(fmt.Sprintf("walker%d@example.com", i%1600), "12:00"))
	}
	open := giveaway.Giveaway{ID: "boots", State: giveaway.StateOpen}
	whole := &doorway{}
	d := newDoor(whole)
	if _, err := d.Bring(t.Context(), time.Unix(1, 0), open, planned(t, d, b.String(), formTerms())); err != nil {
		t.Fatal(err)
	}
	if len(whole.rows) != 1700 || whole.batches != 4 {
		t.Fatalf("%d rows in %d batches, want 1700 in 4", len(whole.rows), whole.batches)
	}
	for cut := 1; cut <= 4; cut++ {
		s := &doorway{failAt: cut}
		d := newDoor(s)
		if _, err := d.Bring(t.Context(), time.Unix(1, 0), open, planned(t, d, b.String(), formTerms())); !errors.Is(err, errCut) {
			t.Fatalf("cut %d: %v", cut, err)
		}
		if len(s.rows) != (cut-1)*500 {
			t.Fatalf("cut %d: %d rows are in", cut, len(s.rows))
		}
		if _, err := d.Bring(t.Context(), time.Unix(2, 0), open, planned(t, d, b.String(), formTerms())); err != nil {
			t.Fatal(err)
		}
		if !sameTickets(s.rows, whole.rows) {
			t.Errorf("cut %d: other tickets than without a cut", cut)
		}
	}
	if _, err := d.Bring(t.Context(), time.Unix(1, 0), giveaway.Giveaway{State: giveaway.StateFrozen}, nil); !errors.Is(err, ErrLocked) {
		t.Errorf("after the lock: %v, want ErrLocked", err)
	}
}

func sameTickets(a, b []New) bool {
	in := map[draw.Ticket]bool{}
	for _, r := range a {
		in[r.Ticket] = true
	}
	for _, r := range b {
		if !in[r.Ticket] {
			return false
		}
	}
	return len(in) == len(a) && len(a) == len(b)
}

// Without the key nobody makes the tickets of a file that they know.
func TestTicketsNeedTheKey(t *testing.T) {
	one, other := newDoor(&doorway{}), newDoor(&doorway{})
	other.Key[0]++
	file := head + person("ada@example.com", "12:00")
	a, b := planned(t, one, file, formTerms())[0], planned(t, other, file, formTerms())[0]
	if a.Ticket == b.Ticket || one.Link("boots", a.Ticket) == other.Link("boots", a.Ticket) || one.Link("boots", a.Ticket) == one.Link("shoes", a.Ticket) {
		t.Error("two keys, or two giveaways, give one ticket or link")
	}
	if !validLink(one.Link("boots", a.Ticket)) {
		t.Error("the link has another form than links have")
	}
}

// The day that a card came. Zones: New York is UTC-5 in December
// (testdata/facts/time.md, section 3); boots are open from 2026-11-27 18:00 to
// 2026-12-11 18:00 there.
func TestPaperTime(t *testing.T) {
	terms := formTerms()
	for day, want := range map[string]string{
		"2026-11-26": "2026-11-26T05:00:00Z", "2026-11-27": "2026-11-27T23:00:00Z", "2026-11-28": "2026-11-28T05:00:00Z",
		"2026-12-11": "2026-12-11T05:00:00Z", "2026-12-12": "2026-12-12T05:00:00Z",
		"": "", "11.12.2026": "", "2026-02-30": "", "2026-12-11T10:00": "",
	} {
		at, err := PaperTime(day, terms)
		if got := at.Format(time.RFC3339); (err == nil) != (want != "") || err == nil && got != want {
			t.Errorf("%q: %s, %v; want %s", day, got, err, want)
		}
	}
}

// A file's rows with one address that no column may be taken for.
func TestColumnMappedToNothing(t *testing.T) {
	zone, _ := giveaway.LoadZone("America/New_York")
	text := "email,time,size,live,name\nada@example.com,2026-12-01 12:00,mens 10 D,US,Ada\n"
	file, err := ReadRows(bytes.NewReader([]byte(text)), Columns{"name": ""}, zone, formTerms(), ImportOptions{})
	if err != nil || file.Rows[0].Entry.Name != "" {
		t.Errorf("%v: name %q, want none", err, file.Rows[0].Entry.Name)
	}
	if _, err := ReadRows(bytes.NewReader([]byte(text)), Columns{"email": ""}, zone, formTerms(), ImportOptions{}); err == nil || !strings.Contains(err.Error(), "no column for email") {
		t.Errorf("no column for the address: %v", err)
	}
}
