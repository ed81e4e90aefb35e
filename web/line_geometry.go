package web

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// The geometry of the line: what is where, and when. static/line.js has the
// same functions under the same names for the moving picture; the tests hold
// both against one table. Scores are parts of one, [0, 1), ascending.
const (
	lineLast    = 0.9     // the shown mark is no further right than this part of the width
	lineApart   = 1. / 14 // the gap after it, as a part of the width
	lineMiddle  = 0.45    // where it stands when 0 is out of view
	lineMargin  = 0.04    // how far from the edge the first of the shown marks stands then, at least
	lineContext = 15      // marks in view after it
	lineWaits   = 0.1     // part of the time before the view begins to close in
	lineMoves   = 0.75    // part of the time in which it does
	lineReveals = 0.88    // part of the time from which the shown marks grow red
)

// A lineView is the part of the scale that is in view: [From, From+Span].
type lineView struct{ From, Span float64 }

// has reports whether a score is in view.
func (v lineView) has(score float64) bool { return v.From <= score && score <= v.From+v.Span }

// lineWhole is all of the scale.
var lineWhole = lineView{Span: 1}

// lineEnd is what is in view at the end: so little that the last of the shown
// marks, the first ones, stands apart from all after it. The view begins at 0
// wherever that can be.
func lineEnd(scores []float64, shown int) lineView {
	n := len(scores)
	if n == 0 {
		return lineWhole
	}
	k := min(max(shown, 1), n)
	own, next := scores[k-1], 1.
	if k < n {
		next = scores[k]
	}
	edge := 1. // between two marks, so that none stands at the edge
	if m := min(k+lineContext, (n+k+1)/2); m < n {
		edge = (scores[m-1] + scores[m]) / 2
	}
	span := min(1, edge, (next-own)/lineApart)
	if span < own/lineLast {
		return lineNear(scores[0], own, next, k == n)
	}
	if span <= 0 {
		return lineWhole
	}
	return lineView{Span: span}
}

// lineNear is the view at the end where the next mark, if there is one, is so
// near that it can't be told apart while 0 is in view: then it begins later,
// with the shown mark at lineMiddle and the gap after it as wide as ever. Where
// the marks before don't fit into that, or the next has the same number, it
// begins at 0 all the same.
func lineNear(first, own, next float64, last bool) lineView {
	span := (next - own) / lineApart
	from := min(own-lineMiddle*span, 1-span)
	if last || span <= 0 || first < from+lineMargin*span {
		return lineView{Span: min(1, own/lineLast)}
	}
	return lineView{max(0, from), span}
}

// lineSpan is how much of the scale is in view at a phase, 0 to 1: all of it
// first, end at last, each moment closer by the same factor but for a soft
// start and stop.
func lineSpan(phase, end float64) float64 {
	t := clamp((phase - lineWaits) / lineMoves)
	return math.Exp(t * t * (3 - 2*t) * math.Log(end))
}

// lineAt is what is in view at a phase. What comes nearer is one point of the
// scale, which stays where it is in the picture.
func lineAt(phase float64, end lineView) lineView {
	span := lineSpan(phase, end.Span)
	if end.Span >= 1 {
		return lineWhole
	}
	return lineView{end.From / (1 - end.Span) * (1 - span), span}
}

// lineReveal is how far the shown marks have grown, 0 to 1.
func lineReveal(phase float64) float64 { return clamp((phase - lineReveals) / (1 - lineReveals)) }

// lineUpper is how visible the upper line, which has all marks, is.
func lineUpper(v lineView) float64 { return clamp((1/v.Span - 1) * 2) }

func clamp(x float64) float64 { return min(1, max(0, x)) }

// lineCloser says at the right end what is in view.
func lineCloser(v lineView) string {
	times, what := 1/v.Span, "the low end, "
	if v.From > 0 {
		what = ""
	}
	switch {
	case times < 1.05:
		return "1"
	case times < 10:
		return what + strconv.FormatFloat(math.Floor(times*10+.5)/10, 'f', -1, 64) + " times closer"
	}
	return what + number(int64(math.Floor(times+.5))) + " times closer"
}

