package main

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"evenhand/internal/browsertest"
)

// Who is signed out while typing is told so, loses nothing, and goes on after
// signing in in another window.
func TestMakingWhileSignedOut(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	if a := visit(t, s.base).press(aForm(t, s.visitor)+"/keep", good()...); a.status != http.StatusUnauthorized || !strings.HasPrefix(a.body, "{") {
		t.Errorf("kept by a stranger: status %d, want 401 and JSON: %.100s", a.status, a.body)
	}
	b := browsertest.New(t)
	signIn(s, b)
	b.Open(s.base + "/desk/new")
	path := b.Location()
	b.Type("#f-prize", "Boots")
	until(t, b, "#kept", "Kept ")
	out := `fetch("/desk/out", {method: "POST"}).then((r) => r.status)`
	if got := browsertest.Eval[int](b, out); got != 200 {
		t.Fatalf("signed out: status %d", got)
	}
	b.Type("#f-channel", "Slow Miles")
	until(t, b, "#kept", "Sign in again in another window, then go on here.")
	in := `fetch("/desk/in", {method: "POST", body: new URLSearchParams({passphrase: ` + strconv.Quote(passphrase) + `})}).then((r) => r.status)`
	if got := browsertest.Eval[int](b, in); got != 200 { // as another window of this browser does
		t.Fatalf("signed in again: status %d", got)
	}
	until(t, b, "#kept", "Kept ")
	if page := s.get(strings.TrimPrefix(path, s.base)).body; !strings.Contains(page, `value="Slow Miles"`) {
		t.Error("what was typed while signed out is not kept")
	}
}
