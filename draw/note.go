package draw

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"

	"filippo.io/edwards25519"
	"golang.org/x/mod/sumdb/note"
)

// Limits of a note.
const (
	maxNote    = 1 << 20 // bytes
	maxWitness = 16      // signature lines of other names
)

const (
	sigPrefix = "— " // an em dash (U+2014) and a space begin a signature line
	keyPrefix = "PRIVATE+KEY+"
	ed25519ID = 1 // the algorithm byte of signed-note
)

// A Signer signs notes with one Ed25519 key under one name. The name is the
// host name under which the giveaway is served.
type Signer struct {
	note   note.Signer
	secret string
	public string
}

// NewSigner makes a key from rand.
func NewSigner(rand io.Reader, name string) (Signer, error) {
	if !ValidSigner(name) {
		return Signer{}, errors.New("new signer: want a lower-case host name")
	}
	secret, _, err := note.GenerateKey(rand, name)
	if err != nil {
		return Signer{}, fmt.Errorf("new signer: %w", err)
	}
	return ParseSigner(secret)
}

// ParseSigner reads the secret form of a signed-note key.
func ParseSigner(secret string) (Signer, error) {
	s, err := note.NewSigner(secret)
	if err != nil {
		return Signer{}, errors.New("want a signing key as signed-note writes it")
	}
	seed, err := keySeed(secret)
	if err != nil {
		return Signer{}, err
	}
	public, err := note.NewEd25519VerifierKey(s.Name(), publicKey(seed))
	if err != nil {
		return Signer{}, fmt.Errorf("verifier key: %w", err)
	}
	if _, err := ParseVerifier(public); err != nil {
		return Signer{}, err
	}
	return Signer{s, secret, public}, nil
}

// Name is the signer's name.
func (s Signer) Name() string { return s.note.Name() }

// VerifierKey is the public key with name and key id, as the opening has it.
func (s Signer) VerifierKey() string { return s.public }

// Secret is the form that ParseSigner reads. Keep it where only its owner reads.
func (s Signer) Secret() string { return s.secret }

// Sign returns the whole note. Ed25519 is deterministic (RFC 8032): the same
// text gives the same bytes.
func (s Signer) Sign(text []byte) ([]byte, error) {
	b, err := note.Sign(&note.Note{Text: string(text)}, s.note)
	if err != nil {
		return nil, fmt.Errorf("sign: %w", err)
	}
	return b, nil
}

// A Verifier is a signer's name and public key.
type Verifier struct {
	note note.Verifier
	key  string
}

// ParseVerifier reads a verifier key, <name>+<key id>+<base64>. The key is a
// canonical point and not of small order: for those anyone could sign.
func ParseVerifier(key string) (Verifier, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return Verifier{}, errors.New("want a verifier key <name>+<key id>+<key> as signed-note writes it, the id fitting name and key")
	}
	parts := strings.SplitN(key, "+", 3)
	raw, err := strictBase64(parts[2])
	if err != nil || len(raw) != 33 || raw[0] != ed25519ID {
		return Verifier{}, errors.New("want an Ed25519 verifier key in padded base64")
	}
	if !ValidSigner(v.Name()) || fmt.Sprintf("%08x", v.KeyHash()) != parts[1] {
		return Verifier{}, errors.New("want a lower-case host name and 8 lower-case hex digits before the key")
	}
	if !soundPoint(raw[1:]) {
		return Verifier{}, errors.New("want a canonical public key that is not of small order")
	}
	return Verifier{v, key}, nil
}

// Name is the signer's name.
func (v Verifier) Name() string { return v.note.Name() }

// Key is the verifier key.
func (v Verifier) Key() string { return v.key }

// soundPoint compares the decoded point's own bytes with the input, since the
// library takes encodings that are not canonical, and drops points that the
// cofactor takes to the identity.
func soundPoint(b []byte) bool {
	point, err := new(edwards25519.Point).SetBytes(b)
	if err != nil || !bytes.Equal(point.Bytes(), b) {
		return false
	}
	return new(edwards25519.Point).MultByCofactor(point).Equal(edwards25519.NewIdentityPoint()) == 0
}