// lineFrom says at the left end where the view begins, to a tenth of what is in
// view.
func lineFrom(v lineView) string {
	figures := int(math.Ceil(1 - math.Log10(v.Span)))
	words := strconv.FormatFloat(v.From, 'f', figures, 64)
	if strings.Trim(words, "0.") == "" {
		return "0"
	}
	return words
}

// A lineLayout is what is where in a picture, in its own units, y downward.
type lineLayout struct {
	Left, Right float64 // of the scale
	Base        float64 // y of the scale
	High, Low   float64 // heights of a shown mark and of any other
	Upper       float64 // y of the upper line
	UpperHigh   float64 // height of its marks
	Thin, Bold  float64 // widths of strokes
	Unit        float64 // size of the letters
}

// lineUnits are how many letter sizes wide each form is.
var lineUnits = map[string]float64{"wide": 60, "tall": 27, "strip": 46, "narrow": 25}

func lineLayoutOf(width, height float64, form string) lineLayout {
	u := width / lineUnits[form]
	l := lineLayout{Left: .2 * u, Right: width - .2*u, Base: height - 1.7*u, Upper: 2.5 * u, UpperHigh: .9 * u,
		Thin: max(1, .1*u), Bold: max(3, .32*u), Unit: u}
	l.High = l.Base - 3.9*u
	l.Low = .55 * l.High
	return l
}

// at is the x of a score in a view.
func (l lineLayout) at(score float64, v lineView) float64 {
	return l.Left + (score-v.From)/v.Span*(l.Right-l.Left)
}

// labelLeft tells whether a label stands left of its mark, since there is no
// room at its right.
func (l lineLayout) labelLeft(x float64, letters int) bool {
	return x+l.Bold+.4*l.Unit+.58*l.Unit*float64(letters) > l.Right
}

// inView is where the ascending scores in view begin and end: [from, to).
func inView(scores []float64, v lineView) (from, to int) {
	from, _ = slices.BinarySearch(scores, v.From)
	to, _ = slices.BinarySearchFunc(scores, v.From+v.Span, func(score, end float64) int {
		if score <= end {
			return -1
		}
		return 1
	})
	return from, to
}

// lineRow is how many letter sizes lie between two rows of labels.
const lineRow = 1.3

// shownHigh is the height of a shown mark whose label stands in a row, -1: in
// none. Each row is lower, so that a mark meets no label of those before it.
func (l lineLayout) shownHigh(row int) float64 {
	if row < 0 {
		return l.Low
	}
	return l.High - lineRow*l.Unit*float64(row)
}

// lineRows are the labels and marks that were placed, from left to right.
type lineRows struct {
	l      lineLayout
	labels [3][][2]float64 // by row
	marks  []lineMark
}

type lineMark struct {
	x   float64
	row int
}

// room is the first row in which the label of a mark meets nothing, -1: none.
func (r *lineRows) room(x float64, letters int) int {
	u, wide := r.l.Unit, r.l.Bold+.4*r.l.Unit+.58*r.l.Unit*float64(letters)
	from := x
	if r.l.labelLeft(x, letters) {
		from = x - wide
	}
	row := 0
	for row < len(r.labels) && r.meets(row, from, from+wide, x) {
		row++
	}
	if row == len(r.labels) || float64(row+1)*lineRow*u > r.l.High-r.l.Low+u {
		r.marks = append(r.marks, lineMark{x, -1})
		return -1
	}
	r.labels[row] = append(r.labels[row], [2]float64{from, from + wide})
	r.marks = append(r.marks, lineMark{x, row})
	return row
}

// meets reports whether a label [from, to) in a row meets another or an earlier
// mark, or its own mark, at x, a label further down.
func (r *lineRows) meets(row int, from, to, x float64) bool {
	for _, m := range r.marks {
		if m.row >= 0 && m.row <= row && from < m.x && m.x < x {
			return true
		}
	}
	for i, taken := range r.labels[row:] {
		for _, t := range taken {
			if i == 0 && from < t[1] && t[0] < to || t[0] < x && x < t[1] {
				return true
			}
		}
	}
	return false
}
