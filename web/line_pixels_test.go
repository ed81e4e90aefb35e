package web

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenhand/internal/browsertest"
)

// chance are n scores of an invented draw, ascending.
func chance(n int) []float64 {
	random := rand.New(rand.NewPCG(3206, uint64(n)))
	all := make([]float64, n)
	for i := range all {
		all[i] = float64(random.Uint32()) / (1 << 32)
	}
	slices.Sort(all)
	return all
}

// drawn lets the browser draw n marks on paper of a size, the line in a part of
// it, scales the whole to a size and packs it as kind with a quality.
func drawnIn(t testing.TB, b *browsertest.Browser, scores []float64, sheet, line image.Rectangle, form string, phase float64, to image.Point, kind string, quality float64) image.Image {
	t.Helper()
	list, err := json.Marshal(scores)
	if err != nil {
		t.Fatal(err)
	}
	url := browsertest.Eval[string](b, fmt.Sprintf(`(() => {
		const canvas = (w, h) => Object.assign(document.createElement("canvas"), {width: w, height: h});
		const line = canvas(%d, %d), sheet = canvas(%d, %d), small = canvas(%d, %d), scores = Float64Array.from(%s);
		document.body.replaceChildren(line);
		drawLine(line, {scores, places: [{rank: 1, score: scores[0], label: scores[0].toFixed(7)}], phase: %v, form: %q});
		const g = sheet.getContext("2d"), s = small.getContext("2d");
		g.fillStyle = "#fbf8f1"; g.fillRect(0, 0, sheet.width, sheet.height); g.drawImage(line, %d, %d);
		s.imageSmoothingQuality = "high"; s.drawImage(sheet, 0, 0, small.width, small.height);
		return small.toDataURL(%q, %v); })()`, line.Dx(), line.Dy(), sheet.Dx(), sheet.Dy(), to.X, to.Y, list, phase, form, line.Min.X, line.Min.Y, kind, quality))
	raw, err := base64.StdEncoding.DecodeString(url[strings.Index(url, ",")+1:])
	if err != nil {
		t.Fatal(err)
	}
	picture, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if folder := os.Getenv("EVENHAND_PICTURES"); folder != "" {
		name := fmt.Sprintf("drawn-%d-%s-%v-%dx%d%s", len(scores), form, phase, to.X, to.Y, strings.Replace(kind, "image/", ".", 1))
		if err := os.WriteFile(filepath.Join(folder, name), raw, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return picture
}

// luminance is the relative luminance of a pixel (WCAG 2.2, "relative luminance").
func luminance(p image.Image, x, y int) float64 {
	r, g, b, _ := p.At(x, y).RGBA()
	part := func(v uint32) float64 {
		c := float64(v) / 0xffff
		if c <= .04045 {
			return c / 12.92
		}
		return math.Pow((c+.055)/1.055, 2.4)
	}
	return .2126*part(r) + .7152*part(g) + .0722*part(b)
}

// contrast is that of WCAG 2.2, "contrast ratio".
func contrast(a, b float64) float64 { return (max(a, b) + .05) / (min(a, b) + .05) }

var (
	stageSheet = image.Rect(0, 0, 1920, 1080)
	stageLine  = image.Rect(110, 400, 1810, 820)
)

// The marks stand where the geometry says, in its colours.
func TestLinePixels(t *testing.T) {
	b := browsertest.New(t)
	scripts(t, b)
	scores := chance(3206)
	p := drawnIn(t, b, scores, stageSheet, stageLine, "wide", 1, stageSheet.Max, "image/png", 1)
	l, end := lineLayoutOf(float64(stageLine.Dx()), float64(stageLine.Dy()), "wide"), lineEnd(scores, 1)
	at := func(score float64) int { return stageLine.Min.X + int(l.at(score, end)) }
	y := stageLine.Min.Y + int(l.Base-l.Low/2)
	want := func(what string, x, y int, r, g, b uint32) {
		t.Helper()
		pr, pg, pb, _ := p.At(x, y).RGBA()
		if pr>>8 != r || pg>>8 != g || pb>>8 != b {
			t.Errorf("%s at %d,%d: got #%02x%02x%02x, want #%02x%02x%02x", what, x, y, pr>>8, pg>>8, pb>>8, r, g, b)
		}
	}
	want("the first mark", at(scores[0]), y, 0xa8, 0x34, 0x1a)
	want("the first mark's top", at(scores[0]), stageLine.Min.Y+int(l.Base-l.High)+2, 0xa8, 0x34, 0x1a)
	want("above the first mark", at(scores[0]), stageLine.Min.Y+int(l.Base-l.High)-2, 0xfb, 0xf8, 0xf1)
	want("the second mark", at(scores[1]), y, 0x1d, 0x1b, 0x18)
	want("between the two", (at(scores[0])+at(scores[1]))/2, y, 0xfb, 0xf8, 0xf1)
	if apart := at(scores[1]) - at(scores[0]); float64(apart) < lineApart*(l.Right-l.Left)-1 {
		t.Errorf("the second mark is %d pixels from the first", apart)
	}
	_, last := inView(scores, end)
	for i := 2; i < last; i++ {
		if lum := luminance(p, at(scores[i]), y); contrast(lum, luminance(p, 5, 5)) < 4.5 {
			t.Errorf("mark %d is not at %d: contrast %.1f", i, at(scores[i]), contrast(lum, luminance(p, 5, 5)))
		}
	}
}

// Two lowest marks that nearly tie are told apart, both in the view: by hand, of
// a line 1700 wide whose letters are 1700/60, the first stands .45 of the scale's
// 1688.67 from 5.67, the second 1/14 further right.
func TestLinePixelsOfANearTie(t *testing.T) {
	b := browsertest.New(t)
	scripts(t, b)
	scores := append([]float64{.3, .30001}, even(40)[13:]...)
	p := drawnIn(t, b, scores, stageSheet, stageLine, "wide", 1, stageSheet.Max, "image/png", 1)
	y := stageLine.Min.Y + int(lineLayoutOf(1700, 420, "wide").Base) - 40
	first, second := 110+765, 110+886
	red := func(x int) bool { r, g, _, _ := p.At(x, y).RGBA(); return r > g+0x3000 }
	dark := func(x int) bool { return luminance(p, x, y) < .1 && !red(x) }
	for x := 120; x < 1800; x++ {
		near := func(at, by int) bool { return x >= at-by && x <= at+by }
		switch {
		case near(first, 2) && !red(x):
			t.Errorf("the first mark is not red at %d: %v", x, p.At(x, y))
		case near(second, 0) && !dark(x):
			t.Errorf("the second mark is not at %d: %v", x, p.At(x, y))
		case !near(first, 7) && !near(second, 4) && luminance(p, x, y) < .8:
			t.Errorf("something else stands at %d: %v", x, p.At(x, y))
		}
	}
}

// After 480p and a JPEG of quality 20, about what a bad stream leaves, the
// first mark and its neighbours still stand out (a floor of 3:1 for what a
// picture has to show: WCAG 2.2, 1.4.11), and the paper between them is clean.
func TestLineAfterABadStream(t *testing.T) {
	b := browsertest.New(t)
	scripts(t, b)
	for _, c := range []struct {
		form        string
		sheet, line image.Rectangle
		to          image.Point
	}{
		{"wide", stageSheet, stageLine, image.Pt(854, 480)},
		{"tall", image.Rect(0, 0, 1080, 1920), image.Rect(90, 690, 990, 1250), image.Pt(480, 854)},
	} {
		for _, n := range []int{60, 3206, 100_000} {
			scores := chance(n)
			p := drawnIn(t, b, scores, c.sheet, c.line, c.form, 1, c.to, "image/jpeg", .2)
			scale := float64(c.to.X) / float64(c.sheet.Dx())
			l, end := lineLayoutOf(float64(c.line.Dx()), float64(c.line.Dy()), c.form), lineEnd(scores, 1)
			at := func(score float64) int { return int(scale * (float64(c.line.Min.X) + l.at(score, end))) }
			y := int(scale * (float64(c.line.Min.Y) + l.Base - l.Low/2))
			darkest := func(x int) float64 {
				return min(luminance(p, x-1, y), luminance(p, x, y), luminance(p, x+1, y))
			}
			between := luminance(p, (at(scores[0])+at(scores[1]))/2, y)
			first, second := contrast(darkest(at(scores[0])), between), contrast(darkest(at(scores[1])), between)
			t.Logf("%s, %d marks: the first mark has a contrast of %.1f, the second %.1f, paper %.1f", c.form, n, first, second, contrast(between, luminance(p, 3, 3)))
			if first < 3 || second < 3 || contrast(between, luminance(p, 3, 3)) > 1.25 {
				t.Errorf("%s, %d marks: that is not enough", c.form, n)
			}
			x := at(scores[0])
			if r, g, _, _ := p.At(x, y).RGBA(); r < g+0x3000 {
				t.Errorf("%s, %d marks: the first mark is not red any more: %v", c.form, n, p.At(x, y))
			}
		}
	}
}

// BenchmarkLineFrame draws the line's frames in headless Chromium, without a
// graphics card, on a canvas as a phone has, 328 by 190 at two pixels each; each frame is
// waited for until its pixels are there.
func BenchmarkLineFrame(b *testing.B) {
	for _, n := range []int{3206, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("marks=%d", n), func(b *testing.B) {
			browser := browsertest.New(b)
			scripts(b, browser)
			browsertest.Eval[bool](browser, fmt.Sprintf(`(() => {
				window.scores = Float64Array.from({length: %d}, () => Math.random()).sort();
				window.line = Object.assign(document.createElement("canvas"), {width: 656, height: 380});
				document.body.replaceChildren(line);
				window.frame = (phase) => { const began = performance.now();
					drawLine(line, {scores, places: [{rank: 1, score: scores[0], label: "0.0000411"}], mine: scores.length >> 1, mineLabel: "yours", phase, form: "narrow"});
					const own = performance.now() - began; line.getContext("2d").getImageData(0, 0, 1, 1); return [own, performance.now() - began]; };
				frame(0); return true; })()`, n))
			var took [2][]float64
			for b.Loop() {
				for _, one := range browsertest.Eval[[][2]float64](browser, "Array.from({length: 60}, (_, i) => frame(i / 59))") {
					took[0], took[1] = append(took[0], one[0]), append(took[1], one[1])
				}
			}
			sum := func(list []float64) (all float64) {
				for _, v := range list {
					all += v
				}
				return all / float64(len(list))
			}
			slices.Sort(took[1])
			b.ReportMetric(sum(took[0]), "ms/script")
			b.ReportMetric(sum(took[1]), "ms/frame")
			b.ReportMetric(took[1][len(took[1])*99/100], "ms-p99")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkLineSVG makes a page's still, and tells its size.
func BenchmarkLineSVG(b *testing.B) {
	for _, n := range []int{3206, 100_000, 1_000_000} {
		scores := chance(n)
		b.Run(fmt.Sprintf("marks=%d", n), func(b *testing.B) {
			var size int
			for b.Loop() {
				size = len(lineSVG(linePicture{Scores: scores, Labels: []string{"0.0000411"}, Mine: n / 2, MineLabel: "yours"}, "strip"))
			}
			b.ReportMetric(float64(size), "bytes")
		})
	}
}
