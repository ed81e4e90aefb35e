package beacon_test

import (
	"encoding/json"
	"fmt"
	"math/big"
	"strings"
	"testing"

	"evenhand/draw/beacon"
)

func TestQuicknetIsThePublishedChain(t *testing.T) {
	in := loadVectors(t).ChainInfo
	want, err := beacon.New(in.Period, in.Genesis, in.PublicKey, in.GroupHash, in.BeaconID)
	if err != nil {
		t.Fatal(err)
	}
	if got := beacon.Quicknet(); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := beacon.Quicknet().HashHex(); got != in.ChainHash {
		t.Errorf("hash %s, want %s", got, in.ChainHash)
	}
	if beacon.Scheme != in.Scheme {
		t.Errorf("scheme %s, want %s", beacon.Scheme, in.Scheme)
	}
}

func TestChainHashOfOtherChain(t *testing.T) {
	v := loadVectors(t)
	if got := otherChain(t, v).HashHex(); got != v.Other.ChainHash {
		t.Errorf("hash %s, want %s", got, v.Other.ChainHash)
	}
}

// The rule in the vectors: an empty id and "default" are left out alike; every
// other field changes the hash.
func TestChainHashCoversEveryField(t *testing.T) {
	in := loadVectors(t).ChainInfo
	other := loadVectors(t).Other
	make := func(period, genesis int64, key, group, id string) string {
		c, err := beacon.New(period, genesis, key, group, id)
		if err != nil {
			t.Fatal(err)
		}
		return c.HashHex()
	}
	empty := make(in.Period, in.Genesis, in.PublicKey, in.GroupHash, "")
	if got := make(in.Period, in.Genesis, in.PublicKey, in.GroupHash, "default"); got != empty {
		t.Errorf("id default gives %s, no id %s", got, empty)
	}
	seen := map[string]bool{empty: true}
	for _, hash := range []string{
		make(in.Period+1, in.Genesis, in.PublicKey, in.GroupHash, ""),
		make(in.Period, in.Genesis+1, in.PublicKey, in.GroupHash, ""),
		make(in.Period, in.Genesis, other.PublicKey, in.GroupHash, ""),
		make(in.Period, in.Genesis, in.PublicKey, other.GroupHash, ""),
		make(in.Period, in.Genesis, in.PublicKey, in.GroupHash, "quicknet"),
	} {
		if seen[hash] {
			t.Errorf("hash %s twice", hash)
		}
		seen[hash] = true
	}
}

// wrongSubgroup is x = 2 on the twist y² = x³ + 4(1 + u), in compressed form.
// 2³ + 4(1 + u) = 12 + 4u is a square in the field of p² elements exactly if
// its norm 12² + 4² = 160 is one mod p; TestWrongSubgroupKeyIsOnTheCurve asks.
var wrongSubgroup = "80" + strings.Repeat("00", 94) + "02"

func TestWrongSubgroupKeyIsOnTheCurve(t *testing.T) {
	// The field's prime: RFC 9380, section 8.8.1.
	p, _ := new(big.Int).SetString("1a0111ea397fe69a4b1ba7b6434bacd764774b84f38512bf6730d2a0f6b0f6241eabfffeb153ffffb9feffffffffaaab", 16)
	if big.Jacobi(big.NewInt(160), p) != 1 {
		t.Error("160 is no square mod p: the vector shows another fault than the one it is named for")
	}
}

func TestNewRefuses(t *testing.T) {
	in := loadVectors(t).ChainInfo
	key, group := in.PublicKey, in.GroupHash
	infinity := "c0" + strings.Repeat("00", 95)
	tests := []struct {
		name            string
		period, genesis int64
		key, group, id  string
		want            string
	}{
		{"no period", 0, 0, key, group, "", "period 0"},
		{"negative period", -3, 0, key, group, "", "period -3"},
		{"period over 4 bytes", 1 << 32, 0, key, group, "", "period 4294967296"},
		{"negative genesis", 3, -1, key, group, "", "genesis -1"},
		{"genesis after year 9999", 3, 253402300800, key, group, "", "genesis 253402300800"},
		{"key too short", 3, 0, key[2:], group, "", "key: 190 characters, want 192"},
		{"key uncompressed", 3, 0, key + key, group, "", "key: 384 characters, want 192"},
		{"key in upper case", 3, 0, strings.ToUpper(key), group, "", "key: character 3 "},
		{"key at infinity", 3, 0, infinity, group, "", "key is the point at infinity"},
		{"key off the curve", 3, 0, key[:191] + "b", group, "", "key is not a point"},
		{"key without its flag", 3, 0, "03" + key[2:], group, "", "key is not a point"},
		{"key x over p", 3, 0, "9f" + strings.Repeat("ff", 95), group, "", "key is not a point"},
		{"key outside the prime-order group", 3, 0, wrongSubgroup, group, "", "key is not a point"},
		{"group hash too long", 3, 0, key, group + "00", "", "group hash: 66 characters"},
		{"group hash not hex", 3, 0, key, "g" + group[1:], "", "group hash: character 1 "},
		{"space in id", 3, 0, key, group, "quick net", "id is not"},
		{"id not ASCII", 3, 0, key, group, "é", "id is not"},
		{"id too long", 3, 0, key, group, strings.Repeat("a", 65), "id is not"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c, err := beacon.New(test.period, test.genesis, test.key, test.group, test.id)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v, want it to say %q", err, test.want)
			}
			if c != (beacon.Chain{}) {
				t.Error("a chain came with the error")
			}
		})
	}
}

