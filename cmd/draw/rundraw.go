package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/draw/relay"
	"evenhand/giveaway"
)

// How the command was told to draw.
type drawing struct {
	beacon   string // pasted value; "-" reads it from standard input
	relays   list
	secrets  list
	withheld list
	wait     bool
	chains   []beacon.Chain
}

// runDraw opens the seals, gets the beacon's value and makes the record.
func (p *program) runDraw(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	var d drawing
	set.StringVar(&d.beacon, "beacon", "", "")
	set.Var(&d.relays, "relay", "")
	set.Var(&d.secrets, "secret", "")
	set.Var(&d.withheld, "withheld", "")
	set.BoolVar(&d.wait, "wait", false, "")
	rest, chains, err := p.parseWithChains(set, args, 1, 1)
	if err != nil {
		return 0, err
	}
	d.chains = chains
	h, err := hostOf(rest[0])
	if err != nil {
		return 0, err
	}
	m, err := p.making(h, d)
	if err != nil {
		return 0, err
	}
	if err := p.until(ctx, m.NotBefore(), d.wait, "the draw"); err != nil {
		return 0, err
	}
	if m.Beacon, err = p.beaconValue(ctx, m, d); err != nil {
		return 0, err
	}
	return statusDone, p.drawNow(ctx, h, m, d.chains)
}

// making gathers all that a draw is made from but the beacon's value.
func (p *program) making(h host, d drawing) (draw.Making, error) {
	m := draw.Making{Opening: h.opening}
	for _, name := range []string{draw.RecordFile, draw.CancelledFile} {
		if h.has(name) {
			return m, fmt.Errorf("%s: %w; a draw has one record, for ever", h.public(name), fs.ErrExist)
		}
	}
	var err error
	m.Freeze, _, err = h.freeze()
	if errors.Is(err, fs.ErrNotExist) {
		return m, errors.New("the list is not frozen yet: use draw freeze first")
	}
	if err != nil {
		return m, err
	}
	if m.Chain, err = chainOf(h.opening, d.chains); err != nil {
		return m, err
	}
	m.Secrets, err = p.openSeals(h, d)
	return m, err
}

// openSeals reads the secrets in the opening's order: the host's from the
// private folder, others from the files given, unless they are left shut.
func (p *program) openSeals(h host, d drawing) ([]draw.Secret, error) {
	given := map[string]draw.Seal{}
	for _, file := range d.secrets {
		s, err := readSeal(file)
		if err != nil {
			return nil, fmt.Errorf("--secret: %w", err)
		}
		given[s.Role] = s
	}
	var out []draw.Secret
	for _, want := range h.opening.Seals {
		s, ok := given[want.Role]
		shut := slices.Contains(d.withheld, want.Role)
		switch {
		case ok && shut:
			return nil, p.usage("--withheld %s: its secret is given too", want.Role)
		case shut:
			out = append(out, draw.Secret{Role: want.Role, Withheld: true})
			continue
		case !ok && want.Role == giveaway.HostRole:
			var err error
			if s, err = h.seal(want.Role); err != nil {
				return nil, fmt.Errorf("the host's secret: %w", err)
			}
		case !ok:
			return nil, fmt.Errorf("the secret of %s is missing: give --secret FILE, or, if it did not arrive, --withheld %s (the draw is then weak)", want.Role, want.Role)
		}
		if s.Hash() != want.Hash {
			return nil, fmt.Errorf("the secret of %s is not the one that was sealed: its hash is %s, the opening names %s", want.Role, s.Hash(), want.Hash)
		}
		delete(given, want.Role)
		out = append(out, draw.Secret{Role: want.Role, Value: s.Secret})
	}
	for role := range given {
		return nil, fmt.Errorf("--secret: the opening names no seal of %s", role)
	}
	return out, nil
}

