package draw

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"os"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"
)

func loadVector(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile("../testdata/vectors/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

// looseVerifier takes a name that is no host name, as published notes have.
func looseVerifier(t *testing.T, key string) Verifier {
	t.Helper()
	v, err := note.NewVerifier(key)
	if err != nil {
		t.Fatal(err)
	}
	return Verifier{v, key}
}

// Source: C2SP signed-note and tlog-checkpoint, and the tests of sumdb/note;
// each vector names its own (testdata/vectors/checkpoint-note.json).
func TestPublishedNotes(t *testing.T) {
	var v struct {
		Verified []struct {
			Name, Note string
			Key        string `json:"vkey"`
			ID         string `json:"key_id_hex"`
			Secret     string `json:"signer_key_published_for_tests"`
		}
		Reject []struct {
			Note, Why string
			Key       string `json:"vkey"`
		} `json:"reject_notes"`
		RejectKeys []struct {
			Key string `json:"vkey"`
			Why string
		} `json:"reject_vkeys"`
	}
	loadVector(t, "checkpoint-note.json", &v)
	if len(v.Verified) < 4 || len(v.Reject) < 2 || len(v.RejectKeys) < 2 {
		t.Fatalf("%d notes, %d to refuse, %d keys to refuse", len(v.Verified), len(v.Reject), len(v.RejectKeys))
	}
	for _, n := range v.Verified {
		text, err := OpenNote("note.txt", []byte(n.Note), looseVerifier(t, n.Key))
		if want, _, _ := strings.Cut(n.Note, "\n\n"); err != nil || string(text) != want+"\n" {
			t.Errorf("%s: %q, %v", n.Name, text, err)
		}
		if n.ID != "" && fmt.Sprintf("%08x", looseVerifier(t, n.Key).note.KeyHash()) != n.ID {
			t.Errorf("%s: want key id %s", n.Name, n.ID)
		}
		// The same note with one more line end, or without its last one, is another file.
		for _, bad := range []string{n.Note + "\n", n.Note[:len(n.Note)-1], strings.Replace(n.Note, "\n\n", "\n", 1)} {
			if _, err := OpenNote("note.txt", []byte(bad), looseVerifier(t, n.Key)); err == nil {
				t.Errorf("%s: opens as %q", n.Name, bad)
			}
		}
	}
	for _, n := range v.Reject {
		_, err := OpenNote("note.txt", []byte(n.Note), looseVerifier(t, n.Key))
		var syntax *SyntaxError
		if !errors.As(err, &syntax) {
			t.Errorf("%s: got %v", n.Why, err)
		}
	}
	for _, k := range v.RejectKeys {
		if _, err := ParseVerifier(k.Key); err == nil {
			t.Errorf("%s: accepted", k.Why)
		}
	}
}

// Source: RFC 8032, section 7.1 (testdata/vectors/ed25519-rfc8032.json). The
// signer's key is the public key of the seed, and its note bears the
// deterministic signature of its text.
func TestEd25519OfTheStandard(t *testing.T) {
	var v struct {
		Cases []struct {
			Seed      string `json:"seed_hex"`
			Public    string `json:"public_key_hex"`
			Message   string `json:"message_hex"`
			Signature string `json:"signature_hex"`
		}
	}
	loadVector(t, "ed25519-rfc8032.json", &v)
	if len(v.Cases) < 3 {
		t.Fatalf("%d cases, want at least 3", len(v.Cases))
	}
	for i, c := range v.Cases {
		seed, public, message, signature := unhex(t, c.Seed), unhex(t, c.Public), unhex(t, c.Message), unhex(t, c.Signature)
		s, err := NewSigner(bytes.NewReader(seed), "draws.slowmiles.example")
		if err != nil {
			t.Fatal(err)
		}
		key := s.VerifierKey()[strings.LastIndex(s.VerifierKey()[:len("draws.slowmiles.example+00000000+")], "+")+1:]
		if raw, err := base64.StdEncoding.DecodeString(key); err != nil || !bytes.Equal(raw, append([]byte{1}, public...)) {
			t.Errorf("case %d: key %x, want 01%x", i+1, raw, public)
		}
		if !soundPoint(public) {
			t.Errorf("case %d: the public key is refused", i+1)
		}
		if got := ed25519.Sign(ed25519.NewKeyFromSeed(seed), message); !bytes.Equal(got, signature) {
			t.Errorf("case %d: signature %x, want %x", i+1, got, signature)
		}
		again, err := ParseSigner(s.Secret())
		if err != nil || again.VerifierKey() != s.VerifierKey() {
			t.Errorf("case %d: the secret form reads as another key, %v", i+1, err)
		}
	}
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Source: pairs of independent libraries, named one by one in
// testdata/vectors/crockford-base32.json. A ticket is the number form of its
// 80 bits, with leading zeros.
func TestTicketIsCrockfordsNumber(t *testing.T) {
	var v struct {
		Alphabet string
		Pairs    []struct {
			Number  json.Number
			Encoded string
		}
		Decode []struct {
			Input      string
			Checked    bool
			Normalized string
			Number     json.Number
		}
		Edge []struct {
			Number    json.Number
			WithCheck string `json:"with_check"`
		} `json:"edge_computed_here"`
	}
	loadVector(t, "crockford-base32.json", &v)
	if len(v.Pairs) < 4 || len(v.Decode) < 4 || len(v.Edge) < 10 || v.Alphabet != alphabet {
		t.Fatalf("%d pairs, %d to decode, %d edges, alphabet %s", len(v.Pairs), len(v.Decode), len(v.Edge), v.Alphabet)
	}
	check := func(number json.Number, digits string) {
		t.Helper()
		want := strings.Repeat("0", ticketLen-len(digits)) + digits
		if got := ticketOf(numberOf(t, number)); got.String() != want {
			t.Errorf("%s: got %s, want %s", number, got, want)
		}
	}
	for _, p := range v.Pairs {
		check(p.Number, p.Encoded)
	}
	for _, e := range v.Edge {
		check(e.Number, e.WithCheck[:len(e.WithCheck)-1]) // a ticket has no check symbol
	}
	for _, d := range v.Decode {
		if d.Checked {
			continue // with a check symbol
		}
		got, err := ReadTicket(strings.Repeat("0", ticketLen-len(strings.ReplaceAll(d.Input, "-", ""))) + d.Input)
		if err != nil || d.Normalized != "" && !strings.HasSuffix(got.String(), "0"+d.Normalized) ||
			d.Number != "" && got != ticketOf(numberOf(t, d.Number)) {
			t.Errorf("%s: got %s, %v", d.Input, got, err)
		}
	}
}

func numberOf(t *testing.T, n json.Number) (raw [10]byte) {
	t.Helper()
	i, ok := new(big.Int).SetString(n.String(), 10)
	if !ok {
		t.Fatalf("not a number: %s", n)
	}
	i.FillBytes(raw[:])
	return raw
}

// NewTicket takes exactly ten bytes, the most significant bits first: each of
// the 80 bits stands in the place it should.
func TestNewTicketBits(t *testing.T) {
	for bit := range 80 {
		var raw [11]byte
		raw[bit/8] = 0x80 >> (bit % 8)
		r := bytes.NewReader(raw[:])
		got, err := NewTicket(r)
		if err != nil {
			t.Fatal(err)
		}
		want := bytes.Repeat([]byte{'0'}, ticketLen)
		want[bit/5] = alphabet[16>>(bit%5)]
		if got.String() != string(want) || r.Len() != 1 {
			t.Errorf("bit %d: got %s, want %s; %d bytes left, want 1", bit, got, want, r.Len())
		}
	}
	if _, err := NewTicket(bytes.NewReader(make([]byte, 9))); err == nil {
		t.Error("a ticket of nine random bytes")
	}
}

// The protocol, "ticket": how a person may type one.
func TestReadTicket(t *testing.T) {
	const want = "K0QF2M9X1RTB1ZC0"
	for _, typed := range []string{want, "K0QF-2M9X-1RTB-1ZC0", "k0qf2m9x1rtb1zc0", "KOQF-2M9X-IRTB-LZCO", "koqf 2m9x irtb lzco",
		" K0QF2M9X1RTB1ZC0 ", "K0QF2M9X1RTB1ZC0\n", "K--0 Q F2M9X1RTB1ZC0-"} {
		if got, err := ReadTicket(typed); err != nil || got.String() != want {
			t.Errorf("%q: got %s, %v", typed, got, err)
		}
	}
	for typed, why := range map[string]string{
		"":                      "this has 0",
		"K0QF2M9X1RTB1ZC":       "this has 15",
		"K0QF2M9X1RTB1ZC00":     "this has 17",
		"U0QF2M9X1RTB1ZC0":      "is it a V?",
		"u0QF2M9X1RTB1ZC0":      "is it a V?",
		"K0QF_2M9X_1RTB_1ZC0":   "digits and Latin letters only",
		"K0QF–2M9X–1RTB–1ZC0":   "digits and Latin letters only",
		"K0QF2M9X1RTB1ZC\u017f": "digits and Latin letters only", // a long s, whose capital is S
		"K0QF2M9X\u0131RTB1ZC0": "digits and Latin letters only", // a dotless i, whose capital is I
		"\u212a0QF2M9X1RTB1ZC0": "digits and Latin letters only", // the Kelvin sign
		"K0QF2M9X1RTB1ZC\uff10": "digits and Latin letters only", // a wide 0
		"K0QF2M9X1RTB1ZC\x00":   "digits and Latin letters only",
		"K0QF2M9X1RTB1ZC\xff":   "digits and Latin letters only",
	} {
		if got, err := ReadTicket(typed); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("%q: got %s, %v, want it to say %q", typed, got, err, why)
		}
	}
}

// Source: FIPS 180-4's examples (testdata/vectors/sha256-fips180.json).
func TestHashIsSHA256(t *testing.T) {
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
	loadVector(t, "sha256-fips180.json", &v)
	if len(v.Cases) < 5 {
		t.Fatalf("%d cases, want at least 5", len(v.Cases))
	}
	for _, c := range v.Cases {
		message := c.Message + strings.Repeat(c.Repeat.Byte, c.Repeat.Count)
		got := Hash([]byte(message))
		if got.String() != c.Want {
			t.Errorf("%s: got %s, want %s", c.Name, got, c.Want)
		}
		if again, err := ParseDigest(c.Want); err != nil || again != got {
			t.Errorf("%s: reads as %s, %v", c.Name, again, err)
		}
	}
}

// The scorer's kept state gives the same as hashing all 80 bytes.
func TestScorerIsScore(t *testing.T) {
	s := newScorer(Hash([]byte("seed")))
	for i := range uint64(1000) {
		var raw [10]byte
		binary.BigEndian.PutUint64(raw[2:], i*0x9e3779b97f4a7c15)
		ticket := ticketOf(raw)
		if got, want := *s.score(ticket[:]), Score(Hash([]byte("seed")), ticket); got != want {
			t.Fatalf("%s: got %s, want %s", ticket, got, want)
		}
	}
}
