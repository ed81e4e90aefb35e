package check

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/draw/relay"
	"evenhand/internal/browsertest"
)

// The examples of FIPS 180 (testdata/vectors/sha256-fips180.json names them),
// and every length around the ends of blocks, against Go's own SHA-256 and
// SHA-512 (FIPS 180-4), whole and in parts.
func TestHashes(t *testing.T) {
	_, b := bench(t)
	var v struct {
		Cases []struct {
			Name    string
			Message string `json:"message_utf8"`
			Repeat  struct {
				Byte  string
				Count int
			}
			Want string `json:"sha256_hex"`
		}
	}
	load(t, "sha256-fips180.json", &v)
	if len(v.Cases) < 5 {
		t.Fatalf("loaded %d cases", len(v.Cases))
	}
	for _, c := range v.Cases {
		script := fmt.Sprintf("sha256(%q + %q.repeat(%d))", c.Message, c.Repeat.Byte, c.Repeat.Count)
		if got := browsertest.Eval[string](b, script); got != c.Want {
			t.Errorf("%s: got %s, want %s", c.Name, got, c.Want)
		}
	}
	for n := range 300 {
		data := make([]byte, n)
		_, _ = rand.Read(data)
		got := browsertest.Eval[[]string](b, fmt.Sprintf(`(() => { const all = bytesOf(textOf(Uint8Array.from(%q.match(/../g) ?? [], (x) => parseInt(x, 16)))), parts = new Sha256();
			for (let at = 0, n = 1; at < all.length; at += n, n = n * 3 %% 101) parts.update(all.subarray(at, at + n));
			return [sha256(textOf(all)), parts.hex(), hexOf(sha512(all))]; })()`, hex.EncodeToString(data)))
		want256, want512 := sha256.Sum256(data), sha512.Sum512(data)
		want := []string{hex.EncodeToString(want256[:]), hex.EncodeToString(want256[:]), hex.EncodeToString(want512[:])}
		if !slices.Equal(got, want) {
			t.Fatalf("%d bytes: got %v, want %v", n, got, want)
		}
	}
}

