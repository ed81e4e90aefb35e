package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

const formType = "application/x-www-form-urlencoded"

// from presses as somebody at another address.
func (v *visitor) from(address, path, body string) answer {
	return v.do("POST", path, formType, body, "X-Forwarded-For", address)
}

// The issue: wrong codes slow down. They slow down whoever sends them, and
// never keep out who has the right one.
func TestStrangersCodesKeepNobodyOut(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	stranger := visit(t, s.base)
	slowed := 0
	for range 50 {
		if a := stranger.from("198.51.100.7", "/desk/claim", "code=AAAA-BBBB-CCCC&passphrase=x&again=x"); a.status == 429 {
			slowed++
		}
	}
	if slowed != 49 {
		t.Errorf("%d of 50 wrong codes were slowed down, want 49", slowed)
	}
	if a := stranger.from("2001:db8::7", "/desk/claim", "code=AAAA-BBBB-CCCC&passphrase=x&again=x"); a.status != 429 {
		t.Errorf("a wrong code from a third network: status %d, want 429", a.status)
	}
	if a := s.press("/desk/claim", "code", s.code, "passphrase", passphrase, "again", passphrase); a.status != 303 {
		t.Errorf("the right code: status %d, want 303: %s", a.status, textOf(a.body))
	}
}

// Strangers guess from the host's own network and fill the queue. The browser
// that has signed in before gets in all the same, and its cookie alone lets
// nobody in.
func TestStrangersGuessesKeepNobodyOut(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir(), "-url", "https://give.example.com")
	s.claim()
	if a := s.press("/desk/in", "passphrase", passphrase); a.status != 303 {
		t.Fatalf("signing in: status %d", a.status)
	}
	known := ""
	a := visit(t, s.base).press("/desk/in", "passphrase", passphrase)
	for _, one := range a.header.Values("Set-Cookie") {
		if strings.HasPrefix(one, "desk-known=") {
			known = one
		}
	}
	for _, want := range []string{"HttpOnly", "SameSite=Lax", "Secure", "Path=/desk", "Max-Age="} {
		if !strings.Contains(known, want) {
			t.Errorf("the cookie lacks %s", want)
		}
	}
	known, _, _ = strings.Cut(known, ";")

	statuses := make([]int, 40)
	var all sync.WaitGroup
	stranger := visit(t, s.base)
	for i := range statuses {
		all.Go(func() {
			statuses[i] = stranger.from(fmt.Sprintf("198.51.100.%d", i), "/desk/in", "passphrase=not+the+passphrase").status
		})
	}
	all.Wait()
	count := map[int]int{}
	for _, status := range statuses {
		count[status]++
	}
	if count[429] == 0 || count[422] == 0 || count[422]+count[429] != 40 {
		t.Errorf("statuses of forty strangers at once: %v, want some 422 and the rest 429", count)
	}
	home := visit(t, s.base)
	home.press("/desk/in", "passphrase", "not the passphrase")
	if a := home.press("/desk/in", "passphrase", passphrase); a.status != 429 {
		t.Errorf("a stranger in the host's network: status %d, want 429", a.status)
	}
	send := func(cookie, phrase string) int {
		return home.do("POST", "/desk/in", formType, "passphrase="+strings.ReplaceAll(phrase, " ", "+"), "Cookie", cookie).status
	}
	if got := send(known+"x", passphrase); got != 429 {
		t.Errorf("a forged cookie: status %d, want 429", got)
	}
	if a := home.do("GET", "/desk/new", "", "", "Cookie", known); a.status != 401 {
		t.Errorf("the cookie alone: status %d, want 401", a.status)
	}
	if got := send(known, passphrase); got != 303 {
		t.Errorf("the host's browser: status %d, want 303", got)
	}
	if got, again := send(known, "wrong passphrase"), send(known, "wrong passphrase"); got != 422 || again != 429 {
		t.Errorf("wrong ones with the cookie: status %d and %d, want 422 and 429", got, again)
	}
}

// NIST SP 800-63B, section 5.1.1.2: refuse common values and say why.
func TestEasyPassphrase(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	for _, easy := range []string{"aaaaaaaaaaaa", "password1234", "123456789012"} {
		a := s.press("/desk/claim", "code", s.code, "passphrase", easy, "again", easy)
		if text := textOf(a.body); a.status != 422 || !strings.Contains(text, "That is among the first that a stranger would try.") {
			t.Errorf("%s: status %d: %s", easy, a.status, text)
		}
	}
}

// A broken upload is what was sent and no fault of ours (RFC 9110, section
// 15.5.1), and nothing of it stands in the log.
func TestBrokenUpload(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	for kind, body := range map[string]string{
		"multipart/form-data; boundary=bbb": "--bbb\r\nplantedword: planted\r\n\r\nplanted", "multipart/form-data": "planted",
		"multipart/form-data; boundary=ccc": "plantedword", "multipart/form-data; boundary=ddd": "--ddd\r\nplantedword\r\n\r\n",
	} {
		a := s.do("POST", "/desk/file", kind, body)
		if a.status != 400 || !strings.Contains(textOf(a.body), "What was sent can’t be read.") {
			t.Errorf("%s %q: status %d: %s", kind, body, a.status, textOf(a.body))
		}
	}
	if log := s.logs.String(); strings.Contains(log, "planted") || strings.Contains(log, "level=ERROR") {
		t.Errorf("the log says: %s", log)
	}
}

// Signing out is limited like every button (200 at once, then 4 a second),
// and who was not signed in is given no session.
func TestSigningOut(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	stranger := visit(t, s.base)
	last := answer{}
	for range 201 {
		last = stranger.from("198.51.100.7", "/desk/out", "")
		if cookies := last.header.Values("Set-Cookie"); len(cookies) != 0 {
			t.Fatalf("a stranger is given %d cookies", len(cookies))
		}
	}
	if last.status != http.StatusTooManyRequests {
		t.Errorf("the 201st at once: status %d, want 429", last.status)
	}
	if a := s.press("/desk/out"); a.status != 303 || s.get("/desk/new").status != 401 {
		t.Errorf("the host signs out: status %d, or is still in", a.status)
	}
}

// A data folder that was there before and that others can read is told of.
func TestOpenDataFolder(t *testing.T) {
	for mode, want := range map[os.FileMode]int{0o755: 1, 0o700: 0} {
		data := filepath.Join(t.TempDir(), "data")
		must(t, os.Mkdir(data, mode))
		must(t, os.Chmod(data, mode))
		s := start(t, during, "", "-data", data)
		must(t, s.stop())
		if got := strings.Count(s.logs.String(), "others can get at the data folder"); got != want {
			t.Errorf("mode %o: told %d times, want %d", mode, got, want)
		}
	}
}
