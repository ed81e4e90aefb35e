package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"

	"evenhand/internal/browsertest"
)

// even are n scores, each in the middle of its n-th part of the scale.
func even(n int) []float64 {
	all := make([]float64, n)
	for i := range all {
		all[i] = (float64(i) + .5) / float64(n)
	}
	return all
}

// gapped are .0005, then .002, .003 and so on.
func gapped(n int) []float64 {
	all := []float64{.0005}
	for i := 1; i < n-1; i++ {
		all = append(all, float64(i+1)/1000)
	}
	return all
}

// How much of the scale is in view at the end. Worked out by hand from the
// rules at lineEnd: the gap after the shown marks is 1/14 of the width, 15
// marks or half of the rest are in view after them, a mark is no further right
// than 0.9 of the width. Where gap and 0 can't both be in view, the mark stands
// at 0.45 of a width that is 14 gaps, as long as that doesn't reach beyond 1 and
// the shown marks before it stand 0.04 of the width from the edge, at least.
var lineEnds = []struct {
	name   string
	scores []float64
	shown  int
	from   float64
	want   float64
}{
	{"no tickets", []float64{}, 1, 0, 1},
	{"one ticket", []float64{.25}, 1, 0, 1},
	{"one ticket at the high end", []float64{.95}, 1, 0, 1},
	{"two tickets far apart", []float64{.1, .5}, 1, 0, 1},
	{"ten: six in view, the edge halfway to the seventh", even(10), 1, 0, .6},
	{"ten with three shown: seven in view", even(10), 3, 0, .7},
	{"a thousand evenly: the gap decides", even(1000), 1, 0, .014},
	{"a thousand after a gap: sixteen in view", gapped(1000), 1, 0, .0165},
	{"the gap decides: 14 times 0.01", []float64{.01, .02, .5, .6, .7, .8, .9}, 1, 0, .14},
	{"a near tie: 0.5 less 0.45 of 0.014", []float64{.5, .501, .6, .7}, 1, .4937, .014},
	{"a near tie of small numbers: 0.001 less 0.45 of 0.00014", []float64{.001, .00101, .6, .7}, 1, .000937, .00014},
	{"a near tie at the high end: up to 1", []float64{.9, .96, .99}, 1, .16, .84},
	{"a near tie of the second, the first near enough", []float64{.499, .5, .501, .6, .7}, 2, .4937, .014},
	{"a near tie of the second, the first too far away: 0.5 at 0.9 of the width", []float64{.1, .5, .501, .6, .7}, 2, 0, .5 / .9},
	{"a tie", []float64{.45, .45, .6, .7}, 1, 0, .5},
	{"two at zero", []float64{0, 0}, 1, 0, 1},
	{"more shown than there are", []float64{.1, .5}, 9, 0, 1},
}

// What is in view while it closes in on .4937 to .5077, by hand: the point that
// stays where it is, .4937 / (1 - .014), and the spans as below.
var lineNears = []struct{ phase, from, span float64 }{
	{0, 0, 1}, {.475, .4937 / .986 * (1 - 0.11832159566199232), 0.11832159566199232}, {1, .4937, .014}, // the square root of .014
}

// Phases, by hand: the view rests until 0.1, moves until 0.85; t*t*(3-2t) is
// 5/32 at t = 1/4 and 1/2 at t = 1/2, of a logarithm.
var lineSpans = []struct{ phase, end, want float64 }{
	{0, .01, 1}, {.1, .01, 1}, {.475, .01, .1}, {.85, .01, .01}, {1, .01, .01},
	{.2875, 1 / float64(1<<32), 1. / 32}, {.5, 1, 1}, {-1, .5, 1}, {2, .5, .5},
}

var lineReveal3 = []struct{ phase, want float64 }{{0, 0}, {.88, 0}, {.94, .5}, {1, 1}}

var lineClosers = []struct {
	from, span float64
	want, left string
}{
	{0, 1, "1", "0"}, {0, .96, "1", "0"}, {0, .5, "the low end, 2 times closer", "0"}, {0, .26, "the low end, 3.8 times closer", "0"}, {0, .1, "the low end, 10 times closer", "0"},
	{0, 1. / 120, "the low end, 120 times closer", "0"}, {0, 1 / 8312.4, "the low end, 8,312 times closer", "0"},
	{.4937, .014, "71 times closer", "0.494"}, {.16, .84, "1.2 times closer", "0.16"}, {.004, .98, "1", "0"},
}

// A canvas of 1680 by 420, wide: letters are 1680/60 = 28.
var lineWide = lineLayout{Left: 5.6, Right: 1674.4, Base: 372.4, High: 263.2, Low: 144.76, Upper: 70, UpperHigh: 25.2, Thin: 2.8, Bold: 8.96, Unit: 28}

// alike compares what two machines' logarithms may differ in.
func alike(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1, math.Abs(b)) }

// scripts serves a page that has the line's script alone.
func scripts(t testing.TB, b *browsertest.Browser) {
	t.Helper()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/line.js" {
			w.Header().Set("Content-Type", "text/javascript")
			w.Write(loadAssets()["line.js"].bytes)
			return
		}
		fmt.Fprint(w, `<!doctype html><meta charset="utf-8"><title>Line</title><link rel="icon" href="data:,"><body style="margin:0;font-family:sans-serif"><script src="/line.js"></script>`)
	}))
	t.Cleanup(server.Close)
	b.Open(server.URL)
}

