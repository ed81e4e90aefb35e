package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// secondText is the file that a second holder keeps, written out from the
// protocol ("Seal") and not by package draw.
func secondText(signer, role string, secret string) string {
	return "evenhand/seal/v1\ndraw boots\nsigner " + signer + "\nby " + role + "\nsecret " + secret + "\n"
}

// public is the address that links carry.
func public(s *service) string { return strings.Replace(s.base, "127.0.0.1", "localhost", 1) }

// withSeconds are terms with two second holders, and their numbers.
func withSeconds() (change []string, maya, shop string) {
	maya, shop = strings.Repeat("0a", 32), strings.Repeat("f1", 32)
	hash := func(role, secret string) string {
		return fmt.Sprintf("%x", sha256.Sum256([]byte(secondText("localhost", role, secret))))
	}
	return []string{`"rules": "Rules`, `"seconds": [{"role": "maya", "who": "Maya of Quiet Ridge", "hash": "` + hash("maya", maya) +
		`"}, {"role": "shop", "who": "Larkspur Trail Supply", "hash": "` + hash("shop", shop) + `"}], "rules": "Rules`}, maya, shop
}

// One of two second holders hands in, the other does not: the draw is made,
// and everything says that it is weak, and why (draw protocol, "What it
// protects against": a withheld seal).
func TestSecondSecrets(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		change, maya, shop := withSeconds()
		s.bring("boots", change...)
		enterSome(t, s, 4)
		s.shows("/g/boots", "Maya of Quiet Ridge", "Nobody else knows it.")
		s.shows("/g/boots/second/maya", "Not yet: it opens after the list is locked.")
		if a := s.press("/g/boots/second/maya", "secret", maya); a.status != 409 || !strings.Contains(textOf(a.body), "Not yet") {
			t.Errorf("before the lock: status %d: %s", a.status, textOf(a.body))
		}
		for _, path := range []string{"/g/boots/second/host", "/g/boots/second/nobody", "/g/none/second/maya"} {
			if a := s.get(path); a.status != 404 {
				t.Errorf("GET %s: status %d, want 404", path, a.status)
			}
		}
		s.clock.set(closes.Add(time.Minute))
		s.shows("/desk/g/boots/lock", "4 tickets are in the draw.", "Larkspur Trail Supply hands theirs in after the lock.")
		s.goes("/desk/g/boots", "/desk/g/boots/lock")

		page := s.get("/g/boots/second/maya")
		if text := textOf(page.body); !strings.Contains(text, frozenHash(t, s)) || !strings.Contains(text, "save this first") {
			t.Errorf("after the lock: %s", text)
		}
		for name, want := range map[string]string{"Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex", "Cache-Control": "no-store"} {
			if got := page.header.Get(name); got != want {
				t.Errorf("%s is %q, want %q", name, got, want)
			}
		}
		for typed, want := range map[string]string{
			"":                                    "This is not such a number.",
			maya[1:]:                              "This is not such a number.",
			maya + "0a":                           "This is not such a number.",
			"evenhand/seal/v1\ndraw boots":        "This is not such a number.",
			shop:                                  "This is not the number that was locked in for this part.",
			secondText("localhost", "shop", shop): "The file is of another giveaway or another part.",
		} {
			a := s.press("/g/boots/second/maya", "secret", typed)
			if a.status != 422 || !strings.Contains(textOf(a.body), want) || !strings.Contains(a.body, `aria-invalid="true"`) {
				t.Errorf("handing in %q: status %d, want 422 with %q: %s", typed, a.status, want, textOf(a.body))
			}
		}
		s.shows("/desk/g/boots", "Remind Maya of Quiet Ridge: the number is to be handed in before the draw is made. The page for it, to copy and send: "+public(s)+"/g/boots/second/maya", "the secret number of “Maya of Quiet Ridge” did not arrive")

		// The whole text, with the line ends that forms send, and once more.
		for range 2 {
			s.goes("/g/boots/second/maya", "/g/boots/second/maya", "secret", strings.ReplaceAll(secondText("localhost", "maya", maya), "\n", "\r\n"))
		}
		s.shows("/g/boots/second/maya", "Your number is in.", maya)
		s.shows("/g/boots", "It was handed in, and goes into the draw. It came on Saturday 22 August 2026, 4:01 pm New York time", maya, "It has not been handed in yet.")
		if text := s.shows("/desk/g/boots/draw", "It has not been handed in yet."); strings.Contains(text, shop) {
			t.Error("a number stands on a page before it was handed in")
		}

		s.clock.set(event.Add(10 * time.Second))
		s.shows("/desk/g/boots/draw", "Larkspur Trail Supply has not handed the second secret number in yet. Drawn now, the draw holds, with one thing to know:")
		s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
		if a := s.press("/g/boots/second/shop", "secret", shop); a.status != 409 || !strings.Contains(textOf(a.body), "Too late; nothing changes.") {
			t.Errorf("after the draw: status %d: %s", a.status, textOf(a.body))
		}
		r := check(t, s, "boots")
		if r.Verdict != draw.Valid+", weak" || r.Record == nil {
			t.Fatalf("the check: %q: %v", r.Verdict, r.Findings)
		}
		for _, secret := range r.Record.Secrets {
			if secret.Withheld != (secret.Role == "shop") || secret.Role == "maya" && fmt.Sprintf("%x", secret.Value) != maya {
				t.Errorf("the result says of %s: withheld %v, %x", secret.Role, secret.Withheld, secret.Value)
			}
		}
		s.shows("/g/boots", "did not arrive. Its holder, or the host by claiming it, could look at two results and choose one.", "It was handed in before the draw, and went into it.", "It did not arrive. The draw was made without it.")
		s.shows("/g/boots/fair/", "The draw holds, with one thing to know", "It did not arrive. The draw was made without it.")
		s.shows("/g/boots/second/shop", "Too late; nothing changes.")
		onlyPlainWords(t, s)
	})
}

