package web_test

import (
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// keptFile is what a press on a button of the page saves as a file.
func keptFile(b *browsertest.Browser, button string) string {
	return browsertest.Eval[string](b, `new Promise((done) => {
		const was = URL.createObjectURL;
		URL.createObjectURL = (file) => { file.text().then(done); return was.call(URL, file) };
		document.querySelector("`+button+`").click();
	})`)
}

// A second holder makes a number on the page as it is served and on a saved
// copy with no server to be had. The file kept is exactly a seal's text, and
// the fingerprint shown is what package draw makes of it. Many presses make as
// many numbers.
func TestMakeSecondInABrowser(t *testing.T) {
	r := newRig(t)
	b := browsertest.New(t)
	saved := filepath.Join(t.TempDir(), "secret-number.html")
	copied := r.get("/second?copy&draw=boots&role=sponsor")
	if !strings.HasPrefix(copied.Header.Get("Content-Disposition"), "attachment") {
		t.Error("the copy is not offered as a file")
	}
	must(t, os.WriteFile(saved, []byte(copied.body), 0o600))
	seen := map[[32]byte]bool{}
	for _, from := range []string{r.server.URL + "/second?draw=boots&role=sponsor", "file://" + saved + "?signer=evil.example&draw=other"} {
		if strings.HasPrefix(from, "file:") {
			r.server.Close()
		}
		b.Open(from)
		for range 20 {
			b.Click("#make button")
			b.WaitVisible("#made")
			before := browsertest.Eval[string](b, `document.querySelector("#text").value`)
			seal, err := draw.ParseSeal("the page's file", []byte(before))
			must(t, err)
			if got := b.Text("#print"); got != seal.Hash().String() {
				t.Fatalf("%s: the fingerprint is %s, want %s", from, got, seal.Hash())
			}
			if seal.Draw != "boots" || seal.Signer != "127.0.0.1" || seal.Role != "sponsor" {
				t.Errorf("%s: the text is of %s, %s, %s", from, seal.Draw, seal.Signer, seal.Role)
			}
			if seen[seal.Secret] {
				t.Errorf("%s: a number came twice", from)
			}
			seen[seal.Secret] = true
			// The next press must be seen to change something.
			browsertest.Eval[int](b, `(document.querySelector("#made").hidden = true, 1)`)
		}
		text := browsertest.Eval[string](b, `document.querySelector("#text").value`)
		if got := keptFile(b, "#keep"); got != text {
			t.Errorf("%s: the file kept is %q, want %q", from, got, text)
		}
		seal, err := draw.ParseSeal("the page's file", []byte(text))
		must(t, err)
		link := r.server.URL + "/g/boots/second/sponsor#" + hex.EncodeToString(seal.Secret[:])
		if got := browsertest.Eval[string](b, `document.querySelector("#link").value`); got != link {
			t.Errorf("%s: the link is %s, want %s", from, got, link)
		}
		if got := keptFile(b, "#keep-link"); !strings.Contains(got, "\n"+link+"\n") {
			t.Errorf("%s: the second file is %q", from, got)
		}
		if got := browsertest.Eval[string](b, `document.querySelector("#sums").textContent`); !strings.Contains(got, "both come to the same") {
			t.Errorf("%s: not worked out twice: %q", from, got)
		}
	}
	if len(seen) != 40 {
		t.Errorf("%d different numbers, want 40", len(seen))
	}
	for _, asked := range b.Requests() {
		if !strings.HasPrefix(asked, r.server.URL+"/second?") && asked != r.server.URL+"/favicon.ico" && !strings.HasPrefix(asked, "file://"+saved) && !strings.HasPrefix(asked, "blob:") {
			t.Errorf("the page asked for %s", asked)
		}
	}
}

// The page's own SHA-256 gives the values that NIST publishes with FIPS 180-4
// ("SHA-256 examples": one block, two blocks) and those of its test vectors
// SHA256ShortMsg and of a million times "a" (FIPS 180-2, appendix B.3).
func TestSecondSums(t *testing.T) {
	r := newRig(t)
	b := browsertest.New(t)
	b.Open(r.server.URL + "/second")
	for expression, want := range map[string]string{
		`""`:    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		`"abc"`: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
		`"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"`: "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
		`"a".repeat(1000000)`: "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
	} {
		if got := browsertest.Eval[string](b, "sha256("+expression+")"); got != want {
			t.Errorf("sha256(%s) = %s, want %s", expression, got, want)
		}
	}
	// Every length around the ends of a block, against the browser's own.
	if got := browsertest.Eval[int](b, `(async () => {
		for (let n = 0; n < 200; n++) if (await again("é".repeat(n)) !== sha256("é".repeat(n))) return n;
		return -1 })()`); got != -1 {
		t.Errorf("of %d letters the two sums differ", got)
	}
	// Where the browser's own sum differs, the page says so and shows none.
	browsertest.Eval[int](b, `(crypto.subtle.digest = async () => new ArrayBuffer(32), 1)`)
	b.Type("#draw", "boots")
	b.Type("#role", "sponsor")
	b.Click("#make button")
	b.WaitVisible("#broken")
	if got := b.Text("#broken"); !strings.Contains(got, "Don’t use this number") {
		t.Errorf("two different sums: %q", got)
	}
	if browsertest.Eval[bool](b, `document.querySelector("#made").checkVisibility()`) {
		t.Error("a fingerprint is shown in spite of it")
	}
}

// Fields that the protocol would refuse are refused, in words; what the
// address says is taken only where it fits.
func TestMakeSecondFields(t *testing.T) {
	r := newRig(t)
	b := browsertest.New(t)
	b.Open(r.server.URL + `/second?draw="><b>&role=host`)
	if got := b.Value("#draw") + b.Value("#role"); got != "" {
		t.Errorf("taken from the address: %q", got)
	}
	if got := b.Value("#signer"); got != "127.0.0.1" {
		t.Errorf("the host is %q, want that of this site", got)
	}
	b.Type("#draw", "Trail Boots")
	b.Type("#role", "host")
	b.Click("#make button")
	for _, id := range []string{"draw", "role"} {
		b.WaitVisible("#x-" + id)
	}
	if got := browsertest.Eval[string](b, "document.activeElement.id"); got != "draw" {
		t.Errorf("%q has the focus, want the first field that is wrong", got)
	}
	b.Script(false)
	b.Open(r.server.URL + "/second?draw=boots&role=sponsor")
	if got := b.Text("noscript code"); got != "draw seal --draw boots --signer 127.0.0.1 --role sponsor" {
		t.Errorf("without script: %q", got)
	}
}

// Nobody makes a number for another host by following a link to this one: what
// an address says of the host is ignored, also without script. Who types another
// is warned before the button, and gets no link, in which the number would stand.
func TestMakeSecondForThisHostOnly(t *testing.T) {
	r := newRig(t)
	const evil = "/second?draw=boots&signer=evil.example&role=sponsor"
	for _, page := range []string{evil, evil + "&copy"} {
		r.get(page).lacks(t, "evil.example")
	}
	b := browsertest.New(t)
	b.Open(r.server.URL + evil)
	if got := b.Value("#signer"); got != "127.0.0.1" {
		t.Errorf("the host is %q, want that of this site", got)
	}
	if browsertest.Eval[bool](b, `!document.querySelector("#other").hidden`) {
		t.Error("warned of this site's own host")
	}
	b.Type("#signer", "https://Evil.example/x")
	b.WaitVisible("#other")
	if got := b.Text("#other"); !strings.Contains(got, "evil.example") || !strings.Contains(got, "127.0.0.1") {
		t.Errorf("the warning: %q", got)
	}
	b.Click("#make button")
	b.WaitVisible("#made")
	if got := b.Text("#no-link"); !strings.Contains(got, "the host tells you where") {
		t.Errorf("instead of the link: %q", got)
	}
	if browsertest.Eval[bool](b, `document.querySelector("#link").checkVisibility()`) || b.Value("#link") != "" {
		t.Errorf("a link for another host: %q", b.Value("#link"))
	}
}

// The policy allows the page's own style and script alone.
func TestMakeSecondPolicy(t *testing.T) {
	r := newRig(t)
	got := r.get("/second")
	got.is(t, 200)
	policy := got.Header.Get("Content-Security-Policy")
	for _, want := range []string{"default-src 'none'", "script-src 'sha256-", "style-src 'sha256-", "form-action 'none'", "frame-ancestors 'none'"} {
		if !strings.Contains(policy, want) {
			t.Errorf("the policy lacks %q: %s", want, policy)
		}
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "connect-src") {
		t.Errorf("the policy: %s", policy)
	}
	got.has(t, `http-equiv="Content-Security-Policy"`)
	got.lacks(t, "[draw]", "[policy]", "http://fonts", "<link", " src=")
}
