package show

import (
	"strings"
	"testing"
)

// Which names are marked, and which are not: cases of our own, no outside
// source. A mark stops nothing; it asks the host to look.
func TestMarks(t *testing.T) {
	for _, name := range []string{"Robin", "Robin L.", "J. R. O’Neil Jr.", "Ренée 川", "Cassandra Hancock", "Dickinson", "Matsushita", "Anna-Lena", "Ольга", "Robin 2", "Scunthorpe United", "Penistone Pete", "Assia", "Class of 99", "Keiko", "Kai", "Kim", "Karl-Heinz", "Xavier", "Con O’Brien", "Aslı", "Ås", "Nigel", "Niger", ""} {
		if name == "Ренée 川" {
			continue // below: it mixes alphabets
		}
		if got := Marks(name); got != nil {
			t.Errorf("%q is marked: %q", name, got)
		}
	}
	for name, want := range map[string]string{
		"see slow-miles.example":     "link",
		"slowmiles dot com":          "link",
		"robin@home":                 "link",
		"12 Harbour Street":          "link",
		"call 555 0100 22":           "long number",
		"Ренée 川":                    "alphabets",
		"Rоbin":                      "alphabets", // its o is Cyrillic
		turned("fuvg")[0]:            "hurt",
		"5h1t":                       "hurt",
		turned("FUVG fuvg")[1] + "s": "hurt",
		"S.h.i.t":                    "hurt",
		"shiiit":                     "hurt",
		"Shît":                       "hurt",
		"a s s":                      "hurt",
		"\u3164":                     "no letter", // blank letters, as the Unicode Character Database has them
		"\u115f \uffa0":              "no letter",
		"\u2800\u2800":               "no letter", // the empty braille pattern
		"…":                          "no letter",
	} {
		if got := strings.Join(Marks(name), "; "); !strings.Contains(got, want) {
			t.Errorf("%q is marked %q, want %q", name, got, want)
		}
	}
	for _, list := range [][]string{rudeStems, rudeWords} {
		for _, w := range list {
			if w == "" || strings.ToLower(w) != w || rude(w) != w || rude("x "+w+" x") != w {
				t.Errorf("the list's own word %q is not found", w)
			}
		}
	}
}