// Both hand in, one after the public number's time: the draw is valid and not
// weak (draw protocol, "Order of opening": one that comes late is still entered).
func TestSecondSecretsBoth(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	change, maya, shop := withSeconds()
	s.bring("boots", change...)
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/boots", "/desk/g/boots/lock")
	s.goes("/g/boots/second/maya", "/g/boots/second/maya", "secret", s.base+"/g/boots/second/maya#"+maya)
	s.clock.set(event.Add(10 * time.Second))
	s.goes("/g/boots/second/shop", "/g/boots/second/shop", "secret", " "+strings.ToUpper(shop)+"\n")
	s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
	if r := check(t, s, "boots"); r.Verdict != draw.Valid {
		t.Errorf("the check: %q, want valid: %v", r.Verdict, r.Findings)
	}
}

// A giveaway is called off before the lock, after it, and after the draw's
// time; each time everything says so, and the check never says valid (draw
// protocol, cancelled.txt).
func TestCallOff(t *testing.T) {
	for _, c := range []struct {
		name, seen, trust, public string
		at                        time.Time
		lock                      bool
		remark                    bool
	}{
		{"open", "before", "there is no result that anybody could know", "No draw will be made.", during, false, false},
		{"locked", "locked", "nobody can know a result", "No draw will be made.", closes.Add(time.Minute), true, false},
		{"late", "late", "you could already know who would win", "called off when the host could already know the result", event.Add(time.Hour), true, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			each(t, func(t *testing.T, database string) {
				s := start(t, during, database, "-data", t.TempDir())
				s.claim()
				s.bring("boots")
				enterSome(t, s, 2)
				if c.lock {
					s.clock.set(closes.Add(time.Minute))
					s.goes("/desk/g/boots", "/desk/g/boots/lock")
				}
				s.clock.set(c.at)
				s.shows("/desk/g/boots", "Call it off")
				s.shows("/desk/g/boots/cancel", c.trust, "The prize is no longer there.")
				callOffFaults(t, s)
				sure := "/desk/g/boots/cancel/sure?reason=other&other=The+shop+closed%21"
				s.shows(sure, "Call off “Win a pair of hiking boots in your size.”?", "the shop closed", c.trust)
				if a := s.press("/desk/g/boots/cancel", "reason", "other", "other", "The shop closed!", "seen", "other"); a.status != 409 || !strings.Contains(textOf(a.body), "Things have moved on since you looked.") {
					t.Errorf("what was shown is no longer so: status %d", a.status)
				}
				for range 2 {
					s.goes("/desk/g/boots", "/desk/g/boots/cancel", "reason", "other", "other", "The shop closed!", "seen", c.seen)
				}
				s.shows("/desk/g/boots", "This giveaway was called off.", "The reason: the shop closed.", "Make one that takes its place")
				s.shows("/g/boots", "This giveaway was called off.", "The reason: the shop closed.", c.public, "A proof of entry keeps its meaning")
				if a := s.get("/desk/g/boots/cancel/sure?reason=postponed"); a.status != 303 {
					t.Errorf("asked once more after it: status %d", a.status)
				}
				r := check(t, s, "boots")
				if r.Cancelled == nil || r.Verdict != "cancelled" || r.Cancelled.Reason != "the-shop-closed" || !r.Cancelled.At.Equal(c.at) {
					t.Errorf("the check: %q, %+v", r.Verdict, r.Cancelled)
				}
				said := false
				for _, f := range r.Findings {
					said = said || strings.Contains(f.Text, "cancelled when the host could already know the result")
				}
				if said != c.remark {
					t.Errorf("the remark on a late end: %v, want %v", said, c.remark)
				}
				s.shows("/g/boots/fair/", "This draw was called off.")
				onlyPlainWords(t, s)
			})
		})
	}
}

