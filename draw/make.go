package draw

import (
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/draw/beacon"
)

// Making is all that a draw is made from.
type Making struct {
	Opening Opening
	Freeze  Freeze
	Secrets []Secret      // each seal, in the opening's order
	Beacon  *Beacon       // nil where the opening names none
	Chain   *beacon.Chain // the chain that the opening names; nil where none
	Drawn   time.Time
	Roll    io.Reader // roll.txt
}

// MakeRecord makes the draw: one pass over the roll. It refuses whatever its
// own check would fault: an early hour, a secret that opens no seal, a beacon
// value that does not verify, a roll that is not the frozen one.
func MakeRecord(m Making) (Record, error) {
	v, err := ParseVerifier(m.Opening.Signer)
	if err != nil {
		return Record{}, fmt.Errorf("make record: signer: %w", err)
	}
	if m.Freeze.Opening != Hash(m.Opening.Text()) {
		return Record{}, errors.New("make record: the freeze names another opening")
	}
	if err := fitSeals(m.Opening, v.Name(), m.Secrets); err != nil {
		return Record{}, fmt.Errorf("make record: %w", err)
	}
	if until := m.NotBefore(); m.Drawn.Before(until) {
		return Record{}, fmt.Errorf("make record: want drawn not before %s", FormatTime(until))
	}
	if err := m.fitBeacon(); err != nil {
		return Record{}, fmt.Errorf("make record: %w", err)
	}
	freeze := Hash(m.Freeze.Text())
	seed := ComputeSeed(freeze, m.Secrets, m.Beacon)
	list, places, err := Order(seed, m.Roll, m.Opening.Winners+m.Opening.Alternates)
	if err != nil {
		return Record{}, fmt.Errorf("make record: %w", err)
	}
	if (list != List{m.Freeze.Roll, m.Freeze.RollHash}) {
		return Record{}, errors.New("make record: the roll is not the frozen one")
	}
	return Record{Draw: m.Opening.Draw, Freeze: freeze, Drawn: m.Drawn, Secrets: m.Secrets,
		Beacon: m.Beacon, Seed: seed, Places: places}, nil
}

// NotBefore is the earliest time at which the draw may be made: the event, or
// the round's time where that is later.
func (m Making) NotBefore() time.Time {
	t := m.Opening.Event
	if m.Chain != nil && m.Freeze.Round != 0 {
		if round := m.Chain.TimeOf(m.Freeze.Round); round.After(t) {
			t = round
		}
	}
	return t
}

func (m Making) fitBeacon() error {
	switch named := m.Opening.Beacon; {
	case named == nil && m.Beacon == nil:
		return nil
	case named == nil:
		return errors.New("the opening names no beacon")
	case m.Beacon == nil:
		return errors.New("the opening names a beacon; its signature is missing")
	case m.Chain == nil || Digest(m.Chain.Hash) != *named:
		return fmt.Errorf("want the chain %s, as the opening names it", named)
	case m.Beacon.Round != m.Freeze.Round:
		return fmt.Errorf("want the beacon's round %d, as the freeze says", m.Freeze.Round)
	}
	if err := m.Chain.Verify(m.Beacon.Round, m.Beacon.Signature); err != nil {
		return fmt.Errorf("beacon's signature of round %d: %w", m.Beacon.Round, err)
	}
	return nil
}
