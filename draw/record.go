package draw

import (
	"encoding/hex"
	"time"

	"evenhand/draw/beacon"
)

// A Secret is an opened seal, or one that was left shut.
type Secret struct {
	Role     string
	Withheld bool
	Value    [32]byte
}

// A Beacon is the beacon's part in a record.
type Beacon struct {
	Round     uint64
	Signature []byte // 48 bytes; its SHA-256 is the round's randomness
}

// A Place is one ticket of the order of the draw.
type Place struct {
	N      int    `json:"place"` // from 1
	Ticket Ticket `json:"ticket"`
	Score  Digest `json:"score"`
}

// A Record is a draw that was made. A draw has one, for ever.
type Record struct {
	Draw    string
	Freeze  Digest // of the freeze's text
	Drawn   time.Time
	Secrets []Secret // in the opening's order
	Beacon  *Beacon  // nil where the opening names none
	Seed    Digest
	Places  []Place
}

// Text is the text that is signed.
func (r Record) Text() []byte {
	var p printer
	p.line("evenhand/record/v1")
	p.line("draw", r.Draw)
	p.line("freeze", r.Freeze.String())
	p.line("drawn", FormatTime(r.Drawn))
	for _, s := range r.Secrets {
		p.secret(s)
	}
	if r.Beacon != nil {
		p.line("beacon", itoa(int64(r.Beacon.Round)), hex.EncodeToString(r.Beacon.Signature))
	}
	p.line("seed", r.Seed.String())
	for _, q := range r.Places {
		p.line("place", itoa(int64(q.N)), q.Ticket.String(), q.Score.String())
	}
	return p.Bytes()
}

// key is what the line of a secret begins with.
func (s Secret) key() string {
	if s.Withheld {
		return "withheld " + s.Role
	}
	return "secret " + s.Role
}

// withheld are the roles of the seals left shut.
func (r Record) withheld() []string {
	var out []string
	for _, s := range r.Secrets {
		if s.Withheld {
			out = append(out, s.Role)
		}
	}
	return out
}

func (p *printer) secret(s Secret) {
	if s.Withheld {
		p.line("withheld", s.Role)
	} else {
		p.line("secret", s.Role, hex.EncodeToString(s.Value[:]))
	}
}

// ParseRecord reads the text of a record.
func ParseRecord(file string, text []byte) (Record, error) {
	p := newParser(file, text)
	p.literal("evenhand/record/v1")
	r := Record{Draw: p.id("draw")}
	r.Freeze = p.digest("freeze", "H of freeze.txt")
	r.Drawn = p.time("drawn")
	for len(r.Secrets) == 0 || p.at("secret") || p.at("withheld") {
		r.Secrets = append(r.Secrets, p.secret())
		if p.err == nil && len(r.Secrets) > maxSeals {
			p.fail("want %d secrets at most", maxSeals)
		}
		if p.err != nil {
			return r, p.err
		}
	}
	if p.at("beacon") {
		r.Beacon = p.beacon()
	}
	r.Seed = p.digest("seed", "64 hex")
	for p.err == nil && p.rest != "" {
		r.Places = append(r.Places, p.place(len(r.Places)+1))
	}
	p.end()
	return r, p.err
}

func (p *parser) secret() Secret {
	if p.at("withheld") {
		role := p.role(p.value("withheld", "role"), "a role")
		if p.err == nil && role == hostRole {
			p.fail("want the host's secret: it is never withheld")
		}
		return Secret{Role: role, Withheld: true}
	}
	v := p.fields("secret", "role", "64 hex")
	return Secret{Role: p.role(v[0], "a role"), Value: convert(p, v[1], ParseDigest)}
}

func (p *parser) beacon() *Beacon {
	v := p.fields("beacon", "round", "signature")
	return &Beacon{uint64(p.least(v[0], 1)), convert(p, v[1], beacon.ParseSignature)}
}

func (p *parser) place(want int) Place {
	v := p.fields("place", "n", "ticket", "score")
	n := p.least(v[0], 1)
	if p.err == nil && n != int64(want) {
		p.fail("want place %d", want)
	}
	if p.err == nil && want > maxPlaces {
		p.fail("want %d places at most", maxPlaces)
	}
	return Place{int(n), convert(p, v[1], ParseTicket), convert(p, v[2], ParseDigest)}
}
