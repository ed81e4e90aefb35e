package entries

import (
	"context"
	"errors"
	"testing"
)

// An address that is put right gives a new ticket, and the old one is
// withdrawn; whoever is refused keeps what they have.
func TestReplace(t *testing.T) {
	i, store := onceIntake(t)
	ctx := context.Background()
	old, err := i.Enter(ctx, during, store.g, goodForm())
	if err != nil {
		t.Fatal(err)
	}
	right := onceForm(t, i)
	right.Email = "right@example.org"
	noRules := right
	noRules.Rules = ""
	var rejected *Rejected
	if _, err := i.Replace(ctx, during, store.g, old.Link, noRules); !errors.As(err, &rejected) {
		t.Errorf("without the rules: %v", err)
	}
	for _, link := range []string{"", old.Link[1:], "AAAAAAAAAAAAAAAAAAAAAAAA"} {
		if _, err := i.Replace(ctx, during, store.g, link, right); !errors.Is(err, ErrNoSuchLink) {
			t.Errorf("link %q: %v", link, err)
		}
	}
	if mine, err := i.Mine(ctx, store.g.ID, old.Link); err != nil || mine.Withdrawn || len(store.rows) != 1 {
		t.Fatalf("after refusals: %+v, %v", mine, err)
	}

	in, err := i.Replace(ctx, during, store.g, old.Link, right)
	if err != nil || in.Ticket == old.Ticket || in.Entry.Key != "right@example.org" {
		t.Fatalf("got %+v, %v", in, err)
	}
	if mine, err := i.Mine(ctx, store.g.ID, old.Link); err != nil || !mine.Withdrawn {
		t.Errorf("the old ticket: %+v, %v", mine, err)
	}
	again, err := i.Replace(ctx, during, store.g, old.Link, right)
	if err != nil || again.Link != in.Link || again.Ticket != in.Ticket {
		t.Errorf("the same form again: %+v, %v", again, err)
	}
	other := onceForm(t, i)
	other.Email = "third@example.org"
	if _, err := i.Replace(ctx, during, store.g, old.Link, other); !errors.Is(err, ErrWithdrawn) {
		t.Errorf("another form for a withdrawn ticket: %v", err)
	}
	if len(store.rows) != 2 {
		t.Errorf("%d tickets, want 2", len(store.rows))
	}
}
