package draw

import (
	"time"
)

// A Freeze fixes the lists: after it no entry changes. A draw has one, for ever.
type Freeze struct {
	Draw         string
	Opening      Digest // of the opening's text
	Frozen       time.Time
	Issued       int64 // = Roll + Excluded
	Roll         int64 // lines of roll.txt
	RollHash     Digest
	Excluded     int64 // lines of excluded.txt
	ExcludedHash Digest
	Round        uint64 // the beacon's round; 0 where the opening names no beacon
}

// Text is the text that is signed.
func (f Freeze) Text() []byte {
	var p printer
	p.line("evenhand/freeze/v1")
	p.line("draw", f.Draw)
	p.line("opening", f.Opening.String())
	p.line("frozen", FormatTime(f.Frozen))
	p.line("issued", itoa(f.Issued))
	p.line("roll", itoa(f.Roll), f.RollHash.String())
	p.line("excluded", itoa(f.Excluded), f.ExcludedHash.String())
	if f.Round != 0 {
		p.line("round", itoa(int64(f.Round)))
	}
	return p.Bytes()
}

// ParseFreeze reads the text of a freeze. That it fits its opening and the
// lists is for [Check].
func ParseFreeze(file string, text []byte) (Freeze, error) {
	p := newParser(file, text)
	p.literal("evenhand/freeze/v1")
	f := Freeze{Draw: p.id("draw")}
	f.Opening = p.digest("opening", "H of opening.txt")
	f.Frozen = p.time("frozen")
	f.Issued = p.number("issued", 0)
	issuedAt := p.n
	f.Roll, f.RollHash = p.counted("roll")
	f.Excluded, f.ExcludedHash = p.counted("excluded")
	if p.at("round") {
		f.Round = uint64(p.number("round", 1))
	}
	p.end()
	if p.err == nil && f.Issued != f.Roll+f.Excluded {
		p.n = issuedAt
		p.fail("want issued = roll + excluded = %d", f.Roll+f.Excluded)
	}
	return f, p.err
}

// counted reads "<key> <n> <hash>".
func (p *parser) counted(key string) (int64, Digest) {
	v := p.fields(key, "n", "H of "+key+".txt")
	return p.least(v[0], 0), convert(p, v[1], ParseDigest)
}
