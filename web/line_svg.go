package web

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
)

// A linePicture is a still of the line. Scores are ascending parts of one.
type linePicture struct {
	Scores    []float64
	Labels    []string // of the shown marks, the first ones; their number is how many
	Mine      int      // index of somebody's own mark; -1: none
	MineLabel string
	Around    *lineAround // of a still for a video; nil: the line alone, for a page
}

// A lineAround is what stands around the line in a still for a video.
type lineAround struct {
	Small  string // above the heading
	Ticket string // in groups, the one that came first
}

// A lineForm is the size of a still and where the line stands in it.
type lineForm struct {
	width, height   float64
	left, top, w, h float64 // of the line
	head, ticket    float64 // letters of the heading and of the ticket; 0: neither
	small, headAt   float64 // y of the small text and of the heading's first line
	ticketAt        float64 // y of the ticket
	folded          bool    // the ticket takes two lines
	words           []string
}

var lineForms = map[string]lineForm{
	"strip":  {width: 648, height: 196, w: 648, h: 196},
	"narrow": {width: 328, height: 190, w: 328, h: 190},
	"wide": {width: 1920, height: 1080, left: 110, top: 385, w: 1700, h: 400, head: 76, ticket: 118, small: 111, headAt: 240,
		ticketAt: 985, words: []string{"Every ticket has its own number.", "The smallest comes first."}},
	"tall": {width: 1080, height: 1920, left: 90, top: 690, w: 900, h: 560, head: 76, ticket: 118, small: 200, headAt: 330,
		ticketAt: 1450, words: []string{"Every ticket", "has its own number.", "The smallest", "comes first."}, folded: true},
}

const (
	lineSans  = "system-ui, -apple-system, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif"
	lineSerif = "'Iowan Old Style', 'Palatino Linotype', Palatino, P052, 'URW Palladio L', Georgia, serif"
	lineMono  = "ui-monospace, 'SF Mono', Menlo, Consolas, 'DejaVu Sans Mono', monospace"
)

// lineDark is the only style of a page's still. The policy of its answer names
// it; see [inlineHash].
const lineDark = `@media (prefers-color-scheme: dark) { .i { fill: #ece6da } .s { fill: #b3aa9b } .l { stroke: #b3aa9b } .p { fill: #9dbbe8 } .r { fill: #f0947a } }`

// An svg is written piece by piece.
type svg struct{ bytes.Buffer }

func (b *svg) add(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }

// rect is a filled mark standing on y.
func (b *svg) rect(class string, x, y, wide, high float64) {
	b.add(`<path class="%s" fill="%s" d="M%.2f %.2fh%.2fv%.2fh-%.2fz"/>`, class, lineInk[class], x-wide/2, y-high, wide, high, wide)
}

func (b *svg) text(class, anchor, family string, size, x, y float64, words string) {
	var safe bytes.Buffer
	_ = xml.EscapeText(&safe, []byte(words)) // a buffer takes everything
	b.add(`<text class="%s" fill="%s" font-family="%s" font-size="%.1f" text-anchor="%s" x="%.1f" y="%.1f"%s>%s</text>`,
		class, lineInk[class], family, size, anchor, x, y, map[bool]string{true: ` font-weight="bold"`}[family != lineSans], safe.String())
}

var lineInk = map[string]string{"i": "#1d1b18", "s": "#5b5449", "p": "#1f3f6e", "r": "#a8341a"}

// lineSVG draws a still: the view as it is at the end and, above it, the line
// with all marks. A form that is not there is an empty still.
func lineSVG(p linePicture, form string) []byte {
	f, b := lineForms[form], &svg{}
	b.add(`<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f">`, f.width, f.height, f.width, f.height)
	if p.Around == nil {
		b.add(`<style>%s</style>`, lineDark)
	} else {
		b.add(`<path fill="#fbf8f1" d="M0 0h%.0fv%.0fh-%.0fz"/>`, f.width, f.height, f.width)
		b.around(f, *p.Around)
	}
	l, x := lineLayoutOf(f.w, f.h, form), 0.
	if p.Around != nil {
		x = f.left - l.Left // the scale begins where the words do
	}
	b.add(`<g transform="translate(%.1f %.0f)">`, x, f.top)
	b.line(p, l)
	b.add("</g>\n</svg>")
	return b.Bytes()
}

