package web

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// common are words that commonly used passphrases of 12 characters and more
// are made of. From memory: no list of stolen ones is kept here.
var common = []string{
	"password", "passw0rd", "passphrase", "passwort", "letmein", "welcome", "admin", "administrator", "qwerty", "qwertz", "azerty",
	"iloveyou", "changeme", "secret", "default", "trustno", "monkey", "dragon", "football", "baseball", "superman", "sunshine", "princess",
	"master", "login", "hello", "evenhand", "giveaway", "test", "guest", "user", "root", "abc", "xyz", "the", "my", "is", "me", "you", "i",
}

// runs are what hands and heads follow in order.
var runs = []string{
	"01234567890123456789", "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz",
	"qwertyuiopasdfghjklzxcvbnm", "qwertzuiopasdfghjklyxcvbnm", "azertyuiopqsdfghjklmwxcvbn",
	"1q2w3e4r5t6y7u8i9o0p", "1qaz2wsx3edc4rfv5tgb6yhn7ujm", "qazwsxedcrfvtgbyhnujm",
}

// easyPhrase reports whether a passphrase is what is expected first: a common
// one, a repeat or a sequence (NIST SP 800-63B, section 5.1.1.2: compare with
// commonly used, repetitive and sequential ones). It takes away what is common
// and looks whether enough is left.
func easyPhrase(phrase string) bool {
	left := strings.ToLower(strings.Join(strings.Fields(phrase), ""))
	if repeats(left) || distinct(left) < 5 {
		return true
	}
	left = withoutRuns(left)
	for _, word := range byLength {
		left = strings.ReplaceAll(left, word, " ")
	}
	return utf8.RuneCountInString(strings.Trim(left, " .,!?-_*#@$0123456789")) < 4
}

// byLength are the common words, the longest first.
var byLength = slices.SortedStableFunc(slices.Values(common), func(a, b string) int { return len(b) - len(a) })

// repeats reports whether a text is one piece over and over, the last time
// perhaps cut off, and the piece no more than half of it.
func repeats(text string) bool {
	for n := 1; n <= len(text)/2 && n < 8; n++ {
		if strings.Repeat(text[:n], len(text)/n+1)[:len(text)] == text {
			return true
		}
	}
	return false
}

func distinct(text string) int {
	seen := map[rune]bool{}
	for _, r := range text {
		seen[r] = true
	}
	return len(seen)
}

// withoutRuns takes out four and more characters in a row that stand so in a run,
// forwards or backwards, and three and more of one kind.
func withoutRuns(text string) string {
	all := []rune(text)
	var left []rune
	for i := 0; i < len(all); {
		n := 1
		for i+n < len(all) && inOrder(all[i:i+n+1]) {
			n++
		}
		if n < 3 || n == 3 && all[i] != all[i+1] {
			left = append(left, all[i])
			n = 1
		}
		i += n
	}
	return string(left)
}

func inOrder(piece []rune) bool {
	back := slices.Clone(piece)
	slices.Reverse(back)
	same := strings.Count(string(piece), string(piece[:1])) == len(piece)
	return same || slices.ContainsFunc(runs, func(run string) bool {
		return strings.Contains(run, string(piece)) || strings.Contains(run, string(back))
	})
}
