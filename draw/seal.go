package draw

import "encoding/hex"

// A Seal is one person's part in the draw: a secret whose hash is published in
// the opening and which is opened at the event. Nobody can change it then, and
// nobody else can know it before.
type Seal struct {
	Draw   string
	Signer string // the signer's name, not the key
	Role   string
	Secret [32]byte // from a secure generator
}

// Text is the text whose hash is published.
func (s Seal) Text() []byte {
	var p printer
	p.line("evenhand/seal/v1")
	p.line("draw", s.Draw)
	p.line("signer", s.Signer)
	p.line("by", s.Role)
	p.line("secret", hex.EncodeToString(s.Secret[:]))
	return p.Bytes()
}

// Hash is what stands in the opening. The first line keeps it from being
// taken for the hash of any other text of the protocol.
func (s Seal) Hash() Digest { return Hash(s.Text()) }

// ParseSeal reads the text of a seal.
func ParseSeal(file string, text []byte) (Seal, error) {
	p := newParser(file, text)
	p.literal("evenhand/seal/v1")
	s := Seal{Draw: p.id("draw")}
	s.Signer = p.value("signer", "name")
	if p.err == nil && !ValidSigner(s.Signer) {
		p.fail("want a signer's name: a lower-case host name")
	}
	s.Role = p.role(p.value("by", "role"), "a role")
	s.Secret = p.digest("secret", "64 hex")
	p.end()
	return s, p.err
}
