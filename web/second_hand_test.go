package web_test

import (
	"encoding/hex"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
)

// secretOf is the text that the holder of a part keeps, for the rig's signer.
func secretOf(id, role string, n byte) draw.Seal {
	s := draw.Seal{Draw: id, Signer: "127.0.0.1", Role: role}
	for i := range s.Secret {
		s.Secret[i] = n
	}
	return s
}

// holders puts second holders into the terms.
func holders(seals ...draw.Seal) func(*giveaway.Terms) {
	return func(x *giveaway.Terms) {
		for _, s := range seals {
			x.Seconds = append(x.Seconds, giveaway.Second{Role: s.Role, Who: strings.Repeat("Quiet Ridge Walks ", 2) + s.Role, Hash: s.Hash()})
		}
	}
}

// One tap hands the number in from the link; it is taken out of the address,
// and no request bears it but the one that the tap makes. The kept file can be
// chosen, and without script the number is pasted.
func TestHandInInABrowser(t *testing.T) {
	r := newRig(t)
	link, file, pasted := secretOf("boots", "friend", 1), secretOf("boots", "maya", 2), secretOf("boots", "shop", 3)
	r.open("boots", holders(link, file, pasted))
	r.lock("boots")
	b := browsertest.New(t)
	address := func(s draw.Seal) string { return r.server.URL + "/g/boots/second/" + s.Role }

	number := hex.EncodeToString(link.Secret[:])
	b.Open(address(link) + "#" + number)
	b.WaitVisible("#from-link")
	if got := b.Location(); got != address(link) {
		t.Errorf("the number stays in the address: %s", got)
	}
	for _, asked := range b.Requests() {
		if strings.Contains(asked, number) && !strings.HasSuffix(asked, "#"+number) {
			t.Errorf("a request bears the number: %s", asked)
		}
	}
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "Your number is in." {
		t.Errorf("from the link: status %d, %q", got, b.Text("h1"))
	}

	kept := filepath.Join(t.TempDir(), "boots.seal.maya.txt")
	must(t, os.WriteFile(kept, file.Text(), 0o600))
	b.Open(address(file))
	b.WaitVisible("#kept")
	// What a person's choice of a file does, by the page's own means.
	browsertest.Eval[int](b, `(() => { const list = new DataTransfer(), e = document.querySelector("#kept");
		list.items.add(new File([`+"`"+string(file.Text())+"`"+`], "boots.seal.maya.txt")); e.files = list.files;
		e.dispatchEvent(new Event("change")); return 1 })()`)
	b.WaitVisible("#from-link")
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "Your number is in." {
		t.Errorf("from the file: status %d, %q", got, b.Text("h1"))
	}

	b.Script(false)
	b.Open(address(pasted))
	b.Type("#f-secret", "nonsense")
	if got := b.Submit(".button"); got != 422 || b.Value("#f-secret") != "nonsense" {
		t.Errorf("nonsense: status %d, then %q stands there", got, b.Value("#f-secret"))
	}
	b.Clear("#f-secret")
	b.Type("#f-secret", hex.EncodeToString(pasted.Secret[:]))
	if got := b.Submit(".button"); got != 200 || b.Text("h1") != "Your number is in." {
		t.Errorf("pasted: status %d, %q", got, b.Text("h1"))
	}
	in, err := r.host.Handed(t.Context(), "boots")
	must(t, err)
	if len(in) != 3 {
		t.Errorf("%d numbers are in, want 3", len(in))
	}
}

// A number made for another host has the fingerprint of the posted terms and
// still can't be used: its holder is told so, not that it is the wrong one.
func TestHandInMadeForAnotherHost(t *testing.T) {
	r := newRig(t)
	s := secretOf("boots", "maya", 1)
	s.Signer = "elsewhere.example"
	r.open("boots", holders(s))
	r.lock("boots")
	got := r.post("/g/boots/second/maya", url.Values{"secret": {string(s.Text())}})
	got.is(t, 422)
	got.has(t, "it was made for another giveaway, host or part")
}

// While the result is held back nobody learns from the page that the draw was
// made: a wrong number, and one that is in and public, get the same as before.
// Whoever comes late with the right number, unknown to others, is told so. The
// rule is our own, no outside source.
func TestHandInWhileHeld(t *testing.T) {
	r := newRig(t).withEvent()
	in, late := secretOf("boots", "friend", 1), secretOf("boots", "maya", 2)
	r.open("boots", holders(in, late))
	r.lock("boots")
	r.setTime(event.Add(time.Minute))
	send := func(s draw.Seal, number [32]byte) answer {
		return r.post("/g/boots/second/"+s.Role, url.Values{"secret": {hex.EncodeToString(number[:])}})
	}
	send(in, in.Secret).is(t, 303)
	before := send(late, [32]byte{9})
	before.is(t, 422)
	before.has(t, "This is not the number that was locked in")
	must2(r.host.DrawHeld(t.Context(), r.now(), "boots", nil))(t)
	after := send(late, [32]byte{9})
	if after.StatusCode != before.StatusCode || after.body != before.body {
		t.Errorf("a wrong number after the draw: status %d: %s", after.StatusCode, after.body)
	}
	send(in, in.Secret).is(t, 303)
	told := send(late, late.Secret)
	told.is(t, 409)
	told.has(t, "Too late; nothing changes.", "The draw was made without your number")
	told.lacks(t, "<form method=\"post\" action=\"/g/boots/second")
	if handed, err := r.host.Handed(t.Context(), "boots"); err != nil || len(handed) != 1 {
		t.Errorf("%d numbers are in, want 1: %v", len(handed), err)
	}
}

