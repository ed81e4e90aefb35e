package entries

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// testIntake is an intake with an open giveaway, a fixed key and chance.
func testIntake(t *testing.T) (Intake, *memStore) {
	t.Helper()
	signer, err := draw.NewSigner(rand.NewChaCha8([32]byte{2}), "slow-miles.example")
	if err != nil {
		t.Fatal(err)
	}
	terms := boots()
	seal := draw.Seal{Draw: terms.Draw, Signer: signer.Name(), Role: giveaway.HostRole}
	o, err := giveaway.Opening(terms, signer.VerifierKey(), []draw.SealHash{{Role: giveaway.HostRole, Hash: seal.Hash()}})
	if err != nil {
		t.Fatal(err)
	}
	store := &memStore{g: giveaway.Giveaway{
		ID: terms.Draw, Terms: terms, State: giveaway.StateOpen,
		Opening: o, OpeningHash: draw.Hash(o.Text()), Revision: 1,
	}}
	return Intake{Store: store, Signer: signer, Rand: &lockedReader{r: rand.NewChaCha8([32]byte{1})}}, store
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

// readBack takes what the entrant was handed apart with the draw package.
func readBack(t *testing.T, i Intake, e Entered) (draw.Receipt, draw.EntryText) {
	t.Helper()
	v, err := draw.ParseVerifier(i.Signer.VerifierKey())
	if err != nil {
		t.Fatal(err)
	}
	text, err := draw.OpenNote("receipt.txt", e.Receipt, v)
	if err != nil {
		t.Fatal(err)
	}
	r, err1 := draw.ParseReceipt("receipt.txt", text)
	entry, err2 := draw.ParseEntry("entry.txt", e.EntryText)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	if r.Commitment != draw.Hash(e.EntryText) || r.Commitment != e.Commitment || r.Ticket != entry.Ticket || r.Ticket != e.Ticket {
		t.Errorf("receipt %+v and entry text %+v don't fit", r, entry)
	}
	return r, entry
}

func TestEnter(t *testing.T) {
	i, store := testIntake(t)
	e, err := i.Enter(context.Background(), during.Add(500*time.Millisecond), store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	r, entry := readBack(t, i, e)
	if r.Draw != "trail-boots" || r.Opening != store.g.OpeningHash || !r.Entered.Equal(during) {
		t.Errorf("got receipt %+v", r)
	}
	if entry.Email != "robin@example.com" || entry.Ship != "US" || entry.Size != (draw.EntrySize{System: "mens", Size: "10.5", Width: "D"}) {
		t.Errorf("got entry text %+v", entry)
	}
	// 128 bits or more (draw protocol, "ticket"): base64 has 6 a character.
	if len(e.Link)*6 < 128 || !validLink(e.Link) {
		t.Errorf("got link %q", e.Link)
	}
	if row := store.rows[0]; bytes.Contains(fmt.Append(nil, row), []byte(e.Link)) {
		t.Error("the link itself is stored")
	}
}

// A repeat, written differently, makes no second ticket and changes nothing.
func TestRepeat(t *testing.T) {
	i, store := testIntake(t)
	ctx := context.Background()
	if _, err := i.Enter(ctx, during, store.g, goodForm()); err != nil {
		t.Fatal(err)
	}
	before := store.rows[0]
	for _, same := range []string{"robin@example.com", " ROBIN@EXAMPLE.COM ", "robin+other@example.com", "Robin@ｅｘａｍｐｌｅ.com"} {
		f := goodForm()
		f.Email, f.Size = same, "9"
		if _, err := i.Enter(ctx, during, store.g, f); !errors.Is(err, ErrAlreadyIn) {
			t.Errorf("%q: got %v", same, err)
		}
	}
	if len(store.rows) != 1 || !reflect.DeepEqual(store.rows[0], before) {
		t.Errorf("got %d rows, the first %+v", len(store.rows), store.rows[0])
	}
}

func TestEnterErrors(t *testing.T) {
	ctx := context.Background()
	i, store := testIntake(t)
	for _, c := range []struct {
		name  string
		at    time.Time
		state giveaway.State
		want  error
	}{
		{"draft", during, giveaway.StateDraft, giveaway.ErrNotFound},
		{"a moment early", opens.Add(-time.Nanosecond), giveaway.StateOpen, ErrNotOpen},
		{"at closing", closes, giveaway.StateOpen, ErrClosed},
		{"being locked", during, giveaway.StateFreezing, ErrClosed},
		{"locked", during, giveaway.StateFrozen, ErrClosed},
		{"drawn", during, giveaway.StateDrawn, ErrClosed},
		{"cancelled", during, giveaway.StateCancelled, ErrClosed},
	} {
		g := store.g
		g.State = c.state
		if _, err := i.Enter(ctx, c.at, g, Form{}); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
	var rejected *Rejected
	if _, err := i.Enter(ctx, during, store.g, Form{}); !errors.As(err, &rejected) || len(rejected.Verdict.Fields) == 0 {
		t.Errorf("empty form: got %v", err)
	}
	// The list was closed between the page's look and the write.
	store.g.State = giveaway.StateFreezing
	open := store.g
	open.State = giveaway.StateOpen
	if _, err := i.Enter(ctx, during, open, goodForm()); !errors.Is(err, ErrClosed) {
		t.Errorf("closed meanwhile: got %v", err)
	}
	if len(store.rows) != 0 {
		t.Errorf("got %d rows", len(store.rows))
	}
}

func TestTicketTaken(t *testing.T) {
	i, store := testIntake(t)
	store.fail = []error{ErrTicketTaken}
	if _, err := i.Enter(context.Background(), during, store.g, goodForm()); err != nil || len(store.rows) != 1 {
		t.Errorf("once: got %v, %d rows", err, len(store.rows))
	}
	store.fail = []error{ErrTicketTaken, ErrTicketTaken}
	f := goodForm()
	f.Email = "kim@example.com"
	if _, err := i.Enter(context.Background(), during, store.g, f); !errors.Is(err, ErrTicketTaken) || len(store.rows) != 1 {
		t.Errorf("twice: got %v, %d rows", err, len(store.rows))
	}
}

// Receipts are not stored: the same row gives the same bytes.
func TestMine(t *testing.T) {
	i, store := testIntake(t)
	ctx := context.Background()
	e, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	p, err := i.Mine(ctx, "trail-boots", e.Link)
	if err != nil || !bytes.Equal(p.Receipt, e.Receipt) || !bytes.Equal(p.EntryText, e.EntryText) || p.Withdrawn || p.Reason != "" {
		t.Errorf("got %+v, %v", p, err)
	}
	for _, link := range []string{"", "x", e.Link + "A", e.Link[1:], strings.ToLower(e.Link), e.Link[:23] + "!", e.Ticket.String(), strings.Repeat("A", 24)} {
		if _, err := i.Mine(ctx, "trail-boots", link); !errors.Is(err, ErrNoSuchLink) {
			t.Errorf("%q: got %v", link, err)
		}
	}
	if _, err := i.Mine(ctx, "other-boots", e.Link); !errors.Is(err, ErrNoSuchLink) {
		t.Errorf("at another giveaway: got %v", err)
	}
}

func TestChangeSize(t *testing.T) {
	i, store := testIntake(t)
	ctx := context.Background()
	e, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	same, err := i.ChangeSize(ctx, during.Add(time.Minute), store.g, e.Link, Form{System: "mens", Size: "10.5", Width: "D"})
	if err != nil || !bytes.Equal(same.Receipt, e.Receipt) {
		t.Errorf("the same size: got %v; want nothing changed", err)
	}
	p, err := i.ChangeSize(ctx, during.Add(time.Minute), store.g, e.Link, Form{System: "womens", Size: "8", Width: "B"})
	if err != nil {
		t.Fatal(err)
	}
	r, entry := readBack(t, i, p.Entered)
	if p.Ticket != e.Ticket || p.Salt == e.Salt || !r.Entered.Equal(during.Add(time.Minute)) {
		t.Errorf("got ticket %s, entered %v, salt new %v", p.Ticket, r.Entered, p.Salt != e.Salt)
	}
	if entry.Size != (draw.EntrySize{System: "womens", Size: "8", Width: "B"}) || entry.Email != "robin@example.com" || p.Entry.Name != "Robin L." {
		t.Errorf("got %+v", entry)
	}
	var rejected *Rejected
	if _, err := i.ChangeSize(ctx, during, store.g, e.Link, Form{System: "mens", Size: "44", Width: "D"}); !errors.As(err, &rejected) {
		t.Errorf("a size that is none: got %v", err)
	}
	store.g.State = giveaway.StateFrozen
	if _, err := i.ChangeSize(ctx, during, store.g, e.Link, Form{System: "mens", Size: "9", Width: "D"}); !errors.Is(err, ErrLocked) {
		t.Errorf("locked: got %v", err)
	}
}

// A second change within a second waits: two receipts of one ticket with one
// time would be proof of two faces.
func TestChangeWaitsForTheNextSecond(t *testing.T) {
	i, store := testIntake(t)
	ctx := context.Background()
	e, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	at := during.Add(950 * time.Millisecond)
	p, err := i.ChangeSize(ctx, at, store.g, e.Link, Form{System: "mens", Size: "9", Width: "D"})
	if err != nil || !p.Stamp.Entered.Equal(during.Add(time.Second)) {
		t.Errorf("got %v, entered %v; want the next second", err, p.Stamp.Entered)
	}
	short, cancel := context.WithTimeout(ctx, 10*time.Millisecond)
	defer cancel()
	if _, err := i.ChangeSize(short, at, store.g, e.Link, Form{System: "mens", Size: "8", Width: "D"}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("with a caller who can't wait: got %v", err)
	}
}

// Withdraw frees the address; entering again makes a new ticket.
func TestWithdraw(t *testing.T) {
	i, store := testIntake(t)
	ctx := context.Background()
	e, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := i.Withdraw(ctx, during, "trail-boots", e.Link); err != nil {
			t.Fatal(err)
		}
	}
	p, err := i.Mine(ctx, "trail-boots", e.Link)
	if err != nil || !p.Withdrawn || p.Reason != draw.Withdrawn {
		t.Errorf("got %+v, %v", p, err)
	}
	if _, err := i.ChangeSize(ctx, during, store.g, e.Link, Form{System: "mens", Size: "9", Width: "D"}); !errors.Is(err, ErrWithdrawn) {
		t.Errorf("change of a withdrawn ticket: got %v", err)
	}
	again, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil || again.Ticket == e.Ticket || again.Link == e.Link {
		t.Errorf("again: got %v", err)
	}
	store.g.State = giveaway.StateFrozen
	if err := i.Withdraw(ctx, during, "trail-boots", again.Link); !errors.Is(err, ErrLocked) {
		t.Errorf("locked: got %v", err)
	}
	if err := i.Withdraw(ctx, during, "trail-boots", "nothing"); !errors.Is(err, ErrNoSuchLink) {
		t.Errorf("no link: got %v", err)
	}
}

func TestNoChance(t *testing.T) {
	i, store := testIntake(t)
	i.Rand = strings.NewReader("too short")
	if _, err := i.Enter(context.Background(), during, store.g, goodForm()); err == nil || len(store.rows) != 0 {
		t.Errorf("got %v, %d rows", err, len(store.rows))
	}
}
