package show

import (
	"crypto/hmac"
	"crypto/sha256"
	"fmt"
	"regexp"
	"testing"

	"evenhand/draw"
)

// 256 different words of small letters, each of which comes up: the list is our
// own, no outside source. HMAC is computed here a second time, by the package
// of the standard library, over the bytes that the comment names.
func TestWords(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range wordList {
		if seen[w] || !regexp.MustCompile(`^[a-z]{3,10}$`).MatchString(w) {
			t.Errorf("word %q", w)
		}
		seen[w] = true
	}
	if len(wordList) != 256 {
		t.Fatalf("%d words", len(wordList))
	}
	key := [32]byte{1, 2, 3}
	ticket, err := draw.ReadTicket("K7QF-2M9X-4RTB-W8ZC")
	if err != nil {
		t.Fatal(err)
	}
	mac := hmac.New(sha256.New, key[:])
	fmt.Fprintf(mac, "winner's words\x00boots\x00K7QF2M9X4RTBW8ZC\x00")
	sum := mac.Sum(nil)
	want := wordList[sum[0]] + " " + wordList[sum[1]]
	if got := Words(key, "boots", ticket); got != want {
		t.Errorf("words %q, want %q", got, want)
	}
	if Words(key, "boats", ticket) == want && Words([32]byte{}, "boots", ticket) == want {
		t.Error("neither draw nor key matters")
	}
}