// strictBase64 reads standard, padded base64 whose unused bits are zero.
func strictBase64(s string) ([]byte, error) {
	b, err := base64.StdEncoding.Strict().DecodeString(s)
	if err != nil || base64.StdEncoding.EncodeToString(b) != s {
		return nil, errors.New("want standard, padded base64 with unused bits zero")
	}
	return b, nil
}

// OpenNote returns the text of a note that v signed. Our own parse comes
// first: the library drops repeated signatures, takes loose base64 and sets no
// limits.
func OpenNote(file string, data []byte, v Verifier) ([]byte, error) {
	text, err := splitNote(file, data, v)
	if err != nil {
		return nil, err
	}
	if _, err := note.Open(data, note.VerifierList(v.note)); err != nil {
		return nil, &SyntaxError{file, 0, "want a signature of " + v.key + "; the one here does not verify"}
	}
	return text, nil
}

// noteText is the text of a note whose signatures nobody has looked at.
func noteText(file string, data []byte) ([]byte, error) {
	switch end := bytes.LastIndex(data, []byte("\n\n")); {
	case len(data) > maxNote:
		return nil, &SyntaxError{file, 0, "want a note of 1 MiB at most"}
	case bytes.IndexByte(data, '\r') >= 0:
		line := 1 + bytes.Count(data[:bytes.IndexByte(data, '\r')], []byte("\n"))
		return nil, &SyntaxError{file, line, "want lines that end in LF alone; here is a CR"}
	case bytes.HasSuffix(data, []byte("\n\n")):
		return nil, &SyntaxError{file, bytes.Count(data, []byte("\n")), "want a signature line here, and the file's end after the last one; this line is empty"}
	case end < 0:
		return nil, &SyntaxError{file, 0, "want a signed note: a text, an empty line, signature lines"}
	default:
		return data[:end+1], nil
	}
}

// splitNote checks the form of every signature line, and that exactly one
// bears the signer's name and key id.
func splitNote(file string, data []byte, v Verifier) ([]byte, error) {
	text, err := noteText(file, data)
	if err != nil {
		return nil, err
	}
	line := bytes.Count(text, []byte("\n")) + 1
	rest, ended := bytes.CutSuffix(data[len(text)+1:], []byte("\n"))
	if !ended {
		return nil, &SyntaxError{file, 0, "want a line end (LF) after the last signature line"}
	}
	mine, others := 0, 0
	for s := range strings.SplitSeq(string(rest), "\n") {
		line++
		name, raw, err := signatureLine(s)
		if err != nil {
			return nil, &SyntaxError{file, line, err.Error()}
		}
		if name != v.Name() {
			others++
			continue
		}
		mine++
		if err := v.owns(raw); err != nil {
			return nil, &SyntaxError{file, line, err.Error()}
		}
	}
	switch {
	case mine != 1:
		return nil, &SyntaxError{file, line, fmt.Sprintf("want exactly one signature line of %s; there are %d", v.Name(), mine)}
	case others > maxWitness:
		return nil, &SyntaxError{file, line, fmt.Sprintf("want %d signature lines of other names at most", maxWitness)}
	}
	return text, nil
}

// signatureLine reads "— <name> <base64>".
func signatureLine(s string) (name string, raw []byte, err error) {
	body, ok := strings.CutPrefix(s, sigPrefix)
	name, b64, ok2 := strings.Cut(body, " ")
	if !ok || !ok2 || name == "" || !printable(name) || strings.Contains(name, "+") {
		return "", nil, errors.New(`want a signature line "— <name> <base64>"`)
	}
	raw, err = strictBase64(b64)
	if err == nil && len(raw) < 5 {
		err = errors.New("want a signature after the four bytes of the key id")
	}
	return name, raw, err
}

// owns tells whether a signature bears the verifier's key id.
func (v Verifier) owns(raw []byte) error {
	h := v.note.KeyHash()
	id := []byte{byte(h >> 24), byte(h >> 16), byte(h >> 8), byte(h)}
	if len(raw) != 4+64 || !bytes.Equal(raw[:4], id) {
		return fmt.Errorf("want a signature of key id %08x, as the opening names it", h)
	}
	return nil
}
