package draw_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// making is a draw as the host makes it, from a frozen publication.
func making(t *testing.T, f *forge) (draw.Making, publication) {
	t.Helper()
	p := f.make()
	r := draw.Check(t.Context(), p, draw.Options{})
	m := draw.Making{Opening: *r.Opening, Freeze: *r.Freeze, Secrets: f.secrets(), Drawn: f.drawn,
		Roll: bytes.NewReader(p.MapFS[draw.RollFile].Data)}
	if f.chain != nil {
		m.Chain, m.Beacon = f.chain, &draw.Beacon{Round: f.round, Signature: f.sig}
	}
	return m, p
}

// MakeRecord makes what the forge makes from the protocol's page.
func TestMakeRecord(t *testing.T) {
	for name, set := range map[string]func(f *forge){
		"beacon": func(*forge) {}, "no beacon": func(f *forge) { f.noBeacon() },
		"withheld": func(f *forge) { f.withheld = []string{"sponsor"} }, "empty roll": func(f *forge) { f.roll = nil },
	} {
		f := newForge(t)
		set(f)
		f.stage = draw.StageDrawn
		m, p := making(t, f)
		r, err := draw.MakeRecord(m)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		want, _, _ := strings.Cut(string(p.MapFS[draw.RecordFile].Data), "\n\n")
		if string(r.Text()) != want+"\n" {
			t.Errorf("%s: got\n%swant\n%s", name, r.Text(), want)
		}
	}
}

// It refuses whatever its own check would fault.
func TestMakeRecordRefuses(t *testing.T) {
	for want, spoil := range map[string]func(m *draw.Making){
		"drawn not before 2026-08-22T21:40:00Z": func(m *draw.Making) { m.Drawn = roundTime.Add(-time.Second) },
		"names another opening":                 func(m *draw.Making) { m.Opening.Event = m.Opening.Event.Add(time.Second) },
		"the secret of sponsor whose seal":      func(m *draw.Making) { m.Secrets[1].Value[0] ^= 1 },
		"want 2 secrets":                        func(m *draw.Making) { m.Secrets = m.Secrets[:1] },
		"in place 1":                            func(m *draw.Making) { slices.Reverse(m.Secrets) },
		"never withheld":                        func(m *draw.Making) { m.Secrets[0] = draw.Secret{Role: "host", Withheld: true} },
		"signature is missing":                  func(m *draw.Making) { m.Beacon = nil },
		"beacon's signature of round": func(m *draw.Making) {
			m.Beacon.Signature = slices.Clone(m.Beacon.Signature)
			m.Beacon.Signature[47] ^= 1
		},
		"beacon's round 31543812": func(m *draw.Making) { m.Beacon.Round-- },
		"want the chain":          func(m *draw.Making) { m.Chain = nil },
		"not the frozen one":      func(m *draw.Making) { m.Roll = strings.NewReader("") },
		"roll.txt: line 1":        func(m *draw.Making) { m.Roll = strings.NewReader("x\n") },
	} {
		m, _ := making(t, newForge(t))
		spoil(&m)
		if r, err := draw.MakeRecord(m); err == nil || !strings.Contains(err.Error(), want) || len(r.Places) > 0 {
			t.Errorf("got %v, want it to say %q", err, want)
		}
	}
	m, _ := making(t, newForge(t).noBeacon())
	m.Beacon = &draw.Beacon{Round: 1, Signature: make([]byte, 48)}
	if _, err := draw.MakeRecord(m); err == nil {
		t.Error("a beacon that the opening does not name is taken")
	}
}

// The draw waits for the round where that comes after the event.
func TestNotBeforeTheRound(t *testing.T) {
	f := newForge(t)
	f.opening.Event = roundTime.Add(-2 * time.Second)
	m, _ := making(t, f)
	if got := m.NotBefore(); !got.Equal(roundTime) {
		t.Errorf("got %s, want the round's time %s", got, roundTime)
	}
	f.drawn, f.outcomes = f.opening.Event, []draw.Outcome{{}}
	if r := f.check(draw.Options{}); r.Status != 1 || !faultAt(r, draw.RecordFile) {
		t.Errorf("drawn at the event, before the round: got %d\n%s", r.Status, lines(r))
	}
}

// Find: where a ticket stands, its score, and its rank in the whole order.
func TestFind(t *testing.T) {
	f := newForge(t).noBeacon()
	f.roll, f.left, f.stage = newTickets(t, 30, 5000), []leftOut{{draw.Ticket([]byte("ZZZZZZZZZZZZZZZZ")), draw.Withdrawn}}, draw.StageDrawn
	p := f.make()
	seed := *draw.Check(t.Context(), p, draw.Options{}).Seed
	all := slowOrder(seed, f.roll, len(f.roll))
	for _, rank := range []int{1, 2, 700, 5000} {
		want := all[rank-1]
		r := draw.Check(t.Context(), p, draw.Options{Find: []draw.Ticket{want.Ticket, f.left[0].ticket, {}}})
		if len(r.Found) != 3 {
			t.Fatalf("%d answers, want 3", len(r.Found))
		}
		got, line := r.Found[0], slices.Index(f.roll, want.Ticket)+1
		if !got.Found || !got.Standing.In || got.Rank != int64(rank) || *got.Score != want.Score || got.Standing.Line != int64(line) ||
			got.Standing.Commitment != f.entry(want.Ticket).Commitment() {
			t.Errorf("rank %d: got %+v", rank, got)
		}
		if left := r.Found[1]; !left.Found || left.Standing.In || left.Standing.Reason != draw.Withdrawn || left.Standing.Line != 1 || left.Score != nil {
			t.Errorf("left out: got %+v", left)
		}
		if none := r.Found[2]; none.Found || !strings.Contains(none.String(), "neither list") {
			t.Errorf("in no list: got %+v", none)
		}
	}
}

