package web

import (
	"fmt"
	"testing"
	"time"
)

// NIST SP 800-63B, section 5.1.1.2, names the kinds: "repetitive or sequential
// characters (e.g. 'aaaaaa', '1234abcd')" and commonly used ones. The samples
// themselves are from memory.
func TestEasyPhrases(t *testing.T) {
	for _, easy := range []string{
		"aaaaaaaaaaaa", "password1234", "123456789012", "abcdefghijkl", "qwertyuiop123", "1234abcd1234abcd", "abcabcabcabc", "Passw0rd1234!",
		"passwordpassword", "letmeinletmein", "iloveyou1234", "1q2w3e4r5t6y", "administrator", "administrator1", "987654321098", "welcome12345",
		"zyxwvutsrqponm", "111122223333", "            password1", "evenhand2026", "password password 1", "adminadmin123", "aaaaaabbbbbb", "my password is password",
	} {
		if !easyPhrase(easy) {
			t.Errorf("%q is let through", easy)
		}
	}
	for _, good := range []string{
		"three wet boots in a row", "another long one", "the passphrase of Ada", "the passphrase of Ben", "correct horse battery", "walks 14 slow miles",
		"K7QF2M9X4RTB", "moss under the bridge", "ночь улица фонарь", "grünes Moos am Weg",
	} {
		if easyPhrase(good) {
			t.Errorf("%q is refused", good)
		}
	}
}

// When there is no more room, those go that may guess again soonest; who has
// just guessed wrong stays.
func TestGuessesAreBounded(t *testing.T) {
	g := newGuesses()
	at := time.Date(2026, 8, 22, 12, 0, 0, 0, time.UTC)
	for range 3 {
		g.wrong(at, "guesser")
		at = at.Add(time.Minute)
	}
	g.wrong(at, "guesser") // eight seconds to wait
	for i := range 2 * maxGuessed {
		g.wrong(at.Add(-time.Minute), fmt.Sprint(i))
	}
	if n := len(g.byKey); n > maxGuessed {
		t.Errorf("%d keys are kept", n)
	}
	if wait := g.wrong(at, "guesser"); wait != 8*time.Second {
		t.Errorf("after a flood the guesser waits %v, want 8s", wait)
	}
}
