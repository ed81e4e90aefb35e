package entries

import "strings"

// common are thirty domains in wide use. Common practice, from memory; a
// domain that is missing here only lacks a hint.
var common = []string{
	"gmail.com", "yahoo.com", "hotmail.com", "outlook.com", "aol.com",
	"icloud.com", "me.com", "mac.com", "msn.com", "live.com",
	"comcast.net", "att.net", "verizon.net", "sbcglobal.net", "bellsouth.net",
	"cox.net", "charter.net", "ymail.com", "rocketmail.com", "googlemail.com",
	"proton.me", "protonmail.com", "fastmail.com", "mail.com", "gmx.com",
	"gmx.net", "gmx.de", "web.de", "yahoo.co.uk", "hotmail.co.uk",
}

// reserved is RFC 2606's domain for examples. The hint works for it too, so
// that it can be tried without writing to anybody.
const reserved = "example.com"

// Suggest returns what an address was likely meant to be, if its domain is one
// slip of the finger (a letter too many, missing, wrong, or two swapped) away
// from a common one. It never does so for a domain that is common itself. The
// part before the @ is as typed.
func Suggest(typed string) (string, bool) {
	local, domain, found := cutLast(strings.TrimSpace(typed))
	domain = strings.ToLower(domain)
	if !found || local == "" || domain == reserved {
		return "", false
	}
	suggestion := ""
	for _, d := range append(common[:len(common):len(common)], reserved) {
		if d == domain {
			return "", false
		}
		if suggestion == "" && oneSlip(domain, d) {
			suggestion = local + "@" + d
		}
	}
	return suggestion, suggestion != ""
}

// oneSlip reports whether a becomes b by one insertion, deletion, substitution
// or swap of two neighbours. Equal strings are no slip.
func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	switch len(b) - len(a) {
	case 1:
		return a[i:] == b[i+1:]
	case 0:
		if i == len(a) {
			return false
		}
		swapped := i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
		return swapped || a[i+1:] == b[i+1:]
	}
	return false
}