// callOffFaults sends what can't be.
func callOffFaults(t *testing.T, s *service) {
	t.Helper()
	for query, want := range map[string]string{
		"":                          "Choose why it is called off.",
		"reason=valid":              "Choose why it is called off.",
		"reason=other&other=+":      "Write the reason in a few words of the letters a to z",
		"reason=other&other=2+late": "Begin the reason with a letter",
		"reason=other&other=" + strings.Repeat("a+", 30): "with its blanks it has 59 characters, and 32 can be published",
		"reason=postponed&successor=boots":               "Choose one of your other giveaways, or none.",
		"reason=postponed&successor=none-such":           "Choose one of your other giveaways, or none.",
	} {
		if a := s.get("/desk/g/boots/cancel/sure?" + query); a.status != 422 || !strings.Contains(textOf(a.body), want) {
			t.Errorf("%q: status %d, want 422 with %q: %s", query, a.status, want, textOf(a.body))
		}
	}
}

// What comes instead is linked once its terms are posted; a drawn giveaway
// can't be called off.
func TestCallOffWithSuccessor(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots")
	enterSome(t, s, 1)
	terms, err := os.ReadFile("testdata/boots.json")
	must(t, err)
	s.goes("/desk/g/later", "/desk/file", "terms", strings.NewReplacer(`"boots"`, `"later"`, "Win a pair of hiking boots in your size.", "Win boots after all.").Replace(string(terms)))
	s.goes("/desk/g/boots", "/desk/g/boots/cancel", "reason", "postponed", "successor", "later", "seen", "before")
	s.shows("/desk/g/boots", "Go on with “later”")
	s.shows("/g/boots", "The reason: it was put off.", "Another giveaway takes its place. Its terms are not posted yet; this page leads to it once they are.")
	for _, path := range []string{"/desk/", "/desk/g/boots/", "/desk/g/boots/entries/"} {
		if a := s.get(path); a.status != 301 || a.to != strings.TrimSuffix(path, "/") {
			t.Errorf("%s: %d to %q, want 301 to it without its slash", path, a.status, a.to)
		}
	}
	s.posts("later")
	if page := s.get("/g/boots").body; !strings.Contains(page, `<a href="/g/later">Win boots after all.</a>`) {
		t.Errorf("no link to what comes instead: %s", page)
	}
	s.clock.set(closes.Add(time.Minute))
	s.goes("/desk/g/later", "/desk/g/later/lock")
	s.clock.set(event.Add(10 * time.Second))
	s.goes("/desk/g/later/result", "/desk/g/later/draw")
	s.goes("/desk/g/later", "/desk/g/later/cancel", "reason", "postponed", "seen", "late")
	if r := check(t, s, "later"); r.Verdict != draw.Valid {
		t.Errorf("a drawn giveaway, called off: %q", r.Verdict)
	}
	s.shows("/g/later", "The draw was made: the list was empty.")
}