// around writes what a still for a video says.
func (b *svg) around(f lineForm, a lineAround) {
	size := min(34, f.w/(.6*float64(len([]rune(a.Small)))))
	b.text("s", "start", lineSans, size, f.left, f.small, a.Small)
	for i, words := range f.words {
		b.text("i", "start", lineSerif, f.head, f.left, f.headAt+float64(i)*f.head*1.15, words)
	}
	b.text("s", "start", lineSans, 34, f.left, f.ticketAt-f.ticket*1.1, "First")
	rest, y := a.Ticket, f.ticketAt
	if f.folded {
		b.text("i", "start", lineMono, f.ticket, f.left, y, rest[:10])
		rest, y = rest[10:], y+f.ticket*1.15
	}
	last := len(rest) - 4
	b.add(`<text fill="%s" font-family="%s" font-size="%.0f" font-weight="bold" x="%.0f" y="%.0f">%s<tspan fill="%s">%s</tspan></text>`,
		lineInk["i"], lineMono, f.ticket, f.left, y, rest[:last], lineInk["r"], rest[last:])
}

// line draws the upper line with all marks and the closer view below it.
func (b *svg) line(p linePicture, l lineLayout) {
	view := lineEnd(p.Scores, len(p.Labels))
	upper := lineUpper(view)
	if upper > 0 {
		b.upper(p, l, view, upper)
	}
	b.marks("i", p.Scores, l, view, l.Base, l.Low)
	if p.Mine >= len(p.Labels) && view.has(p.Scores[p.Mine]) {
		x := l.at(p.Scores[p.Mine], view)
		b.rect("p", x, l.Base, l.Bold*.7, l.Low*1.3)
		if upper < 1 {
			b.beside("p", l, p.MineLabel, x, l.Base-1.12*l.Low)
		}
	}
	b.shown(p, l, view)
	b.rect("i", (l.Left+l.Right)/2, l.Base+max(1, l.Thin*.75), l.Right-l.Left, max(1, l.Thin*.75))
	b.text("s", "start", lineSans, l.Unit, l.Left, l.Base+1.35*l.Unit, lineFrom(view))
	b.text("s", "end", lineSans, l.Unit, l.Right, l.Base+1.35*l.Unit, lineCloser(view))
}

func (b *svg) upper(p linePicture, l lineLayout, view lineView, alpha float64) {
	b.add(`<g opacity="%.2f">`, alpha)
	b.marks("s", p.Scores, l, lineWhole, l.Upper, l.UpperHigh)
	b.rect("s", (l.Left+l.Right)/2, l.Upper+max(1, l.Thin/2), l.Right-l.Left, max(1, l.Thin/2))
	to := l.Base - l.High - .35*l.Unit
	b.add(`<path class="l" fill="none" stroke="%s" stroke-width="%.2f" d="M%.2f %.2fL%.2f %.2fM%.2f %.2fL%.2f %.2f"/>`,
		lineInk["s"], max(1, l.Thin/2), l.at(view.From, lineWhole), l.Upper, l.Left, to, l.at(view.From+view.Span, lineWhole), l.Upper, l.Right, to)
	if p.Mine >= 0 {
		x := l.at(p.Scores[p.Mine], lineWhole)
		b.rect("p", x, l.Upper, l.Bold*.7, 1.5*l.UpperHigh)
		if x > (l.Left+l.Right)/2 {
			b.text("p", "end", lineSans, l.Unit, x+l.Bold/2, l.Upper-1.8*l.UpperHigh, p.MineLabel)
		} else {
			b.text("p", "start", lineSans, l.Unit, x-l.Bold/2, l.Upper-1.8*l.UpperHigh, p.MineLabel)
		}
	}
	b.add(`</g>`)
}

