package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"io"
	"log"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"
)

// What must stand for each rune. Their classes: Unicode Character Database,
// UnicodeData.txt (Cc, Cf, Zl, Zp).
var hiddenRunes = []struct{ in, out, inJSON string }{
	{"\x1b[2J", `\x1b[2J`, `\u001b[2J`},
	{"a\rb", `a\x0db`, `a\rb`},
	{"\t", `\x09`, `\t`},
	{"\x00", `\x00`, `\u0000`},
	{"\x7f", `\x7f`, `\u007f`},
	{"\u0085", `\x85`, `\u0085`},                 // NEXT LINE, C1
	{"\u009b31m", `\x9b31m`, `\u009b31m`},        // CONTROL SEQUENCE INTRODUCER, C1
	{"\x9b31m", `\x9b31m`, `\ufffd31m`},          // the same byte, not UTF-8
	{"\u202e", `\u202e`, `\u202e`},               // RIGHT-TO-LEFT OVERRIDE
	{"\u2066", `\u2066`, `\u2066`},               // LEFT-TO-RIGHT ISOLATE
	{"\u200f", `\u200f`, `\u200f`},               // RIGHT-TO-LEFT MARK
	{"\ufeff", `\ufeff`, `\ufeff`},               // ZERO WIDTH NO-BREAK SPACE
	{"\u2028", `\u2028`, `\u2028`},               // LINE SEPARATOR
	{"\U000e0001", `\U000e0001`, `\udb40\udc01`}, // LANGUAGE TAG; pair by RFC 8259, section 7
	{"Zoë, 靴 — \U0001f97e", "Zoë, 靴 — \U0001f97e", "Zoë, 靴 — \U0001f97e"},
}

func TestWordsAndDataHaveNoControls(t *testing.T) {
	for _, c := range hiddenRunes {
		var out, words bytes.Buffer
		p := &program{stdout: &out, stderr: &words}
		p.say("%s\n%s", c.in, c.in)
		p.print("%s\n", c.in)
		if want := "draw: " + c.out + "\ndraw: " + c.out + "\n"; words.String() != want {
			t.Errorf("say %+q: got %q, want %q", c.in, words.String(), want)
		}
		if out.String() != c.out+"\n" {
			t.Errorf("print %+q: got %q, want %q", c.in, out.String(), c.out)
		}
		out.Reset()
		if err := p.printJSON([]string{c.in}); err != nil {
			t.Fatal(err)
		}
		if want := "[\n  \"" + c.inJSON + "\"\n]\n"; out.String() != want {
			t.Errorf("JSON of %+q: got %q, want %q", c.in, out.String(), want)
		}
		var back []string
		if err := json.Unmarshal(out.Bytes(), &back); err != nil || back[0] != strings.ToValidUTF8(c.in, "\ufffd") {
			t.Errorf("JSON of %+q reads back as %+q, %v", c.in, back, err)
		}
	}
}

// clean wants an output that a terminal only prints.
func clean(t *testing.T, out string) {
	t.Helper()
	for _, r := range out {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
			t.Errorf("%U came out:\n%q", r, out)
			return
		}
	}
}

const evilName = "a\x1b[2J\x1b]0;x\x07\r\nverdict    valid\n\x7f.example"

// evilServer has a certificate whose DNS name would wipe the screen and write
// a verdict of its own. A client compares the names before it looks at who
// signed the certificate.
func evilServer(t *testing.T) *httptest.Server {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{evilName}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, form, form, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewUnstartedServer(http.NotFoundHandler())
	s.Config.ErrorLog = log.New(io.Discard, "", 0)
	s.TLS = &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}}
	s.StartTLS()
	t.Cleanup(s.Close)
	return s
}

func TestACertificateWritesNothingOnTheTerminal(t *testing.T) {
	url := strings.Replace(evilServer(t).URL, "127.0.0.1", "localhost", 1)
	for _, args := range [][]string{{"verify", url}, {"verify", "--json", url}, {"compare", url, url}, {"find", url, "0000000000000000"}} {
		status, out, words := drawCommand(t, args...)
		if status != statusNot {
			t.Errorf("%v: status %d, want 2", args, status)
		}
		clean(t, out)
		clean(t, words)
		if strings.Contains("\n"+out+words, "\nverdict    valid") {
			t.Errorf("%v: the certificate wrote a line of its own:\n%s", args, out)
		}
		if args[0] == "verify" && len(args) == 2 && !strings.Contains(out, `a\x1b[2J`) {
			t.Errorf("%v: want the name, with its controls spelt out:\n%q", args, out)
		}
	}
}

func TestFileNamesWriteNothingOnTheTerminal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "x\x1b[2J\u202e\u009b")
	status, _, words := drawCommand(t, "verify", dir)
	clean(t, words)
	if want := `x\x1b[2J\u202e\x9b`; status != statusNot || !strings.Contains(words, want) {
		t.Errorf("status %d, %q; want %s", status, words, want)
	}
	receipt := filepath.Join(t.TempDir(), "r\x1bc\nverdict    valid\n")
	if err := os.WriteFile(receipt, []byte("no receipt"), 0o600); err != nil {
		t.Skipf("no such file names here: %v", err)
	}
	status, out, words := drawCommand(t, "verify", "--receipt", receipt, filepath.Join(vectors, "publications", "full"))
	clean(t, out+words)
	if want := `r\x1bc\x0averdict    valid\x0a`; status != statusFault || !strings.Contains(out, want) {
		t.Errorf("status %d, want %s\n%q", status, want, out)
	}
}

// What draw run says of a relay.
func TestRelaysWriteNothingOnTheTerminal(t *testing.T) {
	var words bytes.Buffer
	p := &program{stderr: &words}
	_, err := (&http.Client{}).Get(strings.Replace(evilServer(t).URL, "127.0.0.1", "localhost", 1))
	if _, ok := errors.AsType[x509.HostnameError](err); !ok {
		t.Fatalf("got %v, want an error with the certificate's names", err)
	}
	p.relayNote("https://relay.example", err)
	clean(t, words.String())
	if strings.Count(words.String(), "\n") != 1 || !strings.Contains(words.String(), `a\x1b[2J`) {
		t.Errorf("got %q, want one line", words.String())
	}
}
