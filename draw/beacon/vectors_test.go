package beacon_test

import (
	"encoding/hex"
	"encoding/json"
	"os"
	"testing"

	"evenhand/draw/beacon"
)

// vectors is testdata/vectors/drand-quicknet.json. Source of every value in
// it: named in the file, per round; checked there with three independent
// libraries.
type vectors struct {
	ChainInfo struct {
		ChainHash string `json:"chain_hash"`
		PublicKey string `json:"public_key"`
		Genesis   int64  `json:"genesis_time"`
		Period    int64  `json:"period_seconds"`
		GroupHash string `json:"genesis_seed_group_hash"`
		Scheme    string `json:"scheme"`
		BeaconID  string `json:"beacon_id"`
	} `json:"chain_info"`
	Rounds []struct {
		Round      uint64 `json:"round"`
		Signature  string `json:"signature"`
		Randomness string `json:"randomness"`
		Message    string `json:"message_sha256_of_be64_round"`
		Time       int64  `json:"round_time_unix"`
	} `json:"rounds"`
	Reject []struct {
		Name      string `json:"name"`
		Round     uint64 `json:"round"`
		Signature string `json:"signature"`
	} `json:"reject"`
	Other struct {
		ChainHash  string `json:"chain_hash"`
		PublicKey  string `json:"public_key"`
		Genesis    int64  `json:"genesis_time"`
		Period     int64  `json:"period_seconds"`
		GroupHash  string `json:"genesis_seed_group_hash"`
		BeaconID   string `json:"beacon_id"`
		Round      uint64 `json:"round"`
		Signature  string `json:"signature"`
		Randomness string `json:"randomness"`
	} `json:"other_chain"`
}

func loadVectors(t testing.TB) vectors {
	t.Helper()
	data, err := os.ReadFile("../../testdata/vectors/drand-quicknet.json")
	if err != nil {
		t.Fatal(err)
	}
	var v vectors
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	// What the file is known to hold; a loader that finds less must fail.
	if len(v.Rounds) < 15 || len(v.Reject) < 12 || v.Other.Signature == "" {
		t.Fatalf("vectors: %d rounds, %d to reject, other chain %q", len(v.Rounds), len(v.Reject), v.Other.ChainHash)
	}
	return v
}

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func otherChain(t testing.TB, v vectors) beacon.Chain {
	t.Helper()
	o := v.Other
	c, err := beacon.New(o.Period, o.Genesis, o.PublicKey, o.GroupHash, o.BeaconID)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