// The protocol, "Beacon": what a check does that does not know the chain.
func TestUnknownChain(t *testing.T) {
	f := newForge(t)
	useOtherChain(t0)(f)
	sig := f.sig
	for name, c := range map[string]struct {
		stage  draw.Stage
		relays func(context.Context, string, uint64) ([]byte, error)
		status int
		say    string
	}{
		"open":                  {draw.StageOpen, nil, 0, "weak: the beacon's chain is not quicknet"},
		"frozen":                {draw.StageFrozen, nil, 2, "beacon not checked"},
		"drawn":                 {draw.StageDrawn, nil, 2, "beacon not checked"},
		"relays silent":         {draw.StageDrawn, answer(nil, errSlow), 2, "beacon not checked: no relay answered"},
		"relays have the same":  {draw.StageDrawn, answer(sig, nil), 2, "its relays have the same"},
		"relays have another":   {draw.StageDrawn, answer(sig[1:], nil), 1, "the beacon's relays have another signature"},
		"a fault wins, unknown": {draw.StageOutcome, nil, 1, "rules.txt"},
	} {
		f.stage = c.stage
		p := f.make()
		if c.status == 1 && c.relays == nil {
			p.MapFS[draw.RulesFile].Data = []byte("other\n")
		}
		r := draw.Check(t.Context(), p, draw.Options{Relays: c.relays})
		if r.Status != c.status || !strings.Contains(lines(r), c.say) || !r.Weak {
			t.Errorf("%s: got %d, weak %v, want %d and %q\n%s", name, r.Status, r.Weak, c.status, c.say, lines(r))
		}
	}
}

func answer(sig []byte, err error) func(context.Context, string, uint64) ([]byte, error) {
	return func(context.Context, string, uint64) ([]byte, error) { return sig, err }
}

// Two receipts of one ticket with one time are proof by themselves.
func TestTwoReceiptsOfOneTime(t *testing.T) {
	f := newForge(t)
	p, opt := f.make(), draw.Options{}
	given(func(*forge, *draw.Receipt) {})(f, p, &opt)
	given(func(*forge, *draw.Receipt) {})(f, p, &opt)
	if r := draw.Check(t.Context(), p, opt); r.Status != 0 {
		t.Errorf("one receipt twice: got %d\n%s", r.Status, lines(r))
	}
	given(func(_ *forge, r *draw.Receipt) { r.Commitment = draw.Hash(nil) })(f, p, &opt)
	if r := draw.Check(t.Context(), p, opt); r.Status != 1 || !strings.Contains(lines(r), "two faces") {
		t.Errorf("two receipts: got %d\n%s", r.Status, lines(r))
	}
}

// A report goes through JSON and comes back with the same findings, seed and places.
func TestReportAsJSON(t *testing.T) {
	r := newForge(t).check(draw.Options{})
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var again draw.Report
	if err := json.Unmarshal(b, &again); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(again.Findings, r.Findings) || *again.Seed != *r.Seed || !slices.Equal(again.Places, r.Places) || again.Verdict != r.Verdict {
		t.Errorf("comes back as %s", b)
	}
	if !strings.Contains(string(b), `"places":[{"place":1,"ticket":"`) {
		t.Errorf("places stand as %s", b)
	}
}

// A list writer refuses what a reader would.
func TestListWriterRefuses(t *testing.T) {
	low, high := draw.Ticket([]byte("0000000000000000")), draw.Ticket([]byte("ZZZZZZZZZZZZZZZZ"))
	var out bytes.Buffer
	w := draw.NewListWriter(&out)
	if err := errors.Join(w.Add(low, draw.Digest{}), w.Add(high, draw.Digest{})); err != nil {
		t.Fatal(err)
	}
	before := out.String()
	for name, err := range map[string]error{
		"twice": w.Add(high, draw.Digest{}), "descending": w.Add(low, draw.Digest{}), "zero": w.Add(draw.Ticket{}, draw.Digest{}),
		"small letters": w.Add(draw.Ticket([]byte("zzzzzzzzzzzzzzzz")), draw.Digest{}), "a reason": w.AddReason(high, "age"),
	} {
		if err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	if out.String() != before || w.Count() != 2 {
		t.Errorf("%d lines after refusals, want 2", w.Count())
	}
}
