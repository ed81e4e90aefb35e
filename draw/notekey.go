package draw

import (
	"crypto/ed25519"
	"errors"
	"strings"
)

// keySeed is the Ed25519 seed within the secret form of a signed-note key:
// PRIVATE+KEY+<name>+<key id>+<base64 of the algorithm byte and the seed>.
func keySeed(secret string) ([]byte, error) {
	parts := strings.SplitN(strings.TrimPrefix(secret, keyPrefix), "+", 3)
	if len(parts) != 3 {
		return nil, errors.New("want a signing key as signed-note writes it")
	}
	raw, err := strictBase64(parts[2])
	if err != nil || len(raw) != 1+ed25519.SeedSize || raw[0] != ed25519ID {
		return nil, errors.New("want an Ed25519 signing key")
	}
	return raw[1:], nil
}

func publicKey(seed []byte) ed25519.PublicKey {
	return ed25519.NewKeyFromSeed(seed).Public().(ed25519.PublicKey)
}