// Scores are those of package draw (protocol, "Seed, score, places").
func TestScores(t *testing.T) {
	_, b := bench(t)
	for range 20 {
		ticket, err := draw.NewTicket(rand.Reader)
		must(t, err)
		seed := draw.Hash([]byte(ticket.String()))
		got := browsertest.Eval[string](b, fmt.Sprintf(`(() => { const t = bytesOf(%q); return hexOfWords(new Scorer(%q).score(word(t, 0), word(t, 4), word(t, 8), word(t, 12))); })()`, ticket, seed))
		if want := draw.Score(seed, ticket).String(); got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}

// verdict is what the script, and the browser itself where it can, say of a
// signature. All are hex.
func verdict(b *browsertest.Browser, key, message, signature string) (ours bool, browsers string) {
	got := browsertest.Eval[[]any](b, fmt.Sprintf(`(async () => {
		const hex = (s) => Uint8Array.from(s.match(/../g) ?? [], (x) => parseInt(x, 16)), [k, m, s] = [%q, %q, %q].map(hex);
		let theirs = "none";
		try { theirs = String(await crypto.subtle.verify("Ed25519", await crypto.subtle.importKey("raw", k, "Ed25519", false, ["verify"]), s, m)); } catch (e) { theirs = "none: " + e.message; }
		return [soundKey(k) && verifySignature(k, m, s), theirs]; })()`, key, message, signature))
	return got[0].(bool), got[1].(string)
}

// RFC 8032, section 7.1, tests 1 to 3 (testdata/vectors/ed25519-rfc8032.json);
// each refused with any of its parts changed.
func TestSignaturesOfTheStandard(t *testing.T) {
	_, b := bench(t)
	var v struct {
		Cases []struct {
			Key       string `json:"public_key_hex"`
			Message   string `json:"message_hex"`
			Signature string `json:"signature_hex"`
		}
	}
	load(t, "ed25519-rfc8032.json", &v)
	if len(v.Cases) != 3 {
		t.Fatalf("loaded %d cases", len(v.Cases))
	}
	for i, c := range v.Cases {
		if ours, theirs := verdict(b, c.Key, c.Message, c.Signature); !ours || theirs != "true" {
			t.Errorf("test %d: ours %v, the browser's %s", i+1, ours, theirs)
		}
		for _, wrong := range [][3]string{
			{flip(c.Key, 3), c.Message, c.Signature}, {c.Key, c.Message + "00", c.Signature},
			{c.Key, c.Message, flip(c.Signature, 5)}, {c.Key, c.Message, flip(c.Signature, 300)},
		} {
			if ours, _ := verdict(b, wrong[0], wrong[1], wrong[2]); ours {
				t.Errorf("test %d: accepted with a part changed: %v", i+1, wrong)
			}
		}
	}
}

func flip(digits string, bit int) string {
	b, _ := hex.DecodeString(digits)
	b[bit/8] ^= 1 << (bit % 8)
	return hex.EncodeToString(b)
}

// The order L of the base point (RFC 8032, section 5.1), lowest byte first.
const orderL = "edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010"

// S + L in place of S makes a second signature of the same text where S < L is
// not asked for (RFC 8032, section 5.1.7, step 1).
func TestSignatureHasOneForm(t *testing.T) {
	_, b := bench(t)
	for i := range 20 {
		public, private, err := ed25519.GenerateKey(rand.Reader)
		must(t, err)
		message := []byte(strings.Repeat("m", i))
		sig := ed25519.Sign(private, message)
		key, text := hex.EncodeToString(public), hex.EncodeToString(message)
		if ours, _ := verdict(b, key, text, hex.EncodeToString(sig)); !ours {
			t.Errorf("refused a signature of Go's")
		}
		l, _ := hex.DecodeString(orderL)
		carry := 0
		for j := range 32 {
			carry += int(sig[32+j]) + int(l[j])
			sig[32+j], carry = byte(carry), carry>>8
		}
		if ours, theirs := verdict(b, key, text, hex.EncodeToString(sig)); ours || theirs != "false" {
			t.Errorf("S + L: ours %v, the browser's %s", ours, theirs)
		}
	}
}

// Keys of small order, and forms of keys that are not canonical: package
// draw's verdict on each verifier key is the script's too. The points are the
// eight of small order and those whose y is not below 2²⁵⁵ − 19 (C. Cremers,
// D. Jackson, "Prime, order please!", 2019, appendix; RFC 8032, section 5.1.3).
func TestUnsoundKeysAreRefused(t *testing.T) {
	_, b := bench(t)
	keys := []string{
		"0100000000000000000000000000000000000000000000000000000000000000", // the identity
		"0100000000000000000000000000000000000000000000000000000000000080", // with the sign of no x
		"ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f", // order 2
		"ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
		"0000000000000000000000000000000000000000000000000000000000000000", // order 4
		"0000000000000000000000000000000000000000000000000000000000000080",
		"26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05", // order 8
		"26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
		"c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
		"c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
		"edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f", // y = p
		"eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f", // y = p + 1
		"eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
		"f0ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f", // y = p + 3, a point of full order in another form
		"0200000000000000000000000000000000000000000000000000000000000000", // no point at all
	}
	for _, key := range keys {
		if browsertest.Eval[bool](b, fmt.Sprintf(`soundKey(Uint8Array.from(%q.match(/../g), (x) => parseInt(x, 16)))`, key)) {
			t.Errorf("the script takes the key %s", key)
		}
		raw, _ := hex.DecodeString("01" + key)
		id := draw.Hash([]byte("draws.example.com\n" + string(raw)))
		text := "draws.example.com+" + hex.EncodeToString(id[:4]) + "+" + base64.StdEncoding.EncodeToString(raw)
		_, err := draw.ParseVerifier(text)
		wrong := browsertest.Eval[string](b, fmt.Sprintf(`parseVerifier(%q).wrong ?? ""`, text))
		if err == nil || wrong != err.Error() {
			t.Errorf("%s: the script says %q, package draw %v", text, wrong, err)
		}
	}
}

// The script asks the relays that the command line asks.
func TestRelaysAreTheSame(t *testing.T) {
	_, b := bench(t)
	if got := browsertest.Eval[[]string](b, "publicRelays"); !slices.Equal(got, relay.Default()) {
		t.Errorf("got %v, want %v", got, relay.Default())
	}
}
