package main

import (
	"context"
	"log/slog"
	"time"

	"evenhand/draw/beacon"
	"evenhand/draw/relay"
	"evenhand/giveaway"
)

// beacons lets the rooms ask relays.
type beacons struct{ client relay.Client }

var _ giveaway.Beacons = beacons{}

func newBeacons(relays []string, log *slog.Logger) beacons {
	return beacons{relay.Client{Relays: relays, Notes: func(relay string, err error) {
		log.Warn("relay gave no value", "relay", relay, "error", err)
	}}}
}

func (b beacons) Fetch(ctx context.Context, chain beacon.Chain, round uint64) ([]byte, string, error) {
	v, err := b.client.Fetch(ctx, chain, round)
	return v.Signature, v.From, err
}

// answers reports whether a relay gives the round of a few seconds ago. The
// sample asks this to know if its draw can name a beacon.
func (b beacons) answers(ctx context.Context, now time.Time) bool {
	chain := beacon.Quicknet()
	round, err := chain.RoundAt(now.Add(-10 * time.Second))
	if err != nil {
		return false
	}
	b.client.Total = 5 * time.Second
	b.client.Notes = nil // one answer is enough here, whatever the reason
	_, _, err = b.Fetch(ctx, chain, round)
	return err == nil
}
