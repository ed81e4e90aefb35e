package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// thousands writes a number with commas: 1,204.
func thousands(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// many writes a number with its noun: "one ticket", "1,204 tickets".
func many(n int64, one, more string) string {
	switch n {
	case 0:
		return "no " + more
	case 1:
		return "one " + one
	}
	return thousands(n) + " " + more
}

// peopleIn is the sentence that the desk's headings begin with.
func peopleIn(n int64) string {
	switch n {
	case 0:
		return "Nobody is in yet."
	case 1:
		return "One person is in."
	}
	return thousands(n) + " people are in."
}

// inWords writes a stretch of time roughly, for waiting.
func inWords(d time.Duration) string {
	s := int64(d / time.Second)
	switch {
	case s < 2:
		return "in a second"
	case s < 120:
		return fmt.Sprintf("in %d seconds", s)
	case s < 2*3600:
		return fmt.Sprintf("in %d minutes", s/60)
	case s < 48*3600:
		return fmt.Sprintf("in %d hours", s/3600)
	}
	return fmt.Sprintf("in %d days", s/86400)
}

// capital writes a sentence's first letter large.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
