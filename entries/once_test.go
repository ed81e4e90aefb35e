package entries

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"
)

func onceIntake(t *testing.T) (Intake, *memStore) {
	i, store := testIntake(t)
	i.LinkKey = [32]byte{1}
	return i, store
}

func onceForm(t *testing.T, i Intake) Form {
	t.Helper()
	f := goodForm()
	var err error
	if f.Once, err = NewOnce(i.Rand); err != nil || !validOnce(f.Once) {
		t.Fatalf("got %q, %v", f.Once, err)
	}
	return f
}

// The same form many times at once: one ticket, and everybody hears of the one
// link. The issue says that a repeat adds no chance.
func TestSameFormAtOnce(t *testing.T) {
	i, store := onceIntake(t)
	f := onceForm(t, i)
	links := make([]string, 20)
	var all sync.WaitGroup
	for n := range links {
		all.Go(func() {
			e, err := i.Enter(context.Background(), during, store.g, f)
			if err != nil {
				t.Error(err)
			}
			links[n] = e.Link
		})
	}
	all.Wait()
	for _, l := range links {
		if l != links[0] || !validLink(l) {
			t.Errorf("got link %q, want %q", l, links[0])
		}
	}
	if len(store.rows) != 1 {
		t.Errorf("%d tickets, want 1", len(store.rows))
	}
}

// Who knows the address but not the form's value learns nothing but that it is
// in; neither does who has the value and another address.
func TestOtherFormOfSameAddress(t *testing.T) {
	i, store := onceIntake(t)
	ctx := context.Background()
	first := onceForm(t, i)
	in, err := i.Enter(ctx, during, store.g, first)
	if err != nil {
		t.Fatal(err)
	}
	for name, once := range map[string]string{
		"another": onceForm(t, i).Once, "none": "", "short": "AAAAAAAAAAAAAAAAAAAA", "blank behind": first.Once + " ",
		"not strict": first.Once[:21] + "_",
	} {
		f := first
		f.Once = once
		if e, err := i.Enter(ctx, during, store.g, f); !errors.Is(err, ErrAlreadyIn) || e.Link != "" {
			t.Errorf("%s: got %q, %v", name, e.Link, err)
		}
	}
	other := first
	other.Email = "kim@example.org"
	if e, err := i.Enter(ctx, during, store.g, other); err != nil || e.Link == in.Link {
		t.Errorf("another address with the same value: link %q, %v", e.Link, err)
	}
	if keyless := (Intake{Store: store, Signer: i.Signer, Rand: i.Rand}); keyless.repeats(first) {
		t.Error("links are made with no key")
	}
}

// An answer lost at the last moment: the form sent again after closing finds
// its entry, and any other form is late.
func TestSameFormAfterClosing(t *testing.T) {
	i, store := onceIntake(t)
	ctx := context.Background()
	f := onceForm(t, i)
	in, err := i.Enter(ctx, during, store.g, f)
	if err != nil {
		t.Fatal(err)
	}
	late := store.g.Opening.Closes.Add(time.Second)
	if e, err := i.Enter(ctx, late, store.g, f); err != nil || e.Link != in.Link || !e.Stamp.Entered.Equal(during) {
		t.Errorf("got link %q entered %v, %v", e.Link, e.Stamp.Entered, err)
	}
	if _, err := i.Enter(ctx, late, store.g, onceForm(t, i)); !errors.Is(err, ErrClosed) {
		t.Errorf("another form: %v", err)
	}
}

// After a withdrawal the same form enters anew, with a link of its own each
// time, as often as one likes.
func TestSameFormAfterWithdrawing(t *testing.T) {
	i, store := onceIntake(t)
	ctx := context.Background()
	f := onceForm(t, i)
	links := map[string]bool{}
	for range onceLinks + 1 {
		in, err := i.Enter(ctx, during, store.g, f)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := i.Enter(ctx, during, store.g, f); len(links) < onceLinks && (err != nil || again.Link != in.Link) {
			t.Errorf("the same again: %q, %v, want %q", again.Link, err, in.Link)
		}
		links[in.Link] = true
		if err := i.Withdraw(ctx, during, store.g.ID, in.Link); err != nil {
			t.Fatal(err)
		}
	}
	if len(links) != onceLinks+1 {
		t.Errorf("%d links, want %d", len(links), onceLinks+1)
	}
}
