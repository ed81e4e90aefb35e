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

// onPages fits a sentence of the draw's statement into the pages' words: the
// protocol's event is the draw here.
func onPages(s string) string {
	return strings.NewReplacer("the event", "the draw", "the lines marked FAULT", "the lines marked Wrong",
		"cancelled", "called off").Replace(curly(s))
}

// remarkWords say the check's remarks, and the changes that one of them lists,
// in the words of pages. Each pattern is that of one remark of package draw.
var remarkWords = []struct {
	was *regexp.Regexp
	now string
}{
	{regexp.MustCompile(`^revised (\S+): `), "The posted terms were changed on $1. "},
	{regexp.MustCompile(`\bcloses from (\S+) to ([^\s,;]+)[,;]? ?`), "The end of entries was moved from $1 to $2. "},
	{regexp.MustCompile(`\bevent from (\S+) to ([^\s,;]+)[,;]? ?`), "The draw was moved from $1 to $2. "},
	{regexp.MustCompile(`\brules from ([0-9a-f]{64}) to ([0-9a-f]{64})[,;]? ?`), "The rules were changed; those before are kept. "},
	{regexp.MustCompile(`moved after the event: a result may have been tried and dropped[,;]? ?`),
		"That was after the hour set for the draw before: a result may have been tried and dropped. "},
	{regexp.MustCompile(`rules changed after entries closed$`), "That was after entries had closed."},
	{regexp.MustCompile(`^frozen (.+) before the event: hardly anybody can have seen it in time$`),
		"The list was locked only $1 before the draw: hardly anybody can have seen its fingerprint in time."},
	{regexp.MustCompile(`^the beacon's signature was not verified here; its relays have the same$`),
		"The public number’s signature was not checked here; those who hand the number out gave this one."},
	{regexp.MustCompile(`^cancelled when the host could already know the result$`), "It was called off when the host could already know the result."},
	{regexp.MustCompile(`^(\d+) alternates for (\d+) winners: the more places, the more can be passed$`),
		"$1 places are next in line, for $2 to win: the more places, the more can be skipped."},
	{regexp.MustCompile(`^read from (\S+), but signed by (\S+)$`), "The files were read from $1, but they are signed by $2."},
	{regexp.MustCompile(`^the event, (\S+), has come and the list was never frozen$`), "The draw’s time, $1, has come, and the list was never locked."},
	{regexp.MustCompile(`^frozen, but neither drawn nor cancelled 24 hours after the event$`),
		"The list is locked, but 24 hours after the draw’s time it was neither made nor called off."},
	{regexp.MustCompile(`^place (\d+) passed for no reply (\S+) after its turn, less than 24 hours$`),
		"Place $1 was skipped for no answer after less than 24 hours ($2)."},
	{regexp.MustCompile(`^place (\d+) passed and moved on in one step, to place (\d+): its holder could not object$`),
		"Place $1 was skipped and the prize moved on in one step, to place $2: its holder could not object."},
	{regexp.MustCompile(`^not checked: beacon not checked: chain (\S+) is not known here$`),
		"The public number was not checked: the network that makes it, $1, is not known here."},
	{regexp.MustCompile(`^not checked: `), "Not checked: "},
}

// inWords writes a finding for a page. Times are those of the draw's zone.
func inWords(level string, f draw.Finding, zone string) finding {
	text := f.Text
	if f.Level == draw.Remark {
		for _, r := range remarkWords {
			text = r.was.ReplaceAllString(text, r.now)
		}
	}
	text = instants.ReplaceAllStringFunc(strings.TrimSpace(curly(text)), func(s string) string {
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
