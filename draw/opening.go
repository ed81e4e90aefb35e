package draw

import (
	"fmt"
	"time"

	"evenhand/draw/beacon"
)

// Limits of the protocol.
const (
	maxPlaces = 10000 // winners and alternates together
	maxSeals  = 8
)

// A SealHash is a seal as the opening names it.
type SealHash struct {
	Role string
	Hash Digest
}

// An Opening is what the host binds itself to before the first entry.
type Opening struct {
	Draw       string
	Revision   int       // from 1
	Replaces   Digest    // only where Revision > 1
	Revised    time.Time // only where Revision > 1
	Signer     string    // the verifier key, as signed-note writes it
	Opens      time.Time
	Closes     time.Time
	Event      time.Time
	Winners    int // 1 or more, with equal prizes
	Alternates int // with Winners at most 10000
	Rules      Digest
	Seals      []SealHash // roles strictly ascending, host among them
	Beacon     *Digest    // the chain's hash; nil for none
	Follows    string     // the cancelled draw that this one replaces, or ""
}

// Text is the text that is signed.
func (o Opening) Text() []byte {
	var p printer
	p.line("evenhand/opening/v1")
	p.line("draw", o.Draw)
	p.line("revision", itoa(int64(o.Revision)))
	if o.Revision > 1 {
		p.line("replaces", o.Replaces.String())
		p.line("revised", FormatTime(o.Revised))
	}
	p.line("signer", o.Signer)
	p.line("opens", FormatTime(o.Opens))
	p.line("closes", FormatTime(o.Closes))
	p.line("event", FormatTime(o.Event))
	p.line("winners", itoa(int64(o.Winners)))
	p.line("alternates", itoa(int64(o.Alternates)))
	p.line("rules", o.Rules.String())
	for _, s := range o.Seals {
		p.line("seal", s.Role, s.Hash.String())
	}
	if o.Beacon != nil {
		p.line("beacon", o.Beacon.String())
	}
	if o.Follows != "" {
		p.line("follows", o.Follows)
	}
	return p.Bytes()
}

// Validate tells whether the opening can be published.
func (o Opening) Validate() error {
	_, err := ParseOpening(OpeningFile, o.Text())
	return err
}

// Places is the number of places of a draw over a roll of n tickets.
func (o Opening) Places(n int64) int {
	return int(min(int64(o.Winners+o.Alternates), n))
}

// ParseOpening reads the text of an opening.
func ParseOpening(file string, text []byte) (Opening, error) {
	p := newParser(file, text)
	p.literal("evenhand/opening/v1")
	o := Opening{Draw: p.id("draw")}
	o.Revision = int(p.number("revision", 1))
	if o.Revision > 1 {
		o.Replaces = p.digest("replaces", "H of the opening before")
		o.Revised = p.time("revised")
	}
	o.Signer = p.value("signer", "verifier key")
	convert(p, o.Signer, ParseVerifier)
	p.openingTimes(&o)
	o.Winners = int(p.places("winners", 1))
	o.Alternates = int(p.places("alternates", 0))
	if p.err == nil && o.Winners+o.Alternates > maxPlaces {
		p.fail("want winners and alternates to be %d at most together", maxPlaces)
	}
	o.Rules = p.digest("rules", "H of rules.txt")
	o.Seals = p.seals()
	if p.at("beacon") {
		hash := p.digest("beacon", "chain hash")
		o.Beacon = &hash
	}
	if p.at("follows") {
		o.Follows = p.id("follows")
		if p.err == nil && o.Follows == o.Draw {
			p.fail("want follows to name another draw")
		}
	}
	p.end()
	return o, p.err
}

func (p *parser) places(key string, least int64) int64 {
	n := p.number(key, least)
	if p.err == nil && n > maxPlaces {
		p.fail("want %s of %d at most", key, maxPlaces)
	}
	return n
}

func (p *parser) openingTimes(o *Opening) {
	o.Opens = p.time("opens")
	o.Closes = p.time("closes")
	if p.err == nil && !o.Opens.Before(o.Closes) {
		p.fail("want closes after opens")
	}
	o.Event = p.time("event")
	if p.err == nil && !o.Closes.Before(o.Event) {
		p.fail("want event after closes")
	}
	if p.err == nil && o.Revision > 1 && !o.Revised.Before(o.Event) {
		p.fail("want event after revised, %s", FormatTime(o.Revised))
	}
}

func (p *parser) seals() []SealHash {
	var out []SealHash
	host := false
	for len(out) == 0 || p.at("seal") {
		v := p.fields("seal", "role", "H")
		s := SealHash{p.role(v[0], "a role"), convert(p, v[1], ParseDigest)}
		switch {
		case p.err != nil:
			return nil
		case len(out) == maxSeals:
			p.fail("want %d seals at most", maxSeals)
		case len(out) > 0 && out[len(out)-1].Role >= s.Role:
			p.fail("want the seals' roles in strictly ascending order")
		}
		host = host || s.Role == hostRole
		out = append(out, s)
	}
	if !host {
		p.fail("want a seal of the host")
	}
	return out
}

// hostRole is the seal that every draw has and that must be opened.
const hostRole = "host"

// FirstRound is the round of the chain that the freeze names: the first whose
// time is not before the event. Nobody chooses it.
func (o Opening) FirstRound(c beacon.Chain) (uint64, error) {
	round, err := c.RoundAt(o.Event)
	if err != nil {
		return 0, fmt.Errorf("round of the event: %w", err)
	}
	return round, nil
}
