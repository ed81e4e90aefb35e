package sample_test

import (
	enc "encoding/hex"
	"testing"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sample"
)

var hex = enc.EncodeToString

func get(t *testing.T, l sample.Loader, id string) giveaway.Giveaway {
	t.Helper()
	g, err := l.Host.Store.Giveaway(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if !g.Sample {
		t.Errorf("%s does not say that it is invented", id)
	}
	return g
}

func counts(t *testing.T, l sample.Loader, id string) entries.Counts {
	t.Helper()
	c, err := l.Intake.Store.EntryCounts(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// verdict checks a publication by the protocol.
func verdict(t *testing.T, l sample.Loader, g giveaway.Giveaway, want string, weak bool) {
	t.Helper()
	r := draw.Check(t.Context(), l.Host.Store.Publication(g.ID), draw.Options{})
	if string(r.Verdict) != want || r.Weak != weak || r.Status != 0 {
		t.Errorf("%s: %q, weak %v, status %d; want %q, %v, 0: %v", g.ID, r.Verdict, r.Weak, r.Status, want, weak, r.Findings)
	}
	if len(r.Places) != 4 {
		t.Errorf("%s: %d places, want 4", g.ID, len(r.Places))
	}
}