// infoJSON is a chain's info as relays serve it. Source of the shape: drand's
// HTTP interface, GET /{chain hash}/info (from memory; the values are the
// vectors').
func infoJSON(t testing.TB, change map[string]any) []byte {
	t.Helper()
	in := loadVectors(t).ChainInfo
	fields := map[string]any{
		"public_key":   in.PublicKey,
		"period":       in.Period,
		"genesis_time": in.Genesis,
		"hash":         in.ChainHash,
		"groupHash":    in.GroupHash,
		"schemeID":     in.Scheme,
		"metadata":     map[string]any{"beaconID": in.BeaconID},
	}
	for name, value := range change {
		fields[name] = value
		if value == nil {
			delete(fields, name)
		}
	}
	data, err := json.Marshal(fields)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestParseInfo(t *testing.T) {
	in := loadVectors(t).ChainInfo
	newer := map[string]any{
		"hash": nil, "groupHash": nil, "schemeID": nil, "metadata": nil,
		"chain_hash": in.ChainHash, "genesis_seed": in.GroupHash, "scheme": in.Scheme, "beacon_id": in.BeaconID,
	}
	for name, change := range map[string]map[string]any{
		"as served":    nil,
		"newer names":  newer,
		"both, same":   {"genesis_seed": in.GroupHash},
		"other fields": {"distKey": "x"},
	} {
		c, err := beacon.ParseInfo(infoJSON(t, change))
		if err != nil || c != beacon.Quicknet() {
			t.Errorf("%s: got %+v, %v", name, c, err)
		}
	}
}

func TestParseInfoRefuses(t *testing.T) {
	other := loadVectors(t).Other
	tests := []struct {
		name   string
		change map[string]any
		want   string
	}{
		// Source of both names: drand's schemes; the first is evmnet's, see
		// evmnet_not_usable in the vectors.
		{"evmnet's scheme", map[string]any{"schemeID": "bls-bn254-unchained-on-g1"}, `scheme "bls-bn254-unchained-on-g1" is not bls-unchained-g1-rfc9380`},
		{"the older scheme on G1", map[string]any{"schemeID": "bls-unchained-on-g1"}, `scheme "bls-unchained-on-g1" is not`},
		{"no scheme", map[string]any{"schemeID": nil}, `scheme "" is not`},
		{"two schemes", map[string]any{"scheme": "bls-bn254-unchained-on-g1"}, "scheme given twice"},
		{"no hash", map[string]any{"hash": nil}, "chain hash: 0 characters"},
		{"another chain's hash", map[string]any{"hash": other.ChainHash}, "does not fit its fields"},
		{"another period", map[string]any{"period": 4}, "does not fit its fields"},
		{"another id", map[string]any{"metadata": nil}, "does not fit its fields"},
		{"another key", map[string]any{"public_key": other.PublicKey}, "does not fit its fields"},
		{"period in words", map[string]any{"period": "3s"}, "read chain info: "},
		{"period broken", map[string]any{"period": 3.5}, "read chain info: "},
		{"no key", map[string]any{"public_key": nil}, "key: 0 characters"},
		{"two ids", map[string]any{"beacon_id": "default"}, "beacon id given twice"},
		{"oversize", map[string]any{"more": strings.Repeat("a", 4096)}, "want at most 4096"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := beacon.ParseInfo(infoJSON(t, test.change))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v, want it to say %q", err, test.want)
			}
		})
	}
	for _, bad := range []string{"", "null", "[]", "{", "{} {}", `"52db"`} {
		if _, err := beacon.ParseInfo([]byte(bad)); err == nil {
			t.Errorf("%q accepted", bad)
		}
	}
}

func FuzzParseInfo(f *testing.F) {
	f.Add(infoJSON(f, nil))
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := beacon.ParseInfo(data)
		if err != nil {
			return
		}
		again, err := beacon.New(c.Period, c.Genesis, fmt.Sprintf("%x", c.Key), fmt.Sprintf("%x", c.GroupHash), c.ID)
		if err != nil || again != c {
			t.Errorf("made again: %+v, %v, want %+v", again, err, c)
		}
	})
}
