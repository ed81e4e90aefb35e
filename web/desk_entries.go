package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// An entriesPage counts the entries, and shows what was answered to the
// creator's own questions. It holds no address and no name.
type entriesPage struct {
	Frame
	ID     string
	Head   string
	Lead   string
	Out    []counted // why tickets are not in the draw
	Charts []chart   // by size, one for each system
	Sizes  []counted // the table beside them, with widths
	Counts entries.Counts
	Came   []counted // by which door, where not all came by the form
	Asked  []answered
	Open   bool // more can be brought in
}

type counted struct {
	Name string
	N    string
}

// doorWords say by which door tickets came.
var doorWords = map[string]string{
	entries.OriginForm: "By the form", entries.OriginFile: "Brought in from a file", entries.OriginPaper: "Typed in from cards or letters",
}

// outReasons is the order in which reasons are counted up.
var outReasons = []string{draw.Withdrawn, draw.Duplicate, draw.Region, draw.Ineligible, draw.Unconfirmed}

func (d *desk) getEntries(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	counts, err := d.cfg.Desk.Counts(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	p := entriesPage{Frame: d.frame(g, "Entries", now(c)), ID: g.ID, Counts: counts, Head: peopleIn(counts.In)}
	p.Lead = capitalized(many(counts.Issued, "ticket was", "tickets were")) + " handed out"
	if out := counts.Issued - counts.In; out > 0 {
		p.Lead += "; " + many(out, "of them is", "of them are") + " not in the draw"
	}
	p.Lead += "."
	if !g.Erased.IsZero() {
		p.Lead += " What people entered was deleted, sizes and answers too; the tickets stay."
	}
	for _, reason := range outReasons {
		if n := counts.ByReason[reason]; n > 0 {
			p.Out = append(p.Out, counted{capitalized(reasonWords[reason]), number(n)})
		}
	}
	if counts.ByOrigin[entries.OriginForm] < counts.Issued {
		for _, o := range []string{entries.OriginForm, entries.OriginFile, entries.OriginPaper} {
			p.Came = append(p.Came, counted{doorWords[o], number(counts.ByOrigin[o])})
		}
	}
	if p.Asked, err = d.answers(c, g); err != nil {
		return err
	}
	p.Open = g.State == giveaway.StateOpen && d.cfg.Desk.Door != nil
	p.bySize()
	return d.render(c, http.StatusOK, "desk_entries", p)
}

// bySize makes a chart for each system, all widths together, and the table.
func (p *entriesPage) bySize() {
	byNumber := map[sizing.System]map[sizing.Half]int64{}
	var sizes []sizing.Size
	names := map[sizing.Size]int64{}
	for text, n := range p.Counts.BySize {
		s, ok := readSize(text)
		if !ok {
			continue // no size: something without sizes
		}
		if byNumber[s.System] == nil {
			byNumber[s.System] = map[sizing.Half]int64{}
		}
		byNumber[s.System][s.Size] += n
		names[s] = n
		sizes = append(sizes, s)
	}
	slices.SortFunc(sizes, func(a, b sizing.Size) int {
		return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Size, b.Size),
			cmp.Compare(sizing.WidthRank(a.Width), sizing.WidthRank(b.Width)))
	})
	for _, s := range sizes {
		p.Sizes = append(p.Sizes, counted{capitalized(s.String()), number(names[s])})
	}
	for _, system := range sizing.Systems() {
		if len(byNumber[system]) > 0 {
			p.Charts = append(p.Charts, sizeChart(system, byNumber[system]))
		}
	}
}

// readSize reads a size as the counts name it: [sizing.Size.String].
func readSize(text string) (sizing.Size, bool) {
	for _, system := range sizing.Systems() {
		rest, ok := strings.CutPrefix(text, system.Shown()+" ")
		number, width, _ := strings.Cut(rest, " ")
		half, err := sizing.ParseSize(number)
		if ok && err == nil {
			return sizing.Size{System: system, Size: half, Width: width}, true
		}
	}
	return sizing.Size{}, false
}
