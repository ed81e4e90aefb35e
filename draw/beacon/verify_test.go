package beacon_test

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"evenhand/draw/beacon"
)

func TestVerifyPublishedRounds(t *testing.T) {
	c := beacon.Quicknet()
	for _, r := range loadVectors(t).Rounds {
		sig, err := beacon.ParseSignature(r.Signature)
		if err != nil {
			t.Fatalf("round %d: %v", r.Round, err)
		}
		if err := c.Verify(r.Round, sig); err != nil {
			t.Errorf("published round refused: %v", err)
		}
		if err := c.Verify(r.Round+1, sig); !errors.Is(err, beacon.ErrFalse) {
			t.Errorf("round %d offered as %d: got %v, want ErrFalse", r.Round, r.Round+1, err)
		}
		if got := beacon.Randomness(sig); hex.EncodeToString(got[:]) != r.Randomness {
			t.Errorf("round %d: randomness %x, want %s", r.Round, got, r.Randomness)
		}
		if got := beacon.Message(r.Round); hex.EncodeToString(got[:]) != r.Message {
			t.Errorf("round %d: message %x, want %s", r.Round, got, r.Message)
		}
	}
}

// Any flipped bit must be refused: 384 wrong signatures of one true one.
func TestVerifyRefusesEveryFlippedBit(t *testing.T) {
	r := loadVectors(t).Rounds[0]
	c := beacon.Quicknet()
	for bit := range 8 * beacon.SignatureSize {
		sig := unhex(t, r.Signature)
		sig[bit/8] ^= 1 << (bit % 8)
		if c.Verify(r.Round, sig) == nil {
			t.Errorf("accepted with bit %d flipped", bit)
		}
	}
}

func TestVerifyRefuses(t *testing.T) {
	// What the error must say for the vectors' names; the rest are false
	// signatures of good form.
	form := map[string]string{
		"point at infinity":               "point at infinity",
		"x not canonical":                 "not a point of the group",
		"not in the prime-order subgroup": "not a point of the group",
		"not on the curve":                "not a point of the group",
		"one bit flipped":                 "not a point of the group",
		"uncompressed form":               "has 96 bytes, want 48",
		"truncated":                       "has 47 bytes, want 48",
		"trailing byte":                   "has 49 bytes, want 48",
		"empty":                           "has 0 bytes, want 48",
	}
	for _, r := range loadVectors(t).Reject {
		t.Run(r.Name, func(t *testing.T) {
			err := beacon.Quicknet().Verify(r.Round, unhex(t, r.Signature))
			want, malformed := form[r.Name]
			switch {
			case err == nil:
				t.Error("accepted")
			case malformed && !strings.Contains(err.Error(), want):
				t.Errorf("got %v, want it to say %q", err, want)
			case !malformed && !errors.Is(err, beacon.ErrFalse):
				t.Errorf("got %v, want ErrFalse", err)
			}
		})
	}
}

func TestVerifyRefusesRoundsOutOfRange(t *testing.T) {
	sig := unhex(t, loadVectors(t).Rounds[0].Signature)
	for _, round := range []uint64{0, beacon.MaxRound + 1, 1<<64 - 1} {
		err := beacon.Quicknet().Verify(round, sig)
		if err == nil || errors.Is(err, beacon.ErrFalse) {
			t.Errorf("round %d: got %v, want an error about the round", round, err)
		}
	}
}

func TestOtherChain(t *testing.T) {
	v := loadVectors(t)
	c := otherChain(t, v)
	sig := unhex(t, v.Other.Signature)
	if err := c.Verify(v.Other.Round, sig); err != nil {
		t.Errorf("refused under its own key: %v", err)
	}
	if err := beacon.Quicknet().Verify(v.Other.Round, sig); !errors.Is(err, beacon.ErrFalse) {
		t.Errorf("under quicknet: got %v, want ErrFalse", err)
	}
	if got := beacon.Randomness(sig); hex.EncodeToString(got[:]) != v.Other.Randomness {
		t.Errorf("randomness %x, want %s", got, v.Other.Randomness)
	}
	quick := v.Rounds[0]
	if err := c.Verify(quick.Round, unhex(t, quick.Signature)); !errors.Is(err, beacon.ErrFalse) {
		t.Errorf("quicknet's round under the other key: got %v, want ErrFalse", err)
	}
}

func TestZeroChainVerifiesNothing(t *testing.T) {
	r := loadVectors(t).Rounds[0]
	if (beacon.Chain{}).Verify(r.Round, unhex(t, r.Signature)) == nil {
		t.Error("the zero chain accepted a signature")
	}
}

// A key at infinity makes the point at infinity a signature of everything;
// both are refused, each by itself.
func TestVerifyRefusesKeyAtInfinity(t *testing.T) {
	c := beacon.Quicknet()
	c.Key = [96]byte{0: 0xc0}
	r := loadVectors(t).Rounds[0]
	for _, sig := range [][]byte{unhex(t, r.Signature), unhex(t, "c0"+strings.Repeat("00", 47))} {
		if c.Verify(r.Round, sig) == nil {
			t.Errorf("accepted %x", sig)
		}
	}
}

func TestParseSignature(t *testing.T) {
	good := loadVectors(t).Rounds[0].Signature
	sig, err := beacon.ParseSignature(good)
	if err != nil || hex.EncodeToString(sig) != good {
		t.Errorf("got %x, %v", sig, err)
	}
	for name, bad := range map[string]string{
		"empty":       "",
		"upper case":  strings.ToUpper(good),
		"space":       " " + good[1:],
		"line end":    good + "\n",
		"too short":   good[:94],
		"odd":         good[:95],
		"too long":    good + "00",
		"prefix":      "0x" + good[2:],
		"not a digit": good[:95] + "g",
		"not ASCII":   good[:94] + "é",
	} {
		if sig, err := beacon.ParseSignature(bad); err == nil {
			t.Errorf("%s: accepted as %x", name, sig)
		}
	}
}

func BenchmarkVerify(b *testing.B) {
	r := loadVectors(b).Rounds[0]
	sig := unhex(b, r.Signature)
	c := beacon.Quicknet()
	for b.Loop() {
		if err := c.Verify(r.Round, sig); err != nil {
			b.Fatal(err)
		}
	}
}
