package sample_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/internal/pgtest"
	"evenhand/sample"
	"evenhand/store"
	"evenhand/vault"
)

var start = time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)

func TestMain(m *testing.M) { pgtest.Main(m) }

// each runs a test on both databases.
func each(t *testing.T, test func(t *testing.T, l sample.Loader)) {
	t.Run("sqlite", func(t *testing.T) { test(t, loader(t, "")) })
	t.Run("postgres", func(t *testing.T) { test(t, loader(t, pgtest.Database(t))) })
}

func loader(t *testing.T, url string) sample.Loader {
	t.Helper()
	dir := t.TempDir()
	v, err := vault.Load(filepath.Join(dir, "master.key"), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	db, err := store.Open(t.Context(), store.Config{URL: url, File: filepath.Join(dir, "db"), Vault: v})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	signer, err := db.Installation(t.Context(), "localhost", rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return sample.Loader{
		Host:   giveaway.Host{Store: db, Desk: db, Data: db, Keys: db, Rand: rand.Reader},
		Intake: entries.Intake{Store: db, Signer: signer, Rand: rand.Reader},
		Now:    func() time.Time { return start },
	}
}

// What is expected is what the task of the sample says: the states, the times,
// the kinds of entries; and the draw protocol's verdicts.
func TestLoad(t *testing.T) {
	each(t, func(t *testing.T, l sample.Loader) {
		told := map[string]sample.Tally{}
		l.Told = func(id string, t sample.Tally) { told[id] = t }
		if err := l.Load(t.Context()); err != nil {
			t.Fatal(err)
		}
		finished := get(t, l, sample.Finished)
		verdict(t, l, finished, "valid", false)
		taking := get(t, l, sample.Open)
		if p := taking.Phase(start); p != giveaway.PhaseTaking {
			t.Errorf("%s is %s, want taking entries", taking.ID, p)
		}
		if left := taking.Opening.Closes.Sub(start); left != 14*24*time.Hour {
			t.Errorf("it takes entries for %v more, want 14 days", left)
		}
		next := get(t, l, sample.Next)
		if p := next.Phase(start); p != giveaway.PhaseClosed {
			t.Errorf("%s is %s, want closed", next.ID, p)
		}
		if d := next.Opening.Event.Sub(start); d != 60*time.Second {
			t.Errorf("its event is in %v, want 60 s", d)
		}
		for id, least := range map[string]int64{sample.Finished: 100, sample.Open: 300, sample.Next: 40} {
			c := counts(t, l, id)
			if c.In < least || c.ByReason[draw.Withdrawn] == 0 {
				t.Errorf("%s: %d in, %d withdrawn; want %d or more, and some", id, c.In, c.ByReason[draw.Withdrawn], least)
			}
			if k := told[id]; k.Repeats == 0 || k.Refused == 0 || k.Withdrawn == 0 || int64(k.In) != c.Issued || k.Sent != k.In+k.Repeats+k.Refused {
				t.Errorf("%s: %+v with %d tickets; want some of each, and every form accounted for", id, k, c.Issued)
			}
		}
	})
}

// Loading again changes nothing: each giveaway's files and counts stay.
func TestLoadTwice(t *testing.T) {
	each(t, func(t *testing.T, l sample.Loader) {
		var before []entries.Counts
		for try := range 2 {
			if err := l.Load(t.Context()); err != nil {
				t.Fatal(err)
			}
			l.Now = func() time.Time { return start.Add(time.Hour) }
			for i, id := range []string{sample.Finished, sample.Open, sample.Next} {
				c := counts(t, l, id)
				if try == 0 {
					before = append(before, c)
				} else if c.Issued != before[i].Issued || c.In != before[i].In {
					t.Errorf("%s: %d tickets, %d in after the second time; want %d, %d", id, c.Issued, c.In, before[i].Issued, before[i].In)
				}
			}
		}
		all, err := l.Host.Store.Giveaways(t.Context())
		if err != nil || len(all) != 3 {
			t.Errorf("%d giveaways (%v), want 3", len(all), err)
		}
	})
}

// A run that dies midway is finished by the next one.
func TestLoadAfterACrash(t *testing.T) {
	l := loader(t, "")
	ctx, cancel := context.WithCancel(t.Context())
	whole := l.Host.Store
	l.Host.Store = dies{whole, cancel}
	if err := l.Load(ctx); err == nil {
		t.Fatal("the run did not die")
	}
	l.Host.Store = whole
	if err := l.Load(t.Context()); err != nil {
		t.Fatal(err)
	}
	verdict(t, l, get(t, l, sample.Finished), "valid", false)
}

// dies ends the context as the lists of a giveaway are about to be written.
type dies struct {
	giveaway.Store
	cancel func()
}

func (d dies) WriteList(ctx context.Context, id, attempt, name string, chunk int, b []byte, now time.Time) error {
	d.cancel()
	return ctx.Err()
}

func TestLoadIsRefusedWhereARealGiveawayIs(t *testing.T) {
	each(t, func(t *testing.T, l sample.Loader) {
		b, err := os.ReadFile("testdata/real-terms.json")
		if err != nil {
			t.Fatal(err)
		}
		terms, err := giveaway.ReadTerms(strings.NewReader(string(b)))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.Host.Draft(t.Context(), start, terms); err != nil {
			t.Fatal(err)
		}
		if err := l.Load(t.Context()); !errors.Is(err, sample.ErrReal) {
			t.Errorf("got %v, want ErrReal", err)
		}
		if all, err := l.Host.Store.Giveaways(t.Context()); err != nil || len(all) != 1 {
			t.Errorf("%d giveaways (%v), want 1", len(all), err)
		}
	})
}

// The second giveaway is locked by hand, or locks itself before its event; it
// is drawn without a public number where no relay answered, and says so.
func TestNext(t *testing.T) {
	each(t, func(t *testing.T, l sample.Loader) {
		if err := l.Load(t.Context()); err != nil {
			t.Fatal(err)
		}
		due := func(at time.Time) int {
			duties, err := l.Host.Due(t.Context(), at)
			if err != nil {
				t.Fatal(err)
			}
			return len(duties)
		}
		if n := due(start.Add(30 * time.Second)); n != 0 {
			t.Errorf("%d duties while the person at the desk has time, want none", n)
		}
		g, err := l.Host.Store.Giveaway(t.Context(), sample.Next)
		if err != nil || !strings.Contains(g.Terms.Paragraphs, "until five seconds before the draw") || !g.LockAt().Equal(g.Opening.Event.Add(-5*time.Second)) {
			t.Errorf("it locks itself at %v, its rules end with %q: %v", g.LockAt(), g.Terms.Paragraphs, err)
		}
		if g, err = l.Host.Store.Giveaway(t.Context(), sample.Open); err != nil || !g.LockAt().Equal(g.Opening.Event.Add(-giveaway.DefaultLockMinutes*time.Minute)) {
			t.Errorf("a sample with time enough locks itself at %v, not as its rules say: %v", g.LockAt(), err)
		}
		if n := due(start.Add(57 * time.Second)); n != 1 {
			t.Errorf("%d duties just before the event, want the lock", n)
		}
		if _, err := l.Host.Lock(t.Context(), start.Add(20*time.Second), sample.Next); err != nil {
			t.Fatal(err)
		}
		g, err = l.Host.Draw(t.Context(), start.Add(61*time.Second), sample.Next, nil)
		if err != nil {
			t.Fatal(err)
		}
		verdict(t, l, g, "valid, weak", true)
	})
}

// With a relay that answers, the second giveaway names the public number.
func TestNextWithRelays(t *testing.T) {
	l := loader(t, "")
	l.Relays = func(context.Context, time.Time) bool { return true }
	if err := l.Load(t.Context()); err != nil {
		t.Fatal(err)
	}
	if g := get(t, l, sample.Next); g.Opening.Beacon == nil {
		t.Error("the opening names no beacon")
	}
}

// The round's constants are those of the published vectors
// (testdata/vectors/drand-quicknet.json).
func TestPastRound(t *testing.T) {
	b, err := os.ReadFile("../testdata/vectors/drand-quicknet.json")
	if err != nil {
		t.Fatal(err)
	}
	var published struct {
		Rounds []struct {
			Round     uint64
			Signature string
		}
	}
	if err := json.Unmarshal(b, &published); err != nil {
		t.Fatal(err)
	}
	got, err := sample.PastRound()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range published.Rounds {
		if r.Round == got.Round {
			if r.Signature != hex(got.Signature) {
				t.Errorf("signature %x, want %s", got.Signature, r.Signature)
			}
			return
		}
	}
	t.Errorf("round %d is not among the %d published ones", got.Round, len(published.Rounds))
}
