package giveaway

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// testHost is a host with a store in memory and a fixed key and chance.
func testHost(t *testing.T) (Host, *memStore) {
	t.Helper()
	store := newMemStore()
	chance := &lockedReader{r: rand.NewChaCha8([32]byte{1})}
	signer, err := draw.NewSigner(rand.NewChaCha8([32]byte{2}), "slow-miles.example")
	if err != nil {
		t.Fatal(err)
	}
	return Host{Store: store, Outcomes: store, Keys: oneKey{signer}, Rand: chance}, store
}

type lockedReader struct {
	mu sync.Mutex
	r  *rand.ChaCha8
}

func (l *lockedReader) Read(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.r.Read(b)
}

type oneKey struct{ signer draw.Signer }

func (k oneKey) Signer(context.Context) (draw.Signer, error) { return k.signer, nil }

// published is a round of quicknet as testdata/vectors/drand-quicknet.json has
// it, with its source.
type published struct {
	Round     uint64
	Signature string
	Time      int64 `json:"round_time_unix"`
}

func publishedRound(t *testing.T, round uint64) published {
	t.Helper()
	data, err := os.ReadFile("../testdata/vectors/drand-quicknet.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Rounds []published }
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	for _, r := range file.Rounds {
		if r.Round == round {
			return r
		}
	}
	t.Fatalf("no round %d among %d", round, len(file.Rounds))
	return published{}
}

// relay answers with one published round, and counts.
type relay struct {
	published
	asked int
}

func (r *relay) Fetch(_ context.Context, _ beacon.Chain, round uint64) ([]byte, string, error) {
	r.asked++
	if round != r.Round {
		return nil, "", fmt.Errorf("asked for round %d", round)
	}
	sig, err := hex.DecodeString(r.Signature)
	return sig, "test", err
}

// roundTerms are terms whose event is the time of a published round.
func roundTerms(r published) Terms {
	terms := bootTerms()
	event := time.Unix(r.Time, 0)
	terms.Event = Moment{UTC: event.UTC(), Zone: "UTC", Local: printLocal(event.UTC())}
	terms.Closes = before(terms.Event, 2*time.Hour)
	terms.Opens = before(terms.Event, 48*time.Hour)
	return terms
}

// addTickets puts n tickets into the store, every tenth excluded.
func addTickets(store *memStore, id string, n int) {
	var lines []TicketLine
	r := rand.NewChaCha8([32]byte{3})
	reasons := []string{draw.Duplicate, draw.Withdrawn, draw.Region, draw.Ineligible, draw.Unconfirmed}
	for i := range n {
		ticket, _ := draw.NewTicket(r)
		line := TicketLine{Ticket: ticket, Commitment: sha256.Sum256(ticket[:])}
		if i%10 == 9 {
			line.Reason = reasons[i/10%len(reasons)]
		}
		lines = append(lines, line)
	}
	slices.SortFunc(lines, func(a, b TicketLine) int { return strings.Compare(a.Ticket.String(), b.Ticket.String()) })
	store.tickets[id] = lines
}

// checkVerdict checks the publication with the checker of the draw package,
// whose own tests hold it against samples made by another implementation.
func checkVerdict(t *testing.T, store *memStore, id, verdict string, stage draw.Stage, remarks int) draw.Report {
	t.Helper()
	report := draw.Check(context.Background(), store.Publication(id), draw.Options{})
	if report.Status != 0 || report.Verdict != verdict || report.Stage != stage || report.Count(draw.Remark) != remarks {
		t.Errorf("got status %d, %q, %s, %d remarks; want 0, %q, %s, %d\n%v", report.Status, report.Verdict,
			report.Stage, report.Count(draw.Remark), verdict, stage, remarks, report.Findings)
	}
	return report
}

func TestFromDraftToRecord(t *testing.T) {
	h, store := testHost(t)
	r := &relay{published: publishedRound(t, 30662992)}
	h.Beacons = r
	ctx, terms := context.Background(), roundTerms(r.published)
	id, start := terms.Draw, terms.Opens.UTC.Add(-time.Hour)

	g, err := h.Draft(ctx, start, terms)
	if err != nil || g.State != StateDraft || len(store.files[id]) != 0 {
		t.Fatalf("draft: %v, %s, files %v", err, g.State, store.files[id])
	}
	g, err = h.Open(ctx, start.Add(time.Minute), id)
	if err != nil || g.State != StateOpen || g.Revision != 1 || g.OpeningHash != draw.Hash(g.Opening.Text()) {
		t.Fatalf("open: %v, %+v", err, g)
	}
	checkVerdict(t, store, id, draw.ValidSoFar, draw.StageOpen, 0)

	addTickets(store, id, 3000)
	store.stamps[id] = terms.Closes.UTC.Add(-time.Second)
	g, err = h.Lock(ctx, terms.Closes.UTC.Add(5*time.Second), id)
	if err != nil || g.State != StateFrozen || !g.Frozen.Equal(terms.Closes.UTC.Add(5*time.Second)) {
		t.Fatalf("lock: %v, %s, frozen %v", err, g.State, g.Frozen)
	}
	report := checkVerdict(t, store, id, draw.ValidSoFar, draw.StageFrozen, 0)
	if report.Tickets != 2700 || report.Excluded != 300 || report.Freeze.Round != r.Round {
		t.Errorf("got %d tickets, %d excluded, round %d", report.Tickets, report.Excluded, report.Freeze.Round)
	}

	g, err = h.Draw(ctx, terms.Event.UTC.Add(90*time.Second+time.Millisecond), id, nil)
	if err != nil || g.State != StateDrawn || r.asked != 1 {
		t.Fatalf("draw: %v, %s, asked %d times", err, g.State, r.asked)
	}
	report = checkVerdict(t, store, id, draw.Valid, draw.StageDrawn, 0)
	if len(report.Places) != 4 || report.Weak {
		t.Errorf("got %d places, weak %v", len(report.Places), report.Weak)
	}
}

func TestDrawWithPastedValue(t *testing.T) {
	good := publishedRound(t, 30662992)
	other := publishedRound(t, 30662982)
	sig := func(p published) []byte { b, _ := hex.DecodeString(p.Signature); return b }
	h, store := testHost(t)
	ctx, terms := context.Background(), roundTerms(good)
	locked(t, h, store, terms, 5)
	at := terms.Event.UTC.Add(time.Second)
	for _, c := range []struct {
		name   string
		pasted *draw.Beacon
	}{
		{"nothing, and no relay", nil},
		{"another round, named", &draw.Beacon{Round: other.Round, Signature: sig(other)}},
		{"another round's value", &draw.Beacon{Round: good.Round, Signature: sig(other)}},
		{"cut short", &draw.Beacon{Round: good.Round, Signature: sig(good)[:47]}},
		{"a byte too many", &draw.Beacon{Round: good.Round, Signature: append(sig(good), 0)}},
		{"empty", &draw.Beacon{}},
	} {
		if _, err := h.Draw(ctx, at, terms.Draw, c.pasted); !errors.Is(err, ErrNoBeacon) {
			t.Errorf("%s: got %v, want ErrNoBeacon", c.name, err)
		}
	}
	if store.files[terms.Draw][draw.RecordFile] != nil {
		t.Fatal("a record was published without a beacon value")
	}
	if _, err := h.Draw(ctx, at, terms.Draw, &draw.Beacon{Signature: sig(good)}); err != nil {
		t.Fatal(err)
	}
	checkVerdict(t, store, terms.Draw, draw.Valid, draw.StageDrawn, 0)
}

// locked brings a giveaway to frozen.
func locked(t *testing.T, h Host, store *memStore, terms Terms, tickets int) {
	t.Helper()
	opened(t, h, store, terms, tickets)
	if _, err := h.Lock(context.Background(), terms.Closes.UTC, terms.Draw); err != nil {
		t.Fatal(err)
	}
}

func opened(t *testing.T, h Host, store *memStore, terms Terms, tickets int) {
	t.Helper()
	ctx, start := context.Background(), terms.Opens.UTC.Add(-time.Hour)
	_, err1 := h.Draft(ctx, start, terms)
	_, err2 := h.Open(ctx, start, terms.Draw)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	addTickets(store, terms.Draw, tickets)
}

func noBeacon() Terms {
	terms := bootTerms()
	terms.Beacon = BeaconNone
	return terms
}

func TestEmptyListAndNoBeacon(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	locked(t, h, store, terms, 0)
	if _, err := h.Draw(context.Background(), terms.Event.UTC, terms.Draw, nil); err != nil {
		t.Fatal(err)
	}
	report := checkVerdict(t, store, terms.Draw, "valid, weak", draw.StageDrawn, 1)
	if len(report.Places) != 0 || !report.Weak {
		t.Errorf("got %d places, weak %v", len(report.Places), report.Weak)
	}
}

// A list longer than a chunk comes out whole: 82 bytes a line, 65536 a chunk.
func TestChunks(t *testing.T) {
	for _, tickets := range []int{799, 800, 888, 2500} {
		h, store := testHost(t)
		terms := noBeacon()
		locked(t, h, store, terms, tickets)
		report := checkVerdict(t, store, terms.Draw, "valid so far, weak", draw.StageFrozen, 1)
		roll, _ := fs.ReadFile(store.Publication(terms.Draw), draw.RollFile)
		if report.Tickets+report.Excluded != int64(tickets) || int64(len(roll)) != 82*report.Tickets {
			t.Errorf("%d tickets: got %d and %d, roll of %d bytes", tickets, report.Tickets, report.Excluded, len(roll))
		}
	}
}

func TestTooEarlyTooLate(t *testing.T) {
	h, store := testHost(t)
	terms := roundTerms(publishedRound(t, 30662992))
	opened(t, h, store, terms, 5)
	ctx, id := context.Background(), terms.Draw
	var early ErrTooEarly
	if _, err := h.Lock(ctx, terms.Closes.UTC.Add(-time.Millisecond), id); !errors.As(err, &early) || !early.Until.Equal(terms.Closes.UTC) {
		t.Errorf("lock before closing: got %v", err)
	}
	for _, late := range []time.Duration{0, time.Hour} {
		if _, err := h.Lock(ctx, terms.Event.UTC.Add(late), id); !errors.Is(err, ErrTooLate) {
			t.Errorf("lock %v after the event: got %v", late, err)
		}
	}
	if _, err := h.Draw(ctx, terms.Event.UTC, id, nil); !errors.Is(err, ErrState) {
		t.Errorf("draw before the lock: got %v", err)
	}
	if _, err := h.Lock(ctx, terms.Event.UTC.Add(-time.Millisecond), id); err != nil {
		t.Fatalf("lock in the last second: %v", err)
	}
	if _, err := h.Draw(ctx, terms.Event.UTC.Add(-time.Millisecond), id, nil); !errors.As(err, &early) || !early.Until.Equal(terms.Event.UTC) {
		t.Errorf("draw before the event: got %v", err)
	}
	// frozen less than 10 minutes before the event is the protocol's remark
	checkVerdict(t, store, id, draw.ValidSoFar, draw.StageFrozen, 1)
}

// An event between two rounds has to wait for the next round.
func TestDrawWaitsForTheRound(t *testing.T) {
	round := publishedRound(t, 30662992)
	terms := roundTerms(round)
	terms.Event = before(terms.Event, time.Second)
	h, store := testHost(t)
	h.Beacons = &relay{published: round}
	locked(t, h, store, terms, 5)
	var early ErrTooEarly
	if _, err := h.Draw(context.Background(), terms.Event.UTC, terms.Draw, nil); !errors.As(err, &early) || early.Until.Unix() != round.Time {
		t.Errorf("at the event: got %v, want to wait for %d", err, round.Time)
	}
	if _, err := h.Draw(context.Background(), time.Unix(round.Time, 0), terms.Draw, nil); err != nil {
		t.Errorf("at the round's time: %v", err)
	}
}

func TestUnknownGiveaway(t *testing.T) {
	h, _ := testHost(t)
	ctx, now := context.Background(), time.Unix(1_700_000_000, 0)
	_, open := h.Open(ctx, now, "none")
	_, revise := h.Revise(ctx, now, "none", Change{})
	_, lock := h.Lock(ctx, now, "none")
	_, drawn := h.Draw(ctx, now, "none", nil)
	for i, err := range []error{open, revise, lock, drawn} {
		if !errors.Is(err, ErrNotFound) {
			t.Errorf("move %d: got %v, want ErrNotFound", i, err)
		}
	}
}

func TestDraftAndOpenRefuse(t *testing.T) {
	h, store := testHost(t)
	ctx, terms := context.Background(), noBeacon()
	now := terms.Opens.UTC
	var p Problems
	bad := terms
	bad.Winners = 0
	if _, err := h.Draft(ctx, now, bad); !errors.As(err, &p) || p[0].Field != "winners" {
		t.Errorf("draft of wrong terms: got %v", err)
	}
	if _, err := h.Lock(ctx, now, terms.Draw); !errors.Is(err, ErrNotFound) {
		t.Errorf("lock of nothing: got %v", err)
	}
	opened(t, h, store, terms, 1)
	if _, err := h.Draft(ctx, now, terms); !errors.Is(err, ErrState) {
		t.Errorf("draft over an open giveaway: got %v", err)
	}
	other := terms
	other.Draw = "later-boots"
	if _, err := h.Draft(ctx, now, other); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Open(ctx, terms.Closes.UTC, other.Draw); !errors.As(err, &p) || p[0].Field != "closes" {
		t.Errorf("open after closing: got %v", err)
	}
	if _, err := h.Draw(ctx, now, other.Draw, nil); !errors.Is(err, ErrState) {
		t.Errorf("draw of a draft: got %v", err)
	}
}

// Every button pressed by fifty at once: one change, fifty equal answers.
func TestFiftyAtOnce(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	ctx, id, start := context.Background(), terms.Draw, terms.Opens.UTC.Add(-time.Hour)
	if _, err := h.Draft(ctx, start, terms); err != nil {
		t.Fatal(err)
	}
	rules := "Other rules.\n"
	moves := []struct {
		name, step string
		state      State
		move       func() (Giveaway, error)
	}{
		{"open", "open", StateOpen, func() (Giveaway, error) { return h.Open(ctx, start, id) }},
		{"revise", "revise", StateOpen, func() (Giveaway, error) { return h.Revise(ctx, start, id, Change{Rules: &rules}) }},
		{"lock", "freeze", StateFrozen, func() (Giveaway, error) { return h.Lock(ctx, terms.Closes.UTC, id) }},
		{"draw", "record", StateDrawn, func() (Giveaway, error) { return h.Draw(ctx, terms.Event.UTC, id, nil) }},
	}
	addTickets(store, id, 1000)
	for _, m := range moves {
		answers := make([]Giveaway, 50)
		var wg sync.WaitGroup
		for i := range answers {
			wg.Go(func() {
				var err error
				if answers[i], err = m.move(); err != nil {
					t.Errorf("%s: %v", m.name, err)
				}
			})
		}
		wg.Wait()
		if store.moves[m.step] != 1 {
			t.Errorf("%s changed the row %d times, want once", m.name, store.moves[m.step])
		}
		for _, g := range answers {
			if g.State != m.state || g.OpeningHash != answers[0].OpeningHash || g.Revision != answers[0].Revision ||
				!g.Frozen.Equal(answers[0].Frozen) || !g.Drawn.Equal(answers[0].Drawn) {
				t.Fatalf("%s: answers differ: %+v, %+v", m.name, g, answers[0])
			}
		}
	}
	checkVerdict(t, store, id, "valid, weak", draw.StageDrawn, 2) // no beacon; rules revised
}

func TestPublishedBytesStay(t *testing.T) {
	h, store := testHost(t)
	terms := noBeacon()
	locked(t, h, store, terms, 20)
	before := map[string][]byte{}
	for name, f := range store.files[terms.Draw] {
		before[name] = f.Data
	}
	ctx := context.Background()
	for range 2 {
		_, err1 := h.Open(ctx, terms.Opens.UTC, terms.Draw)
		_, err2 := h.Lock(ctx, terms.Closes.UTC.Add(time.Hour), terms.Draw)
		_, err3 := h.Draw(ctx, terms.Event.UTC.Add(time.Hour), terms.Draw, nil)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range before {
		if !bytes.Equal(store.files[terms.Draw][name].Data, want) {
			t.Errorf("%s changed", name)
		}
	}
}
