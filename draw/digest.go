package draw

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// A Digest is a SHA-256 value (FIPS 180-4). In every text it is 64 lower-case
// hex digits.
type Digest [sha256.Size]byte

// Hash is SHA-256 of b.
func Hash(b []byte) Digest { return sha256.Sum256(b) }

// ParseDigest reads 64 lower-case hex digits.
func ParseDigest(s string) (Digest, error) {
	var d Digest
	if len(s) != hex.EncodedLen(len(d)) || !lowerHex(s) {
		return d, fmt.Errorf("want 64 lower-case hex digits")
	}
	_, err := hex.Decode(d[:], []byte(s))
	return d, err
}

// String is the digest in 64 lower-case hex digits.
func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// IsZero tells whether d was never set.
func (d Digest) IsZero() bool { return d == Digest{} }

// MarshalText makes JSON show the hex digits.
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (d *Digest) UnmarshalText(b []byte) (err error) {
	*d, err = ParseDigest(string(b))
	return err
}

func lowerHex(s string) bool {
	for i := range len(s) {
		if c := s[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}
