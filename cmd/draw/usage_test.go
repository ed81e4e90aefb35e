package main

import (
	"strings"
	"testing"

	"evenhand/giveaway"
)

// The terms in the help must be terms.
func TestTermsInHelp(t *testing.T) {
	_, example, ok := strings.Cut(openUsage, "Terms, in short (times also take \"utc\"):\n\n")
	example, _, _ = strings.Cut(example, "\n\n")
	if !ok {
		t.Fatal("the help of draw open shows no terms")
	}
	terms, err := giveaway.ReadTerms(strings.NewReader(example))
	if err != nil || terms.Draw != "trail-boots" {
		t.Errorf("got %q, %v", terms.Draw, err)
	}
}

// Every command is listed, and its help begins with its own form, is not wider
// than a terminal and shows an example.
func TestHelp(t *testing.T) {
	n := 0
	for line := range strings.SplitSeq(usage, "\n") {
		name, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		cmd, help := commands(name)
		if cmd == nil || !strings.HasPrefix(line, "    ") {
			continue
		}
		n++
		if !strings.HasPrefix(help, "usage: draw "+name+" ") || !strings.Contains(help, "\n    $ draw "+name+" ") {
			t.Errorf("help of %s shows no use or no example", name)
		}
		for line := range strings.SplitSeq(help, "\n") {
			if len([]rune(line)) > 100 {
				t.Errorf("help of %s has a line of %d characters", name, len([]rune(line)))
			}
		}
	}
	if n != 11 {
		t.Errorf("%d commands are listed, want 11", n)
	}
}
