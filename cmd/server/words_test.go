package main

import (
	"regexp"
	"strings"
	"testing"
)

// fileWord matches the words of the published files that the house keeps off
// pages for people who are not builders (design, "Words"): each has a plain
// phrase. "Opens" and "closes" are everyday words, and so is "open".
var fileWord = regexp.MustCompile(`(?i)\b(opening|seals?|sealed|roll|rolls|freeze|frozen|freezing|hash|hashes|commitments?|salts?|beacons?|rounds?|seeds?|scores?|records?|outcomes?|excluded|issued|withheld|weak|alternates?|receipts?|quicknet|drand|relays?|canonical|SHA-?256|passed)\b`)

// addressOnPage takes out addresses, keys and what was pasted: anything may
// stand in them.
//
// So do the first line of the secret number's file, which the recovery sheet
// shows byte for byte, and that it is no legal advice.
var addressOnPage = regexp.MustCompile(`https?://\S+|localhost\S+|\{".*?\}|evenhand/seal/v1|no legal advice`)

// claimWord matches words that would call a giveaway good in law: nothing here
// can tell that.
var claimWord = regexp.MustCompile(`(?i)\b(legal|legally|lawful|lawfully|compliant|compliance|conform(s|ing)?)\b`)

// onlyPlainWords looks at every page of the desk that was seen.
func onlyPlainWords(t *testing.T, s *service) {
	t.Helper()
	for _, path := range []string{"/desk", "/desk/w/a-form-that-is-empty", "/desk/file"} {
		s.get(path)
	}
	if len(s.seen) < 5 {
		t.Fatalf("only %d pages of the desk were seen", len(s.seen))
	}
	for _, html := range s.seen {
		text := addressOnPage.ReplaceAllString(textOf(html), "")
		if found := fileWord.FindString(text); found != "" {
			page, _, _ := strings.Cut(html, "<body>")
			t.Errorf("%s says %q: %s", page, found, text)
		}
		if found := claimWord.FindString(text); found != "" {
			t.Errorf("%.60s says %q: %s", html, found, text)
		}
	}
}

// The test of the words can fail.
func TestFileWord(t *testing.T) {
	for _, text := range []string{"the roll is here", "Its hash.", "(seed)"} {
		if !fileWord.MatchString(text) {
			t.Errorf("%q passes", text)
		}
	}
	if !claimWord.MatchString("These rules are legal.") || claimWord.MatchString("Ask a lawyer where you live.") {
		t.Error("words that claim too much are not found")
	}
	if fileWord.MatchString("Entries close, and the list is locked.") {
		t.Error("plain words don't pass")
	}
}