// shown draws the first marks, thick and red, each with its label where there
// is room for one.
func (b *svg) shown(p linePicture, l lineLayout, view lineView) {
	rows := lineRows{l: l}
	for i, label := range p.Labels {
		if i >= len(p.Scores) || !view.has(p.Scores[i]) {
			break
		}
		x := l.at(p.Scores[i], view)
		row := rows.room(x, len([]rune(label)))
		b.rect("r", x, l.Base, l.Bold, l.shownHigh(row))
		if row >= 0 {
			b.beside("r", l, label, x, l.Base-l.shownHigh(row)+.75*l.Unit)
		}
	}
}

func (b *svg) beside(class string, l lineLayout, words string, x, y float64) {
	by := l.Bold/2 + .4*l.Unit
	if l.labelLeft(x, len([]rune(words))) {
		b.text(class, "end", lineSans, l.Unit, x-by, y, words)
		return
	}
	b.text(class, "start", lineSans, l.Unit, x+by, y, words)
}

// lineShades is how many strengths of ink a dense line has.
const lineShades = 12

// marks draws all marks in view, standing on y: each where it is while they are
// few, otherwise the columns that they cover, in as many strengths.
func (b *svg) marks(class string, scores []float64, l lineLayout, view lineView, y, high float64) {
	var paths [lineShades + 1]bytes.Buffer
	from, to := inView(scores, view)
	if scores = scores[from:to]; float64(len(scores))*l.Thin < .3*(l.Right-l.Left) {
		for _, s := range scores {
			fmt.Fprintf(&paths[lineShades], "M%.2f %.2fh%.2fv%.2fh-%.2fz", l.at(s, view)-l.Thin/2, y-high, l.Thin, high, l.Thin)
		}
	} else {
		lineColumns(&paths, scores, l, view, y, high)
	}
	for shade, d := range paths {
		if d.Len() > 0 {
			b.add(`<path class="%s" fill="%s" fill-opacity="%.2f" d="%s"/>`, class, lineInk[class], float64(shade)/lineShades, d.Bytes())
		}
	}
}

// lineMany is of how many marks in view each is drawn for itself; of more, some
// stand for those beside them too. At fifty marks a column nobody sees it.
const lineMany = 65536

// lineColumns fills columns one unit wide by how much of each the marks cover.
func lineColumns(paths *[lineShades + 1]bytes.Buffer, scores []float64, l lineLayout, view lineView, y, high float64) {
	covered := make([]float64, int(l.Right)+int(l.Thin)+2)
	step := max(1, (len(scores)+lineMany-1)/lineMany)
	for i := step / 2; i < len(scores); i += step {
		x := max(0, l.at(scores[i], view)-l.Thin/2)
		for left := l.Thin; left > 1e-9; {
			part := min(math.Floor(x)+1-x, left)
			covered[int(x)] += part * float64(step)
			x, left = math.Floor(x)+1, left-part
		}
	}
	full := max(1, 1.4*float64(len(scores))*l.Thin/(l.Right-l.Left))
	for from := 0; from < len(covered); {
		shade := lineShade(covered[from], full)
		to := from + 1
		for to < len(covered) && lineShade(covered[to], full) == shade {
			to++
		}
		if shade > 0 {
			fmt.Fprintf(&paths[shade], "M%d %.1fh%dv%.1fh-%dz", from, y-high, to-from, high, to-from)
		}
		from = to
	}
}

// lineShade is the strength of a column; what is covered at all is seen.
func lineShade(covered, full float64) int {
	if covered == 0 {
		return 0
	}
	return max(1, int(math.Round(lineShades*min(1, covered/full))))
}
