package web

import (
	"evenhand/sizing"
)

// A chart is bars over a line, drawn by a template beside its table. Its units
// are those of the picture, [chart.W] wide.
type chart struct {
	Name string // what is counted
	W, H int
	Base int // where the line is
	Bars []bar
}

type bar struct {
	Label, Value    string
	X, Y, W, H, Mid int
	ValueY, LabelY  int
}

// How a chart is drawn.
const (
	barStep   = 46
	barWidth  = 30
	barsHigh  = 130
	chartTop  = 24
	chartFoot = 30
)

// sizeChart draws one bar for each half size from the least to the greatest
// that anybody has, so that a gap is seen as one.
func sizeChart(system sizing.System, n map[sizing.Half]int64) chart {
	least, greatest, most := sizing.Half(1000), sizing.Half(0), int64(1)
	for half, count := range n {
		least, greatest, most = min(least, half), max(greatest, half), max(most, count)
	}
	c := chart{Name: capitalized(system.Shown()) + ", all widths", Base: chartTop + barsHigh, H: chartTop + barsHigh + chartFoot}
	for half := least; half <= greatest; half++ {
		high := int(n[half] * barsHigh / most)
		x := len(c.Bars)*barStep + (barStep-barWidth)/2
		c.Bars = append(c.Bars, bar{
			Label: half.Shown(), Value: number(n[half]),
			X: x, Y: c.Base - high, W: barWidth, H: high, Mid: x + barWidth/2,
			ValueY: c.Base - high - 6, LabelY: c.Base + 22,
		})
	}
	c.W = len(c.Bars) * barStep
	return c
}
