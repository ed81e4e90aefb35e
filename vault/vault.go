// Package vault keeps what a database dump alone must not open.
//
// There is one master key for an installation. It lies in a file that only
// its owner can read, beside the data or where a setting says, never in the
// database. Every server on one database reads the same file. From the master
// key come, by HKDF, one key for sealing and one key for each other purpose.
//
// Start with [Load]. [Vault.Seal] and [Vault.Open] turn a secret into bytes
// that may lie in a database and back; [Vault.Key] gives the key of a purpose
// such as signing cookies; [Vault.Check] is a value that tells two master
// keys apart and gives nothing away.
//
// The package does not store the sealed bytes and knows no database. Whoever
// loses the master key loses every sealed secret: there is no other way in.
package vault

import (
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"golang.org/x/crypto/chacha20poly1305"
)

// KeySize is the length in bytes of the master key and of every key made
// from it.
const KeySize = 32

// The labels of the keys that the vault itself makes. A label is used for one
// purpose and never changes; a new purpose takes a new label.
const (
	sealLabel  = "evenhand/vault/seal/v1"
	checkLabel = "evenhand/vault/check/v1"
)

// sealVersion is the first byte of sealed bytes: XChaCha20-Poly1305 with a
// random nonce of 24 bytes and the associated data of [associated].
const sealVersion = 1

// ErrNotOurs says that sealed bytes were not made with this master key, this
// label and this draw id, or were changed since.
var ErrNotOurs = errors.New("not sealed under this master key for this purpose")

// A Vault seals and opens secrets under one master key. Its methods may be
// called from many goroutines if the random source may.
type Vault struct {
	master [KeySize]byte
	aead   cipher.AEAD
	rand   io.Reader
}

// New returns the vault of a master key. rand gives the nonces.
func New(master [KeySize]byte, rand io.Reader) (*Vault, error) {
	v := &Vault{master: master, rand: rand}
	key := v.derive(sealLabel)
	aead, err := chacha20poly1305.NewX(key[:])
	if err != nil {
		return nil, fmt.Errorf("make the vault: %w", err)
	}
	v.aead = aead
	return v, nil
}

// Key returns the key of a purpose: HKDF-SHA-256 (RFC 5869) of the master key
// with no salt and the label as info. The same label gives the same key on
// every server. It panics on a label that the vault uses itself: that key
// would open what was sealed.
func (v *Vault) Key(label string) [KeySize]byte {
	if label == sealLabel || label == checkLabel || label == "" {
		panic("vault: label " + label + " is not free")
	}
	return v.derive(label)
}

// Check returns a value that differs between master keys. It may lie in the
// database in the clear: it is an HKDF output of its own and tells nothing
// about the other keys.
func (v *Vault) Check() [KeySize]byte { return v.derive(checkLabel) }

// Seal encrypts a secret for one purpose and one draw id ("" where it belongs
// to the installation). The label and the id are bound to the bytes
// (associated data), so that a row copied to another giveaway opens nothing.
func (v *Vault) Seal(label, draw string, secret []byte) ([]byte, error) {
	out := make([]byte, 1+chacha20poly1305.NonceSizeX, 1+chacha20poly1305.NonceSizeX+len(secret)+chacha20poly1305.Overhead)
	out[0] = sealVersion
	if _, err := io.ReadFull(v.rand, out[1:]); err != nil {
		return nil, fmt.Errorf("seal %s: read random bytes: %w", label, err)
	}
	return v.aead.Seal(out, out[1:], secret, associated(label, draw)), nil
}

// Open decrypts what Seal made for the same label and draw id; anything else
// is [ErrNotOurs].
func (v *Vault) Open(label, draw string, sealed []byte) ([]byte, error) {
	head := 1 + chacha20poly1305.NonceSizeX
	if len(sealed) < head+chacha20poly1305.Overhead || sealed[0] != sealVersion {
		return nil, fmt.Errorf("open %s: %w", label, ErrNotOurs)
	}
	secret, err := v.aead.Open(nil, sealed[1:head], sealed[head:], associated(label, draw))
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", label, ErrNotOurs)
	}
	return secret, nil
}

func (v *Vault) derive(label string) (key [KeySize]byte) {
	b, err := hkdf.Key(sha256.New, v.master[:], nil, label, KeySize)
	if err != nil {
		// Only a length above 255 hashes or a FIPS mode that refuses the key
		// gets here; both are faults of the build, not of the data.
		panic("vault: derive a key: " + err.Error())
	}
	copy(key[:], b)
	return key
}

// associated joins label and draw id so that no two pairs give the same
// bytes: each goes behind its length.
func associated(label, draw string) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(label)))
	b = append(b, label...)
	b = binary.BigEndian.AppendUint32(b, uint32(len(draw)))
	return append(b, draw...)
}