// Posts are limited as everywhere.
func TestHandInLimited(t *testing.T) {
	r := newRig(t, tight)
	r.open("boots", holders(secretOf("boots", "maya", 1)))
	r.lock("boots")
	last := 0
	for range 4 {
		last = r.post("/g/boots/second/maya", url.Values{"secret": {strings.Repeat("ab", 32)}}).StatusCode
	}
	if last != 429 {
		t.Errorf("the fourth try has status %d, want 429", last)
	}
}

// endings are the pages of second holders, and of giveaways that end without a
// winner, in every state.
func endings(t *testing.T, r *rig) []view {
	when := during
	get := func(name, path string) view {
		at := when
		return view{name, func(b *browsertest.Browser) { r.setTime(at); b.Open(r.server.URL + path) }}
	}
	two := func(id string) (giveaway.Giveaway, draw.Seal) {
		maya := secretOf(id, "maya", 1)
		return r.open(id, holders(maya, secretOf(id, "shop", 2))), maya
	}
	two("promised")
	_, arrived := two("arrived")
	_, missed := two("missed")
	two("off")
	r.open("empty")
	r.open("next", func(x *giveaway.Terms) { x.Title = "Win boots after all." })
	off := func(id, reason, successor string, at time.Time) {
		r.setTime(at)
		_, err := r.host.Cancel(t.Context(), at, id, reason, successor)
		must(t, err)
	}
	r.setTime(during)
	private, ticket := r.enter("off", "robin@example.com")
	early, _ := r.enter("missed", "robin@example.com")
	r.open("early")
	off("early", "the-shop-closed", "next", during)
	made := view{"made", func(b *browsertest.Browser) {
		b.Script(true) // the page is for it
		b.Open(r.server.URL + "/second?draw=boots&role=sponsor")
		b.Click("#make button")
		b.WaitVisible("#made")
	}}
	promised := []view{made, get("make", "/second"), get("form-seconds", "/g/promised"), get("hand-not-yet", "/g/promised/second/maya"), get("off-early", "/g/early"), get("private-seconds", early)}
	for _, id := range []string{"arrived", "missed", "off", "empty"} {
		r.lock(id)
	}
	when = closes.Add(time.Minute)
	for _, s := range []draw.Seal{arrived, missed} {
		r.post("/g/"+s.Draw+"/second/maya", url.Values{"secret": {string(s.Text())}}).is(t, 303)
	}
	locks := when
	wrong := view{"hand-wrong", func(b *browsertest.Browser) {
		r.setTime(locks)
		b.Open(r.server.URL + "/g/arrived/second/shop")
		b.Type("#f-secret", "nonsense")
		b.Submit(".button")
	}}
	locked := []view{get("closed-seconds", "/g/arrived"), get("hand-in", "/g/arrived/second/maya"), get("hand", "/g/arrived/second/shop"), wrong}
	when = event.Add(time.Hour)
	r.draw("missed")
	r.draw("empty")
	off("off", "prize-withdrawn", "", event.Add(time.Hour))
	return append(append(promised, locked...), get("drawn-missed", "/g/missed"), get("hand-too-late", "/g/missed/second/shop"), get("fair-missed", "/g/missed/fair/"),
		get("empty", "/g/empty"), get("off-late", "/g/off"), get("fair-off", "/g/off/fair/"), get("ticket-off", "/g/off/t/"+ticket), get("private-off", private), get("hand-off", "/g/off/second/maya"))
}

// The pages of the ends, as [TestPagesInABrowser] looks at all others; and what
// they say.
func TestEndingsInABrowser(t *testing.T) {
	r := newRig(t)
	all := endings(t, r)
	for path, words := range map[string][]string{
		"/g/early":              {"The reason: the shop closed.", `<a href="/g/next">Win boots after all.</a>`, "A proof of entry keeps its meaning"},
		"/g/off":                {"The reason: the prize is no longer there.", "called off when the host could already know the result", "not wanted any more"},
		"/g/off/fair/":          {"This draw was called off.", "It was called off when the host could already know the result."},
		"/g/off/second/maya":    {"This giveaway was called off."},
		"/g/empty":              {"The draw was made: the list was empty."},
		"/g/missed":             {"It was handed in before the draw, and went into it.", "It did not arrive.", "with one thing to know"},
		"/g/missed/fair/":       {"Who else held a part", "It did not arrive."},
		"/g/missed/second/shop": {"Too late; nothing changes."},
	} {
		r.get(path).has(t, words...)
	}
	look(t, r, browsertest.New(t), all)
}
