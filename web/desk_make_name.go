package web

import "strings"

// The short name of a giveaway stands in its address, which is said aloud and
// typed: it takes few words, and none that says nothing.
const mostNameWords, mostName = 4, 24

// fillers are the words that a short name leaves out.
const fillers = "win a an the one pair set of in on for with your our you size sizes choice free new and to"

// shortName proposes a short name from a heading or a prize: "Win a pair of
// hiking boots in your size." gives hiking-boots. The page's script does the
// same with the same words.
func shortName(words string) string {
	name, n := "", 0
	for _, w := range strings.Split(slug(words, 1000), "-") {
		longer := strings.TrimPrefix(name+"-"+w, "-")
		if isFiller(w) {
			continue
		}
		if n++; n > mostNameWords || len(longer) > mostName {
			break
		}
		name = longer
	}
	return orText(name, slug(words, mostName)) // of fillers alone, or one long word
}

func isFiller(word string) bool {
	return strings.Contains(" "+fillers+" ", " "+word+" ")
}

// Fillers are for the page's script.
func (p termsPage) Fillers() string { return fillers }
