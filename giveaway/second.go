package giveaway

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenhand/draw"
)

// A HandedIn is the secret of a second that was handed in. It is public from
// then on.
type HandedIn struct {
	Role   string
	Secret [32]byte
	At     time.Time
}

// What [Host.HandIn] answers besides [StateError].
var (
	// ErrWrongSecret: the secret is not the one whose hash stands in the
	// posted terms.
	ErrWrongSecret = errors.New("this is not the secret that was locked in")
	// ErrNoRole: the posted terms name no second of this role.
	ErrNoRole = errors.New("nobody has this part in the draw")
	// ErrNotLocked: the list is not locked yet. A secret that is shown before
	// would let the host choose the list that suits.
	ErrNotLocked = errors.New("the list is not locked yet")
)

// HandIn takes a second's secret, between the lock and the draw. The right one
// twice is no error, and the first time stands. Errors: [ErrNoRole];
// [ErrWrongSecret]; [ErrNotLocked]; [StateError] once cancelled, and of the right
// secret once drawn.
//
// A secret that was taken is in the record: one that comes while the draw is
// being made is entered, or refused since the draw was made.
func (h Host) HandIn(ctx context.Context, now time.Time, id, role string, secret [32]byte) (Giveaway, error) {
	if h.Desk == nil {
		return Giveaway{}, errNoDesk
	}
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil {
		return Giveaway{}, fmt.Errorf("hand in a secret: %w", err)
	}
	if err := mayHandIn(g, role, secret); err != nil {
		return g, fmt.Errorf("hand in a secret of %s: %w", id, err)
	}
	in := HandedIn{Role: role, Secret: secret, At: notBefore(second(now), g.Frozen)}
	if err := h.Desk.HandIn(ctx, id, in); err != nil {
		return g, fmt.Errorf("hand in a secret of %s: %w", id, err)
	}
	return h.Store.Giveaway(ctx, id)
}

// Handed returns the secrets that were handed in, by ascending role.
func (h Host) Handed(ctx context.Context, id string) ([]HandedIn, error) {
	if h.Desk == nil {
		return nil, nil
	}
	return h.Desk.Handed(ctx, id)
}

// mayHandIn looks at the state before the secret up to the lock: nobody learns
// early whether it is the right one. From then on it looks at the secret first:
// nobody without it learns that the draw was made, whose result may be held back.
func mayHandIn(g Giveaway, role string, secret [32]byte) error {
	switch g.State {
	case StateOpen, StateFreezing:
		return ErrNotLocked
	case StateFrozen, StateDrawn:
	default:
		return StateError{State: g.State}
	}
	sealed, ok := sealOf(g.Opening, role)
	if !ok || role == HostRole {
		return ErrNoRole
	}
	name, _, _ := strings.Cut(g.Opening.Signer, "+") // a verifier key begins with the signer's name
	if (draw.Seal{Draw: g.ID, Signer: name, Role: role, Secret: secret}).Hash() != sealed {
		return ErrWrongSecret
	}
	if g.State == StateDrawn {
		return StateError{State: g.State}
	}
	return nil
}

// sealOf is the hash that a role locked in.
func sealOf(o draw.Opening, role string) (draw.Digest, bool) {
	for _, s := range o.Seals {
		if s.Role == role {
			return s.Hash, true
		}
	}
	return draw.Digest{}, false
}

// seals are the host's seal and those of the seconds, as an opening lists them:
// by ascending role (by byte).
func (t Terms) seals(host draw.Digest) []draw.SealHash {
	all := []draw.SealHash{{Role: HostRole, Hash: host}}
	for _, s := range t.Seconds {
		all = append(all, draw.SealHash{Role: s.Role, Hash: s.Hash})
	}
	slices.SortFunc(all, func(a, b draw.SealHash) int { return strings.Compare(a.Role, b.Role) })
	return all
}
