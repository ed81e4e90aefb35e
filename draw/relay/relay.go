// Package relay fetches a beacon round over HTTP. It asks one relay after the
// other and verifies each answer under the chain's key before it returns it,
// so a relay can keep a value back but can not pass off a false one.
//
// Start with [Client.Fetch]; the zero [Client] asks the public relays of
// [Default]. [ParsePasted] reads a value that a person copied from somewhere
// instead; the caller verifies that one with [beacon.Chain.Verify].
//
// The package has no clock of its own. Whether a round's time has come is the
// caller's question ([beacon.Chain.TimeOf]); here a round that a relay does
// not have is [ErrNotYet].
package relay

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"evenhand/draw/beacon"
)

// Limits of a fetch where the [Client] sets no others, and the most bytes that
// an answer may have.
const (
	defaultEach  = 3 * time.Second
	defaultTotal = 15 * time.Second
	maxAnswer    = 4096
)

var (
	// ErrNotYet: a relay answered that it does not have the round (status 404
	// or 425). Before the round's time that is as it should be; long after it,
	// the relay may not know the chain.
	ErrNotYet = errors.New("round not there yet")
	// ErrWrongRound: a relay answered with another round than the one asked for.
	ErrWrongRound = errors.New("answered with another round")
)

// Default returns the addresses of the public relays: three of the drand
// project's and one of Cloudflare's. Source:
// https://docs.drand.love/developer/http-api, which also gives the form of a
// request and its answer.
func Default() []string {
	return []string{
		"https://api.drand.sh",
		"https://api2.drand.sh",
		"https://api3.drand.sh",
		"https://drand.cloudflare.com",
	}
}

// A Value is a verified round and where it came from.
type Value struct {
	Round     uint64
	Signature []byte // 48 bytes, verified
	From      string // the relay's address as listed in the Client
}

// A Client asks relays. Its fields are read only, so one Client can serve
// many goroutines.
type Client struct {
	// Relays are base addresses, asked in this order; nil means [Default].
	Relays []string
	// HTTP does the requests; nil means a plain client. Its CheckRedirect is
	// not used: redirects stay on the relay's host, three at most.
	HTTP *http.Client
	// Each is the limit for one relay, 0 means 3 s; Total is the limit for
	// all of them, 0 means 15 s.
	Each, Total time.Duration
	// Notes, if set, hears of each relay that gave no true value, also when a
	// later one did. A relay whose error is [beacon.ErrFalse] or
	// [ErrWrongRound] answered falsely.
	Notes func(relay string, err error)
}

// Fetch returns the round of the chain from the first relay that gives its
// true value. If none does, the error lists what each of them said, in order;
// [errors.Is] finds [ErrNotYet], [ErrWrongRound] or [beacon.ErrFalse] in it if
// at least one relay's answer was that.
func (c Client) Fetch(ctx context.Context, chain beacon.Chain, round uint64) (Value, error) {
	if round < 1 || round > beacon.MaxRound {
		return Value{}, fmt.Errorf("fetch beacon round %d: rounds go from 1 to %d", round, uint64(beacon.MaxRound))
	}
	ctx, cancel := context.WithTimeout(ctx, orElse(c.Total, defaultTotal))
	defer cancel()
	relays := c.Relays
	if relays == nil {
		relays = Default()
	}
	var said failures
	for _, relay := range relays {
		if ctx.Err() != nil {
			said = append(said, fmt.Errorf("%s: not asked: %w", relay, ctx.Err()))
			continue
		}
		sig, err := c.ask(ctx, relay, chain, round)
		if err == nil {
			return Value{Round: round, Signature: sig, From: relay}, nil
		}
		if c.Notes != nil {
			c.Notes(relay, err)
		}
		said = append(said, fmt.Errorf("%s: %w", relay, err))
	}
	if len(said) == 0 {
		return Value{}, fmt.Errorf("fetch beacon round %d: no relay to ask", round)
	}
	return Value{}, fmt.Errorf("fetch beacon round %d: %w", round, said)
}

// failures is what each relay said, on one line.
type failures []error

func (f failures) Error() string {
	words := make([]string, len(f))
	for i, err := range f {
		words[i] = err.Error()
	}
	return strings.Join(words, "; ")
}

func (f failures) Unwrap() []error { return f }

func orElse(limit, otherwise time.Duration) time.Duration {
	if limit == 0 {
		return otherwise
	}
	return limit
}
