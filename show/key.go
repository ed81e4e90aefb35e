package show

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"
)

// The kinds of a key. Neither opens anything but the show of its giveaway.
const (
	KeyStage  = "stage"  // shows the stage
	KeyRemote = "remote" // moves it
)

// ErrNoKey: there is no such key, or it was revoked.
var ErrNoKey = errors.New("no such key of a show")

// A Key gives whoever has its secret one right on one show. It does not run
// out during a show; it ends when it is revoked.
type Key struct {
	Kind   string
	Draw   string
	Secret string // 32 hexadecimal digits, 128 random bits
	Made   time.Time
	Seen   time.Time // when a screen that it opened was last heard of; zero: never
}

// NewKey makes a key.
func NewKey(kind, draw string, now time.Time, rand io.Reader) (Key, error) {
	var b [16]byte
	if _, err := io.ReadFull(rand, b[:]); err != nil {
		return Key{}, fmt.Errorf("make a key of a show: %w", err)
	}
	return Key{Kind: kind, Draw: draw, Secret: hex.EncodeToString(b[:]), Made: now}, nil
}

// Keys keep the keys of shows; of what opens them only the hash in the clear.
type Keys interface {
	// AddKey keeps a new key.
	AddKey(ctx context.Context, k Key) error
	// Key finds the key of a kind by its secret; [ErrNoKey].
	Key(ctx context.Context, kind, secret string) (Key, error)
	// KeysOf returns the keys of a show that stand, the newest first.
	KeysOf(ctx context.Context, draw string) ([]Key, error)
	// KeySeen notes that a screen which a key opened is there.
	KeySeen(ctx context.Context, kind, secret string, at time.Time) error
	// RevokeKeys ends all keys of a kind of a show.
	RevokeKeys(ctx context.Context, draw, kind string, at time.Time) error
}
