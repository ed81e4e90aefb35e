// Package beacon knows drand chains: which round belongs to a time, and
// whether a value given for a round is that round's true value.
//
// A beacon is a group of independent operators that publishes one signature
// at a fixed interval, each for a round number. Nobody can know a round's
// signature before its time, and everybody can check it afterwards with the
// chain's public key. The draw takes the round of its event as the part of the
// seed that the host can not know when the roll is frozen (draw protocol,
// version 1, section "Beacon").
//
// Start with [Quicknet], the chain that every copy of the tool knows, or with
// [New] or [ParseInfo] for a chain that the person who checks supplies.
// [Chain.RoundAt] and [Chain.TimeOf] turn times into rounds and back,
// [Chain.Verify] checks a signature, [Randomness] is what enters the seed.
//
// Only the scheme bls-unchained-g1-rfc9380 is known: signatures on G1 of
// BLS12-381, keys on G2, hash to curve after RFC 9380.
//
// The package is pure: no clock, no network, no files. Package relay fetches.
package beacon

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"

	"github.com/cloudflare/circl/ecc/bls12381"
)

// Scheme is the name of the one signature scheme that this package checks.
const Scheme = "bls-unchained-g1-rfc9380"

// maxGenesis is 9999-12-31T23:59:59Z, the last time that the draw protocol
// can write.
const maxGenesis = 253402300799

// A Chain is one drand chain of the scheme [Scheme]. Chains are comparable.
// The zero Chain verifies nothing.
type Chain struct {
	Hash      [32]byte // names the chain; covers all fields below
	Period    int64    // seconds between rounds, 1 to 2³²−1
	Genesis   int64    // Unix time of round 1, in seconds
	Key       [96]byte // public key, compressed point of G2
	GroupHash [32]byte // hash of the group that began the chain ("genesis seed")
	ID        string   // beacon id, such as "quicknet"; "" and "default" hash alike
}

// Source of these values: drand's own chain info for quicknet, as kept in
// testdata/vectors/drand-quicknet.json with its origin.
const (
	quicknetPeriod  = 3
	quicknetGenesis = 1692803367 // 2023-08-23T15:09:27Z
	quicknetHash    = "52db9ba70e0cc0f6eaf7803dd07447a1f5477735fd3f661792ba94600c84e971"
	quicknetGroup   = "f477d5c89f21a17c863a7f937c6a6d15859414d2be09cd448d4279af331c5d3e"
	quicknetKey     = "83cf0f2896adee7eb8b5f01fcad3912212c437e0073e911fb90022d3e760183c" +
		"8c4b450b6a0a6c3ac6a5776a2d1064510d1fec758c921cc22b0e17e63aaf4bcb" +
		"5ed66304de9cf809bd274ca73bab4af5a6e9c76a4bc09e76eae8991ef5ece45a"
)

// Quicknet returns drand's quicknet, a round every three seconds, the chain
// that a draw names unless there is a reason for another.
func Quicknet() Chain {
	c := Chain{Period: quicknetPeriod, Genesis: quicknetGenesis, ID: "quicknet"}
	hex.Decode(c.Hash[:], []byte(quicknetHash))
	hex.Decode(c.Key[:], []byte(quicknetKey))
	hex.Decode(c.GroupHash[:], []byte(quicknetGroup))
	return c
}

// New makes a chain from its period in seconds, the Unix time of its first
// round, its public key (192 hex digits), its group hash (64 hex digits) and
// its beacon id. It computes the chain hash; whoever was told one compares.
// It refuses a key that is not a point of G2's prime-order group, or is its
// identity, for which anyone could make signatures.
func New(period, genesis int64, keyHex, groupHashHex, id string) (Chain, error) {
	c := Chain{Period: period, Genesis: genesis, ID: id}
	if period < 1 || period > math.MaxUint32 {
		return Chain{}, fmt.Errorf("beacon chain: period %d is not from 1 to %d seconds", period, uint32(math.MaxUint32))
	}
	if genesis < 0 || genesis > maxGenesis {
		return Chain{}, fmt.Errorf("beacon chain: genesis %d is not from 0 to %d", genesis, int64(maxGenesis))
	}
	if err := decodeHex(c.Key[:], keyHex); err != nil {
		return Chain{}, fmt.Errorf("beacon chain: key: %w", err)
	}
	if err := decodeHex(c.GroupHash[:], groupHashHex); err != nil {
		return Chain{}, fmt.Errorf("beacon chain: group hash: %w", err)
	}
	if !validID(id) {
		return Chain{}, errors.New("beacon chain: id is not 0 to 64 printable ASCII characters without space")
	}
	if _, err := c.key(); err != nil {
		return Chain{}, fmt.Errorf("beacon chain: %w", err)
	}
	c.Hash = c.computeHash()
	return c, nil
}

// HashHex returns the chain hash as 64 lower-case hex digits, the form in
// which an opening and a relay's address name the chain.
func (c Chain) HashHex() string { return hex.EncodeToString(c.Hash[:]) }

// computeHash is drand's chain hash: SHA-256 of period (4 bytes), genesis
// (8 bytes), key, group hash, and the id unless it is the default one; all
// numbers big-endian. The scheme's name is not covered by it. Source: the
// "chain_hash" rule in testdata/vectors/drand-quicknet.json.
func (c Chain) computeHash() [32]byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(c.Period))
	b = binary.BigEndian.AppendUint64(b, uint64(c.Genesis))
	b = append(b, c.Key[:]...)
	b = append(b, c.GroupHash[:]...)
	if c.ID != "default" {
		b = append(b, c.ID...)
	}
	return sha256.Sum256(b)
}

// key decodes the public key. The library's decoder refuses what is off the
// curve or outside the prime-order group, but takes the identity.
func (c Chain) key() (*bls12381.G2, error) {
	g := new(bls12381.G2)
	if err := g.SetBytes(c.Key[:]); err != nil {
		return nil, errors.New("key is not a point of the group G2")
	}
	if g.IsIdentity() {
		return nil, errors.New("key is the point at infinity")
	}
	if [96]byte(g.BytesCompressed()) != c.Key {
		return nil, errors.New("key is not written in its canonical form")
	}
	return g, nil
}

func validID(id string) bool {
	for i := range len(id) {
		if id[i] <= ' ' || id[i] > '~' {
			return false
		}
	}
	return len(id) <= 64
}

// decodeHex fills dst from exactly as many lower-case hex digits. Its errors
// bear no content.
func decodeHex(dst []byte, s string) error {
	if len(s) != 2*len(dst) {
		return fmt.Errorf("%d characters, want %d hex digits", len(s), 2*len(dst))
	}
	for i := range len(s) {
		if !('0' <= s[i] && s[i] <= '9' || 'a' <= s[i] && s[i] <= 'f') {
			return fmt.Errorf("character %d is not a lower-case hex digit", i+1)
		}
	}
	_, err := hex.Decode(dst, []byte(s))
	return err
}
