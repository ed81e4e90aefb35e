package giveaway

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
)

// Draw makes the draw of a locked giveaway: it opens the host's seal, has the
// beacon's value fetched (or takes a pasted one, verified all the same), makes
// the record, signs and publishes it, for all to see at once. Errors: [ErrTooEarly] before the event or
// the round's time, [ErrNoBeacon] if the value could not be had: paste it.
func (h Host) Draw(ctx context.Context, now time.Time, id string, pasted *draw.Beacon) (Giveaway, error) {
	return h.drawUntil(ctx, now, id, pasted, second(now))
}

// drawUntil makes the draw; its result is held back until released.
func (h Host) drawUntil(ctx context.Context, now time.Time, id string, pasted *draw.Beacon, released time.Time) (Giveaway, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || g.State != StateFrozen {
		return h.after(g, err, StateDrawn)
	}
	now = second(now)
	if until := g.DrawAt(); now.Before(until) {
		return g, fmt.Errorf("draw %s: %w", id, ErrTooEarly{Until: until})
	}
	if err := h.publishRecord(ctx, now, g, pasted, released); err != nil && !errors.Is(err, ErrState) {
		return g, fmt.Errorf("draw %s: %w", id, err)
	}
	g, err = h.Store.Giveaway(ctx, id)
	return h.after(g, err, StateDrawn)
}

// publishRecord makes and stores the record; anew if a secret was handed in
// meanwhile, which is entered until the record stands (draw protocol, "Order of
// opening"). There are seven seconds at most.
func (h Host) publishRecord(ctx context.Context, now time.Time, g Giveaway, pasted *draw.Beacon, released time.Time) error {
	for range len(g.Opening.Seals) {
		note, err := h.record(ctx, now, g, pasted)
		if err != nil {
			return err
		}
		if err := h.Store.Record(ctx, g.ID, note, now, released); !errors.Is(err, ErrMissed) {
			return err
		}
	}
	return ErrMissed
}

// record makes the signed record from the files as they were published.
func (h Host) record(ctx context.Context, now time.Time, g Giveaway, pasted *draw.Beacon) ([]byte, error) {
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	files := h.Store.Publication(g.ID)
	freeze, err := readNote(files, signer.VerifierKey(), draw.FreezeFile, draw.ParseFreeze)
	if err != nil {
		return nil, err
	}
	secrets, err := h.secrets(ctx, g)
	if err != nil {
		return nil, err
	}
	value, err := h.beacon(ctx, g.Opening, pasted)
	if err != nil {
		return nil, err
	}
	roll, err := files.Open(draw.RollFile)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", draw.RollFile, err)
	}
	defer roll.Close()
	m := draw.Making{Opening: g.Opening, Freeze: freeze, Secrets: secrets, Beacon: value, Drawn: now, Roll: roll}
	if chain, ok := chainOf(g.Opening); ok {
		m.Chain = &chain
	}
	record, err := draw.MakeRecord(m)
	if err != nil {
		return nil, err
	}
	return signer.Sign(record.Text())
}

// secrets lists the opened seals in the opening's order: the host's, and those
// of seconds that were handed in by now. The others stand as withheld.
func (h Host) secrets(ctx context.Context, g Giveaway) ([]draw.Secret, error) {
	host, err := h.Store.HostSecret(ctx, g.ID)
	if err != nil {
		return nil, fmt.Errorf("open the host's seal: %w", err)
	}
	handed, err := h.Handed(ctx, g.ID)
	if err != nil {
		return nil, fmt.Errorf("read the secrets that were handed in: %w", err)
	}
	open := map[string][32]byte{HostRole: host}
	for _, in := range handed {
		open[in.Role] = in.Secret
	}
	var secrets []draw.Secret
	for _, s := range g.Opening.Seals {
		value, ok := open[s.Role]
		secrets = append(secrets, draw.Secret{Role: s.Role, Value: value, Withheld: !ok})
	}
	return secrets, nil
}

// beacon returns the verified value of the opening's round, nil if the opening
// names no beacon.
func (h Host) beacon(ctx context.Context, o draw.Opening, pasted *draw.Beacon) (*draw.Beacon, error) {
	if o.Beacon == nil {
		return nil, nil
	}
	chain, ok := chainOf(o)
	if !ok {
		return nil, fmt.Errorf("%w: its chain is not known here", ErrNoBeacon)
	}
	round, err := o.FirstRound(chain)
	if err != nil {
		return nil, err
	}
	value := &draw.Beacon{Round: round}
	switch {
	case pasted != nil && pasted.Round != 0 && pasted.Round != round:
		return nil, fmt.Errorf("%w: the value pasted is of round %d, the draw's round is %d", ErrNoBeacon, pasted.Round, round)
	case pasted != nil:
		value.Signature = bytes.Clone(pasted.Signature)
	case h.Beacons == nil:
		return nil, fmt.Errorf("%w: nothing fetches it here", ErrNoBeacon)
	default:
		if value.Signature, _, err = h.Beacons.Fetch(ctx, chain, round); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrNoBeacon, err)
		}
	}
	if err := chain.Verify(round, value.Signature); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoBeacon, err)
	}
	return value, nil
}
