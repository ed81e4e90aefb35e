package beacon

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
)

// maxInfo is more than any chain's info takes, in bytes.
const maxInfo = 4096

// info is a chain's description as drand serves it. Two forms are about, with
// the same values under other names; the second name of each pair is the newer
// one.
type info struct {
	PublicKey   string `json:"public_key"`
	Period      int64  `json:"period"`
	GenesisTime int64  `json:"genesis_time"`

	GroupHash   string `json:"groupHash"`
	GenesisSeed string `json:"genesis_seed"`

	Hash      string `json:"hash"`
	ChainHash string `json:"chain_hash"`

	SchemeID string `json:"schemeID"`
	Scheme   string `json:"scheme"`

	Metadata struct {
		BeaconID string `json:"beaconID"`
	} `json:"metadata"`
	BeaconID string `json:"beacon_id"`
}

// ParseInfo reads a chain from its info JSON, at most 4096 bytes, as a drand
// relay serves it under {chain hash}/info. The scheme must be [Scheme]: another is
// refused by name, since the chain hash does not cover it. The hash must be
// there and equal the one computed from the other fields.
func ParseInfo(data []byte) (Chain, error) {
	if len(data) > maxInfo {
		return Chain{}, fmt.Errorf("read chain info: %d bytes, want at most %d", len(data), maxInfo)
	}
	var in info
	if err := json.Unmarshal(data, &in); err != nil {
		return Chain{}, fmt.Errorf("read chain info: %w", err)
	}
	scheme, err1 := oneOf("scheme", in.SchemeID, in.Scheme)
	group, err2 := oneOf("group hash", in.GroupHash, in.GenesisSeed)
	hash, err3 := oneOf("chain hash", in.Hash, in.ChainHash)
	id, err4 := oneOf("beacon id", in.Metadata.BeaconID, in.BeaconID)
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		return Chain{}, fmt.Errorf("read chain info: %w", err)
	}
	if scheme != Scheme {
		return Chain{}, fmt.Errorf("read chain info: scheme %.64q is not %s", scheme, Scheme)
	}
	c, err := New(in.Period, in.GenesisTime, in.PublicKey, group, id)
	if err != nil {
		return Chain{}, fmt.Errorf("read chain info: %w", err)
	}
	var given [32]byte
	if err := decodeHex(given[:], hash); err != nil {
		return Chain{}, fmt.Errorf("read chain info: chain hash: %w", err)
	}
	if given != c.Hash {
		return Chain{}, fmt.Errorf("read chain info: chain hash %s does not fit its fields, which give %s",
			hex.EncodeToString(given[:]), c.HashHex())
	}
	return c, nil
}

// oneOf returns the value that stands under either of two names, "" if under
// neither. It is an error if both bear values that differ.
func oneOf(what, a, b string) (string, error) {
	if a != "" && b != "" && a != b {
		return "", fmt.Errorf("%s given twice, and not the same", what)
	}
	if a == "" {
		return b, nil
	}
	return a, nil
}