// The geometry in Go and in JavaScript against one table.
func TestLineGeometry(t *testing.T) {
	b := browsertest.New(t)
	scripts(t, b)
	js := func(format string, args ...any) float64 {
		return browsertest.Eval[float64](b, "evenhandLine.geometry."+fmt.Sprintf(format, args...))
	}
	same := func(name string, inGo, inJS, want float64) {
		t.Helper()
		if !alike(inGo, want) || !alike(inJS, want) {
			t.Errorf("%s: Go has %v, JavaScript %v, want %v", name, inGo, inJS, want)
		}
	}
	for _, c := range lineEnds {
		list, err := json.Marshal(c.scores)
		if err != nil {
			t.Fatal(err)
		}
		end := lineEnd(c.scores, c.shown)
		same(c.name, end.Span, js("end(%s, %d).span", list, c.shown), c.want)
		same(c.name+", from", end.From, js("end(%s, %d).from", list, c.shown), c.from)
	}
	for _, c := range lineSpans {
		same(fmt.Sprint("span ", c), lineSpan(c.phase, c.end), js("span(%v, %v)", c.phase, c.end), c.want)
	}
	for _, c := range lineNears {
		view := lineAt(c.phase, lineView{.4937, .014})
		same(fmt.Sprint("span of ", c), view.Span, js("viewAt(%v, {from: .4937, span: .014}).span", c.phase), c.span)
		same(fmt.Sprint("from of ", c), view.From, js("viewAt(%v, {from: .4937, span: .014}).from", c.phase), c.from)
	}
	for _, c := range lineReveal3 {
		same(fmt.Sprint("reveal ", c), lineReveal(c.phase), js("reveal(%v)", c.phase), c.want)
	}
	for _, c := range lineClosers {
		view := fmt.Sprintf("({from: %v, span: %v})", c.from, c.span)
		got, inGo := browsertest.Eval[string](b, "evenhandLine.geometry.closer"+view), lineView{c.from, c.span}
		if lineCloser(inGo) != c.want || got != c.want {
			t.Errorf("closer %v: Go has %q, JavaScript %q, want %q", c, lineCloser(inGo), got, c.want)
		}
		if got := browsertest.Eval[string](b, "evenhandLine.geometry.fromWords"+view); lineFrom(inGo) != c.left || got != c.left {
			t.Errorf("the left end of %v: Go has %q, JavaScript %q, want %q", c, lineFrom(inGo), got, c.left)
		}
	}
	inGo, inJS := lineLayoutOf(1680, 420, "wide"), browsertest.Eval[map[string]float64](b, "evenhandLine.geometry.layout(1680, 420, 'wide')")
	for name, pair := range map[string][2]float64{"left": {inGo.Left, lineWide.Left}, "right": {inGo.Right, lineWide.Right}, "base": {inGo.Base, lineWide.Base},
		"high": {inGo.High, lineWide.High}, "low": {inGo.Low, lineWide.Low}, "upper": {inGo.Upper, lineWide.Upper}, "upperHigh": {inGo.UpperHigh, lineWide.UpperHigh},
		"thin": {inGo.Thin, lineWide.Thin}, "bold": {inGo.Bold, lineWide.Bold}, "unit": {inGo.Unit, lineWide.Unit}} {
		same(name, pair[0], inJS[name], pair[1])
	}
	for form := range lineUnits {
		same(form, lineLayoutOf(900, 300, form).Unit, js("layout(900, 300, %q).unit", form), 900/lineUnits[form])
	}
	same("the middle", inGo.at(.5, lineWhole), js("at(evenhandLine.geometry.layout(1680, 420, 'wide'), .5, {from: 0, span: 1})"), 840)
	for _, x := range []float64{5.6, 900, 1540, 1560, 1674} { // "0.0000411" has 9 letters: 8.96 + 11.2 + 146.16 wide, so up to 1508.08
		want := x > 1508.08
		got := browsertest.Eval[bool](b, fmt.Sprintf("evenhandLine.geometry.labelLeft(evenhandLine.geometry.layout(1680, 420, 'wide'), %v, 9)", x))
		if inGo.labelLeft(x, 9) != want || got != want {
			t.Errorf("a label at %v: left in Go %v, in JavaScript %v, want %v", x, inGo.labelLeft(x, 9), got, want)
		}
	}
	for _, c := range lineLabels {
		rows, marks := lineRows{l: lineWide}, []int{}
		for _, x := range c.x {
			marks = append(marks, rows.room(x, 9))
		}
		list, _ := json.Marshal(c.x)
		got := browsertest.Eval[[]int](b, fmt.Sprintf("(() => { const row = evenhandLine.geometry.rows(evenhandLine.geometry.layout(1680, 420, 'wide')); return %s.map((x) => row(x, 9)); })()", list))
		if !slices.Equal(marks, c.want) || !slices.Equal(got, c.want) {
			t.Errorf("labels at %v: rows in Go %v, in JavaScript %v, want %v", c.x, marks, got, c.want)
		}
	}
	same("a mark of the third row", inGo.shownHigh(2), js("shownHigh(evenhandLine.geometry.layout(1680, 420, 'wide'), 2)"), 263.2-2*36.4)
	same("a mark without label", inGo.shownHigh(-1), js("shownHigh(evenhandLine.geometry.layout(1680, 420, 'wide'), -1)"), 144.76)
}

// Rows of labels of nine letters, which are 166.32 wide, worked out by hand.
var lineLabels = []struct {
	x    []float64
	want []int
}{
	{[]float64{100, 300, 500}, []int{0, 0, 0}},
	// 100 reaches to 266.32; a mark at 300 with its label in row 0 would cut
	// through the labels of 200 and 250, and 250 reaches to 416.32
	{[]float64{100, 200, 250, 260, 300, 420}, []int{0, 1, 2, -1, -1, 0}},
	{[]float64{100, 1600, 1650}, []int{0, 0, -1}}, // from 1508.08 on a label stands left of its mark, and would meet the mark of 1600
}
