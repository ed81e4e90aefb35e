package main

import (
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"
)

// The first start, as the issue says it: a code from the terminal, wrong codes
// slow down, and a desk once claimed never asks again.
func TestFirstStart(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	claim := func(code, phrase, again string) answer {
		return s.press("/desk/claim", "code", code, "passphrase", phrase, "again", again)
	}
	if a := claim("AAAA-BBBB-CCCC", passphrase, passphrase); a.status != 422 || !strings.Contains(a.body, "This is not the code.") {
		t.Errorf("a wrong code: status %d: %s", a.status, textOf(a.body))
	}
	if a := claim("AAAA-BBBB-CCCC", passphrase, passphrase); a.status != 429 || a.header.Get("Retry-After") != "1" {
		t.Errorf("the next try at once: status %d, Retry-After %q, want 429, 1", a.status, a.header.Get("Retry-After"))
	}
	at := during
	for _, wait := range []time.Duration{time.Second, 2 * time.Second, 4 * time.Second, 8 * time.Second} {
		s.clock.set(at.Add(wait - time.Second))
		if a := claim("AAAA-BBBB-CCCC", passphrase, passphrase); a.status != 429 {
			t.Errorf("a try %v after a wrong one: status %d, want 429", wait-time.Second, a.status)
		}
		at = at.Add(wait)
		s.clock.set(at)
		if a := claim("AAAA-BBBB-CCCC", passphrase, passphrase); a.status != 422 {
			t.Errorf("a try %v after a wrong one: status %d, want 422", wait, a.status)
		}
	}
	s.clock.set(at.Add(time.Hour))
	for name, phrases := range map[string][2]string{"short": {"eleven char", "eleven char"}, "unlike": {passphrase, passphrase + "s"}} {
		if a := claim(s.code, phrases[0], phrases[1]); a.status != 422 || !strings.Contains(a.body, s.code) {
			t.Errorf("%s passphrase: status %d, or the code typed is gone", name, a.status)
		}
	}
	if a := claim(strings.ToLower(strings.ReplaceAll(s.code, "-", " ")), passphrase, passphrase); a.status != 303 {
		t.Errorf("the code in lower case with blanks: status %d, want 303", a.status)
	}
	other := visit(t, s.base)
	if text := textOf(other.get("/desk").body); strings.Contains(text, "Code") || !strings.Contains(text, "Sign in to your desk.") {
		t.Errorf("a claimed desk shows another browser: %s", text)
	}
	if a := other.press("/desk/claim", "code", s.code, "passphrase", "another long one", "again", "another long one"); a.status != http.StatusConflict {
		t.Errorf("claiming a claimed desk: status %d, want 409", a.status)
	}
}

// Two browsers with the right code at once: one sets the passphrase, the other
// hears of it and is not signed in. On both databases.
func TestTwoClaims(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		phrases := []string{"the passphrase of Ada", "the passphrase of Ben"}
		visitors := []*visitor{visit(t, s.base), visit(t, s.base)}
		answers := make([]answer, 2)
		var both sync.WaitGroup
		for i, v := range visitors {
			both.Go(func() {
				answers[i] = v.press("/desk/claim", "code", s.code, "passphrase", phrases[i], "again", phrases[i])
			})
		}
		both.Wait()
		won := 0
		if answers[1].status == 303 {
			won = 1
		}
		if answers[won].status != 303 || answers[1-won].status != http.StatusConflict {
			t.Fatalf("statuses %d and %d, want 303 and 409", answers[0].status, answers[1].status)
		}
		if a := visitors[1-won].get("/desk/new"); a.status != http.StatusUnauthorized {
			t.Errorf("who lost the race is let in: status %d, want 401", a.status)
		}
		fresh := visit(t, s.base)
		if a := fresh.press("/desk/in", "passphrase", phrases[1-won]); a.status != 422 {
			t.Errorf("the loser's passphrase: status %d, want 422", a.status)
		}
		s.clock.set(during.Add(time.Minute))
		if a := fresh.press("/desk/in", "passphrase", phrases[won]); a.status != 303 {
			t.Errorf("the winner's passphrase: status %d, want 303", a.status)
		}
	})
}

// Signing in and out: the cookie's attributes, a new token at each sign-in,
// nothing shown without one, wrong passphrases slow down, and nobody is sent
// to another site.
func TestSignIn(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir(), "-url", "https://give.example.com")
	a := s.press("/desk/claim", "code", s.code, "passphrase", passphrase, "again", passphrase)
	cookie := a.header.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Lax", "Secure", "Path=/desk"} {
		if !strings.Contains(cookie, want) {
			t.Errorf("the cookie %q lacks %s", strings.SplitN(cookie, ";", 2)[1], want)
		}
	}
	v := visit(t, s.base)
	for _, path := range []string{"/desk/new", "/desk/file", "/desk/g/boots", "/desk/g/boots/draw"} {
		if a := v.get(path); a.status != http.StatusUnauthorized || !strings.Contains(a.body, `value="`+path+`"`) {
			t.Errorf("GET %s without signing in: status %d, want 401 and the way back", path, a.status)
		}
		if a := v.press(path); a.status != 303 && a.status != 405 {
			t.Errorf("POST %s without signing in: status %d, want 303 or 405", path, a.status)
		}
	}
	for range 3 {
		v.press("/desk/in", "passphrase", "not the passphrase")
	}
	if a := v.press("/desk/in", "passphrase", passphrase); a.status != 429 {
		t.Errorf("right after wrong ones: status %d, want 429", a.status)
	}
	s.clock.set(during.Add(time.Hour))
	for next, want := range map[string]string{
		"/desk/new": "/desk/new", "https://evil.example/": "/desk", "//evil.example": "/desk", "/desk//evil.example": "/desk", `/desk/\evil`: "/desk",
	} {
		if a := v.press("/desk/in", "passphrase", passphrase, "next", next); a.status != 303 || a.to != want {
			t.Errorf("signing in with next %q: status %d to %q, want 303 to %q", next, a.status, a.to, want)
		}
	}
	first := v.press("/desk/in", "passphrase", passphrase).header.Get("Set-Cookie")
	second := v.press("/desk/in", "passphrase", passphrase).header.Get("Set-Cookie")
	if first == "" || first == second {
		t.Error("the session's token stays the same at sign-in")
	}
	if a := v.press("/desk/out"); a.status != 303 {
		t.Errorf("signing out: status %d", a.status)
	}
}

// A form of another site presses no button.
func TestOtherSites(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	a := s.do("POST", "/desk/g/boots/lock", "application/x-www-form-urlencoded", "", "Sec-Fetch-Site", "cross-site", "Origin", "https://evil.example")
	if a.status != http.StatusForbidden {
		t.Errorf("status %d, want 403", a.status)
	}
}