// beaconValue is the value pasted, or the one that a relay gives.
func (p *program) beaconValue(ctx context.Context, m draw.Making, d drawing) (*draw.Beacon, error) {
	if m.Chain == nil {
		if d.beacon != "" {
			return nil, p.usage("--beacon: the posted terms name no beacon")
		}
		return nil, nil
	}
	if d.beacon != "" {
		return p.pasted(m, d.beacon)
	}
	client := relay.Client{Relays: d.relays, Notes: p.relayNote}
	v, err := fetch(ctx, client, m)
	if err != nil {
		return nil, noNumber(m, err)
	}
	p.say("public number of round %d from %s", v.Round, v.From)
	return &draw.Beacon{Round: v.Round, Signature: v.Signature}, nil
}

// noNumber says what to do without a relay. What each relay said stands above
// it already, but for those that have not got the round yet.
func noNumber(m draw.Making, err error) error {
	why := "no relay gave the public number"
	if errors.Is(err, relay.ErrNotYet) {
		why = "no relay has the public number yet"
	}
	return fmt.Errorf("%s of round %d: open this address on any device and paste what it says with --beacon\n%s/%s/public/%d",
		why, m.Freeze.Round, relay.Default()[0], m.Chain.HashHex(), m.Freeze.Round)
}

// relayNote names a relay that gave no true value. That it has not got the
// round yet is nothing to tell: it is asked again.
func (p *program) relayNote(from string, err error) {
	if !errors.Is(err, relay.ErrNotYet) {
		p.say("%s: %s", from, oneLine(err.Error()))
	}
}

// fetch asks again each second while the round is not there yet: relays are a
// moment behind the round's own time. All of it ends after 15 s.
func fetch(ctx context.Context, client relay.Client, m draw.Making) (relay.Value, error) {
	ctx, cancel := context.WithTimeout(ctx, 15*time.Second)
	defer cancel()
	for {
		v, err := client.Fetch(ctx, *m.Chain, m.Freeze.Round)
		if !errors.Is(err, relay.ErrNotYet) {
			return v, err
		}
		select {
		case <-ctx.Done():
			return v, err
		case <-time.After(time.Second):
		}
	}
}

func (p *program) pasted(m draw.Making, value string) (*draw.Beacon, error) {
	if value == "-" {
		b, err := io.ReadAll(io.LimitReader(p.stdin, maxSmall))
		if err != nil {
			return nil, fmt.Errorf("--beacon: %w", err)
		}
		value = string(b)
	}
	round, sig, err := relay.ParsePasted(value)
	switch {
	case err != nil:
		return nil, fmt.Errorf("--beacon: %w", err)
	case round != 0 && round != m.Freeze.Round:
		return nil, fmt.Errorf("--beacon: this is round %d; the freeze names round %d", round, m.Freeze.Round)
	}
	return &draw.Beacon{Round: m.Freeze.Round, Signature: sig}, nil
}

// drawNow makes, signs and publishes the record.
func (p *program) drawNow(ctx context.Context, h host, m draw.Making, chains []beacon.Chain) error {
	roll, err := os.Open(h.public(draw.RollFile))
	if err != nil {
		return err
	}
	defer roll.Close()
	bar := p.progress(m.Freeze.Roll)
	m.Roll, m.Drawn = bar.reader(roll), p.clock()
	r, err := draw.MakeRecord(m)
	bar.end()
	if err != nil {
		return err
	}
	note, err := h.sign(draw.RecordFile, r.Text())
	if err != nil {
		return err
	}
	if err := p.publish(ctx, h, chains, note); err != nil {
		return err
	}
	p.print("seed %s\n", r.Seed)
	for _, place := range r.Places {
		p.print("place %d %s %s\n", place.N, place.Ticket, place.Score)
	}
	p.say("%d tickets; places 1 to %d win; who holds a ticket stands in %s", m.Freeze.Roll, min(m.Opening.Winners, len(r.Places)), h.imports(entriesName))
	return nil
}
