package beacon

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"

	"github.com/cloudflare/circl/ecc/bls12381"
)

// SignatureSize is the length of a round's signature in bytes: one compressed
// point of G1.
const SignatureSize = 48

// dst is the domain separation tag of drand's scheme. It says "G1" and
// RFC 9380's suite BLS12381G1_XMD:SHA-256_SSWU_RO.
const dst = "BLS_SIG_BLS12381G1_XMD:SHA-256_SSWU_RO_NUL_"

// ErrFalse is the cause when a well-formed signature is not the chain's
// signature of that round.
var ErrFalse = errors.New("not this chain's signature of this round")

// Verify returns nil if sig is the chain's signature of the round:
// e(sig, generator of G2) = e(H(message), key), where the message is
// [Message] of the round. Any other error than [ErrFalse] says what is wrong
// with the form of sig, of the round or of the chain's key.
//
// The randomness is a hash of sig's bytes, so a point may have one form only:
// anything but 48 bytes, the point at infinity, an x that is not below p and
// a point outside the prime-order group are refused (draw protocol, section
// "Beacon"). The length is checked first, since libraries take the 96-byte
// form of the same point too.
func (c Chain) Verify(round uint64, sig []byte) error {
	if round < 1 || round > MaxRound {
		return fmt.Errorf("verify beacon round %d: rounds go from 1 to %d", round, uint64(MaxRound))
	}
	point, err := decodeSignature(sig)
	if err != nil {
		return fmt.Errorf("verify beacon round %d: %w", round, err)
	}
	key, err := c.key()
	if err != nil {
		return fmt.Errorf("verify beacon round %d: chain: %w", round, err)
	}
	message := Message(round)
	hashed := new(bls12381.G1)
	hashed.Hash(message[:], []byte(dst))
	// e(hashed, key) / e(sig, generator) is one exactly if both are equal.
	quotient := bls12381.ProdPairFrac(
		[]*bls12381.G1{hashed, point},
		[]*bls12381.G2{key, bls12381.G2Generator()},
		[]int{1, -1})
	if !quotient.IsIdentity() {
		return fmt.Errorf("verify beacon round %d: %w", round, ErrFalse)
	}
	return nil
}

// decodeSignature decodes a compressed point of G1. The library refuses what
// is not canonical, off the curve or outside the group; that the point prints
// back to the same bytes is asked once more here.
func decodeSignature(sig []byte) (*bls12381.G1, error) {
	if len(sig) != SignatureSize {
		return nil, fmt.Errorf("signature has %d bytes, want %d", len(sig), SignatureSize)
	}
	g := new(bls12381.G1)
	if err := g.SetBytes(sig); err != nil {
		return nil, errors.New("signature is not a point of the group G1 in compressed form")
	}
	if g.IsIdentity() {
		return nil, errors.New("signature is the point at infinity")
	}
	if !bytes.Equal(g.BytesCompressed(), sig) {
		return nil, errors.New("signature is not written in its canonical form")
	}
	return g, nil
}

// Message returns what the chain signs for a round: SHA-256 of the round
// number as 8 bytes, big-endian.
func Message(round uint64) [32]byte {
	return sha256.Sum256(binary.BigEndian.AppendUint64(nil, round))
}

// Randomness returns the round's value that enters the seed: SHA-256 of the
// signature's 48 bytes. Verify the signature first.
func Randomness(sig []byte) [32]byte { return sha256.Sum256(sig) }

// ParseSignature reads a signature as a record writes it: exactly 96
// lower-case hex digits. It returns 48 bytes, which are not verified yet.
// Pasted text is read more forgivingly elsewhere.
func ParseSignature(s string) ([]byte, error) {
	sig := make([]byte, SignatureSize)
	if err := decodeHex(sig, s); err != nil {
		return nil, fmt.Errorf("read beacon signature: %w", err)
	}
	return sig, nil
}
