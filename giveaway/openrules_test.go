package giveaway

import (
	"context"
	"io/fs"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// What is posted is what is written from the terms: the file, the fingerprint
// in the posted terms and the terms that are kept are one text. Paragraphs
// change it, times alone do not.
func TestOpenWritesTheRules(t *testing.T) {
	ctx := context.Background()
	h, store := testHost(t)
	terms := rulesTerms()["full"]
	terms.Filed = nil
	at := terms.Opens.UTC.Add(-time.Hour)
	if _, err := h.Draft(ctx, at, terms); err != nil {
		t.Fatal(err)
	}
	g, err := h.Open(ctx, at, terms.Draw)
	if err != nil {
		t.Fatal(err)
	}
	same := func(g Giveaway) string {
		t.Helper()
		file, err := fs.ReadFile(store.Publication(g.ID), draw.RulesFile)
		if err != nil || string(file) != g.Terms.Rules || draw.Hash(file) != g.Opening.Rules {
			t.Fatalf("the rules differ between file, posted terms and terms kept: %v", err)
		}
		return string(file)
	}
	posted := same(g)
	if !g.Terms.RulesWritten || !strings.Contains(posted, "Posted on 27 November 2026") {
		t.Errorf("written %v:\n%s", g.Terms.RulesWritten, posted)
	}
	later, _ := MomentAt(g.Terms.Event.UTC.Add(time.Hour), g.Terms.Event.Zone)
	if g, err = h.Revise(ctx, at.Add(2*time.Hour), g.ID, Change{Event: &later}); err != nil || same(g) != posted {
		t.Fatalf("a later event: %v", err)
	}
	more := "More."
	if g, err = h.Revise(ctx, at.Add(3*time.Hour), g.ID, Change{Paragraphs: &more}); err != nil {
		t.Fatal(err)
	}
	if changed := same(g); changed == posted || !strings.Contains(changed, later.Words()) || !strings.HasSuffix(changed, "\nMore.\n") {
		t.Errorf("other paragraphs:\n%s", changed)
	}
}

// Entries that start with the posting start at its second: rules, posted terms
// and the terms kept say so. Any other start stays, also one that is over, since
// entries on paper can be older. No source outside.
func TestOpenStartsWithThePosting(t *testing.T) {
	plain := rulesTerms()["plain"]
	with, err := AtPosting(plain.Opens.Zone)
	if err != nil {
		t.Fatal(err)
	}
	now, _ := MomentAt(plain.Opens.UTC.Add(time.Hour+7*time.Second), plain.Opens.Zone)
	for name, c := range map[string]struct{ typed, want Moment }{"with the posting": {with, now}, "over": {plain.Opens, plain.Opens}, "to come": {plain.Closes, plain.Closes}} {
		h, _ := testHost(t)
		terms := plain
		terms.Opens = c.typed
		if c.typed == plain.Closes {
			terms.Closes, _ = MomentAt(plain.Closes.UTC.Add(time.Minute), plain.Closes.Zone)
		}
		if _, err := h.Draft(context.Background(), now.UTC.Add(-time.Minute), terms); err != nil {
			t.Fatal(err)
		}
		g, err := h.Open(context.Background(), now.UTC, terms.Draw)
		if err != nil {
			t.Fatal(err)
		}
		if g.Terms.Opens != c.want || !g.Opening.Opens.Equal(c.want.UTC) || !strings.Contains(g.Terms.Rules, "Entries are taken from "+c.want.Words()) {
			t.Errorf("%s: entries start at %v, in the posted terms %v, want %v\n%s", name, g.Terms.Opens, g.Opening.Opens, c.want, g.Terms.Rules)
		}
	}
}
