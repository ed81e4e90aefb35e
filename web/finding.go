package web

import (
	"regexp"
	"strings"
	"time"

	"evenhand/draw"
)

// A finding is one line of the check, in words.
type finding struct {
	Level string // the plain word
	draw.Finding
	Parts []part // its text
}

// A part of a text: words, or a hash, which is set apart.
type part struct {
	Text string
	Hash bool
}

var (
	hashes   = regexp.MustCompile(`\b[0-9a-f]{64}\b`)
	instants = regexp.MustCompile(`\b[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z`)
	straight = regexp.MustCompile(`([A-Za-z0-9])'`)
)

// curly sets the typewriter's apostrophes of a sentence as pages have them.
func curly(s string) string { return straight.ReplaceAllString(s, "$1’") }

// onPages fits a sentence of the draw's statement into the pages' words.
func onPages(s string) string { return draw.OnPages(curly(s)) }

// inWords writes a finding for a page. Times are those of the draw's zone.
func inWords(level string, f draw.Finding, zone string) finding {
	text := instants.ReplaceAllStringFunc(curly(f.InWords()), func(s string) string {
		at, err := time.Parse(time.RFC3339, s)
		if err != nil {
			return s
		}
		return stamp("", at, zone).Words
	})
	return finding{level, f, parted(text)}
}

// parted sets the hashes of a text apart.
func parted(text string) []part {
	var out []part
	from := 0
	for _, at := range hashes.FindAllStringIndex(text, -1) {
		if at[0] > from {
			out = append(out, part{Text: text[from:at[0]]})
		}
		out = append(out, part{text[at[0]:at[1]], true})
		from = at[1]
	}
	if from < len(text) {
		out = append(out, part{Text: text[from:]})
	}
	return out
}

// findings parts the check's lines into what there is to know or is wrong, and
// what fits. Why a draw is weak stands on top of the page, once.
func findings(r draw.Report, zone string) (wrong, fit []finding) {
	for _, f := range r.Findings {
		switch {
		case f.Level == draw.OK:
			fit = append(fit, inWords("Fits", f, zone))
		case f.Level == draw.Fault:
			wrong = append(wrong, inWords("Wrong", f, zone))
		case !strings.HasPrefix(f.Text, "weak: "):
			wrong = append(wrong, inWords("To know", f, zone))
		}
	}
	return wrong, fit
}
