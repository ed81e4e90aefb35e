package vault

import (
	"bytes"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"golang.org/x/crypto/chacha20poly1305"
)

func load(t *testing.T, path string) *Vault {
	t.Helper()
	v, err := Load(path, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestLoadMakesOneFileForItsOwnerOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "master.key")
	first := load(t, path)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := info.Mode().Perm(); got != 0o600 {
		t.Errorf("mode %04o, want 0600", got)
	}
	if again := load(t, path); again.master != first.master {
		t.Error("a second Load gave another key")
	}
	names, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(names) != 1 {
		t.Errorf("%d files in the folder (%v), want the key alone", len(names), err)
	}
}

func TestLoadAtOnceGivesOneKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "master.key")
	keys := make([][KeySize]byte, 20)
	var wg sync.WaitGroup
	for i := range keys {
		wg.Go(func() {
			v, err := Load(path, rand.Reader)
			if err != nil {
				t.Error(err)
				return
			}
			keys[i] = v.master
		})
	}
	wg.Wait()
	for _, k := range keys {
		if k != keys[0] || k == ([KeySize]byte{}) {
			t.Fatal("servers that started at once hold different keys")
		}
	}
}

func TestLoadRefuses(t *testing.T) {
	good := keyPrefix + strings.Repeat("ab", KeySize) + "\n"
	cases := []struct {
		name, text string
		mode       os.FileMode
		want       string
	}{
		{"readable by the group", good, 0o640, "mode 0640"},
		{"readable by all", good, 0o604, "mode 0604"},
		{"writable by others", good, 0o602, "mode 0602"},
		{"empty", "", 0o600, "not one line"},
		{"cut short", good[:len(good)-3], 0o600, "not one line"},
		{"no line end", strings.TrimSuffix(good, "\n"), 0o600, "not one line"},
		{"a line more", good + "\n", 0o600, "not one line"},
		{"upper case", keyPrefix + strings.Repeat("AB", KeySize) + "\n", 0o600, "not one line"},
		{"another version", strings.Replace(good, "v1", "v2", 1), 0o600, "not one line"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "master.key")
			if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.Chmod(path, c.mode); err != nil {
				t.Fatal(err)
			}
			_, err := Load(path, rand.Reader)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("error %v, want one with %q", err, c.want)
			}
			if strings.Contains(strings.ToLower(err.Error()), "abab") {
				t.Error("the error shows the key")
			}
		})
	}
	if _, err := Load(t.TempDir(), rand.Reader); err == nil {
		t.Error("a folder was taken as a key file")
	}
}

func TestSealOpens(t *testing.T) {
	path := filepath.Join(t.TempDir(), "master.key")
	v := load(t, path)
	secret := []byte("thirty-two bytes of a host seal!")
	sealed, err := v.Seal("host-seal", "trail-boots", secret)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(sealed, secret[:8]) {
		t.Error("the secret stands in the sealed bytes")
	}
	got, err := load(t, path).Open("host-seal", "trail-boots", sealed)
	if err != nil || !bytes.Equal(got, secret) {
		t.Fatalf("opened %q, %v", got, err)
	}
	again, _ := v.Seal("host-seal", "trail-boots", secret)
	if bytes.Equal(again, sealed) {
		t.Error("the nonce was used twice")
	}
}

func TestOpenRefuses(t *testing.T) {
	v := load(t, filepath.Join(t.TempDir(), "master.key"))
	other := load(t, filepath.Join(t.TempDir(), "master.key"))
	sealed, err := v.Seal("host-seal", "trail-boots", []byte("secret"))
	if err != nil {
		t.Fatal(err)
	}
	try := func(name string, v *Vault, label, draw string, b []byte) {
		t.Helper()
		if got, err := v.Open(label, draw, b); !errors.Is(err, ErrNotOurs) || got != nil {
			t.Errorf("%s: %q, %v, want ErrNotOurs", name, got, err)
		}
	}
	try("another master key", other, "host-seal", "trail-boots", sealed)
	try("another label", v, "signing-key", "trail-boots", sealed)
	try("another draw", v, "host-seal", "trail-boot", sealed)
	try("the border moved", v, "host-sealt", "rail-boots", sealed)
	try("empty", v, "host-seal", "trail-boots", nil)
	for i := range sealed {
		bad := bytes.Clone(sealed)
		bad[i] ^= 1
		try("a changed byte", v, "host-seal", "trail-boots", bad)
	}
	for n := range sealed {
		try("cut short", v, "host-seal", "trail-boots", sealed[:n])
	}
}

// Keys are HKDF-SHA-256 as RFC 5869 section 2 writes it, computed here by
// hand for one block: PRK = HMAC(zeros, master); OKM = HMAC(PRK, info || 01).
func TestKeyIsHKDF(t *testing.T) {
	v := load(t, filepath.Join(t.TempDir(), "master.key"))
	mac := func(key []byte, parts ...[]byte) []byte {
		h := hmac.New(sha256.New, key)
		for _, p := range parts {
			h.Write(p)
		}
		return h.Sum(nil)
	}
	prk := mac(make([]byte, sha256.Size), v.master[:])
	want := mac(prk, []byte("cookies"), []byte{1})
	if got := v.Key("cookies"); !bytes.Equal(got[:], want) {
		t.Errorf("key %x, want %x", got, want)
	}
	if v.Key("cookies") == v.Key("links") || v.Key("cookies") == v.Check() {
		t.Error("two purposes share a key")
	}
	defer func() {
		if recover() == nil {
			t.Error("the sealing key was handed out")
		}
	}()
	v.Key(sealLabel)
}

// Source: draft-irtf-cfrg-xchacha-03, appendix A.3.1 (key 80..9f, nonce
// 40..57, associated data 50..57 c0..c7); from memory. It shows that the
// cipher behind Seal is XChaCha20-Poly1305.
func TestCipherVector(t *testing.T) {
	seq := func(from byte, n int) []byte {
		b := make([]byte, n)
		for i := range b {
			b[i] = from + byte(i)
		}
		return b
	}
	plain := "Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the future, sunscreen would be it."
	ad, _ := hex.DecodeString("50515253c0c1c2c3c4c5c6c7")
	aead, err := chacha20poly1305.NewX(seq(0x80, 32))
	if err != nil {
		t.Fatal(err)
	}
	got := aead.Seal(nil, seq(0x40, 24), []byte(plain), ad)
	want, _ := hex.DecodeString("bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb731c7f1b0b4aa6440bf3a82f4eda7e39ae64c6708c54c216cb96b72e1213b4522f8c9ba40db5d945b11b69b982c1bb9e3f3fac2bc369488f76b2383565d3fff921f9664c97637da9768812f615c68b13b52ec0875924c1c7987947deafd8780acf49")
	if !bytes.Equal(got, want) {
		t.Errorf("sealed %x\nwant   %x", got, want)
	}
}
