package giveaway

import (
	"errors"
	"slices"
	"testing"
)

// A list of who may not win that is too long is said once, not line by line.
func TestTooManyBarred(t *testing.T) {
	terms := bootTerms()
	terms.Barred = slices.Repeat([]string{"not an @ address"}, maxBarred+1)
	var p Problems
	if err := terms.Validate(); !errors.As(err, &p) || len(p) != 1 || len(p.Of("barred")) != 1 {
		t.Errorf("%d problems, want one: %.200v", len(p), err)
	}
	terms.Barred = terms.Barred[:maxBarred]
	p = nil
	if err := terms.Validate(); !errors.As(err, &p) || len(p) < maxBarred {
		t.Errorf("%d problems for %d lines, want one each at least", len(p), maxBarred)
	}
}
