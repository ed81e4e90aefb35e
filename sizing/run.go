package sizing

import (
	"cmp"
	"slices"
	"strconv"
)

// Run is what the sponsor can supply: all sizes of all its ranges. It is part
// of a giveaway's terms. As JSON:
//
//	[{"system":"mens","from":"7","to":"14","step":"half","widths":["D","2E"],"except":["13.5"]}]
type Run []Range

// Range is a stretch of numbers of one system, each in each of the widths.
type Range struct {
	System System   `json:"system"`
	From   Half     `json:"from"` // the first number, itself included
	To     Half     `json:"to"`   // the last number, itself included
	Step   string   `json:"step"` // "half" or "whole"
	Widths []string `json:"widths"`
	Except []Half   `json:"except,omitempty"` // numbers inside that don't exist
}

const (
	HalfSteps  = "half"
	WholeSteps = "whole"
)

// maxRanges bounds a run: enough for a range for every width of both systems.
const maxRanges = 40

// Empty reports whether the run holds no size.
func (r Run) Empty() bool { return len(r.All()) == 0 }

// A RunError is what is wrong with a run.
type RunError struct {
	Range  int    // from 0; -1: the run as a whole
	Field  string // of the range, by its JSON name; "" for the whole run
	Advice string // a sentence that says what to do
}

func (e *RunError) Error() string {
	if e.Range < 0 {
		return "size run: " + e.Advice
	}
	return "size run: range " + strconv.Itoa(e.Range+1) + ": " + e.Field + ": " + e.Advice
}

// Validate returns nil or the first thing wrong with the run, a [*RunError].
// An empty run is wrong: there would be nothing to send.
func (r Run) Validate() error {
	if len(r) > maxRanges {
		return &RunError{-1, "", "Give " + strconv.Itoa(maxRanges) + " ranges at most."}
	}
	for i, g := range r {
		if field, advice := g.problem(); advice != "" {
			return &RunError{i, field, advice}
		}
	}
	if r.Empty() {
		return &RunError{-1, "", "No size is left. Give at least one."}
	}
	return nil
}

func (g Range) problem() (field, advice string) {
	outside := func(h Half) bool { return h < minHalf || h > maxHalf }
	between := "Write a size between " + minHalf.String() + " and " + maxHalf.String() + "."
	switch {
	case !g.System.Valid():
		return "system", "Write mens or womens."
	case g.Step != HalfSteps && g.Step != WholeSteps:
		return "step", "Write half or whole."
	case outside(g.From):
		return "from", between
	case outside(g.To):
		return "to", between
	case g.From > g.To:
		return "to", "The largest size is below the smallest: swap them."
	case !g.onStep(g.To):
		return "to", "Whole sizes from " + g.From.String() + " never reach " + g.To.String() + ". Choose half sizes, or another last size."
	case len(g.Widths) == 0:
		return "widths", "Give at least one width, such as D."
	}
	for i, w := range g.Widths {
		if WidthRank(w) < 0 || slices.Contains(g.Widths[:i], w) {
			return "widths", "Write each width once, in letters such as B, D, 2E."
		}
	}
	for i, e := range g.Except {
		if !g.onStep(e) || slices.Contains(g.Except[:i], e) {
			return "except", "Write sizes that lie in the range, each once."
		}
	}
	return "", ""
}

func (g Range) step() Half {
	if g.Step == WholeSteps {
		return 2
	}
	return 1
}

func (g Range) onStep(h Half) bool {
	return h >= g.From && h <= g.To && (h-g.From)%g.step() == 0
}

func (g Range) has(s Size) bool {
	return s.System == g.System && g.onStep(s.Size) &&
		!slices.Contains(g.Except, s.Size) && slices.Contains(g.Widths, s.Width)
}

// Has reports whether the sponsor has exactly this size.
func (r Run) Has(s Size) bool {
	return slices.ContainsFunc(r, func(g Range) bool { return g.has(s) })
}

// All lists every size once: men's before women's, then by number, then from
// narrow to wide.
func (r Run) All() []Size {
	var all []Size
	for _, g := range r {
		if !g.System.Valid() || g.From < minHalf || g.To > maxHalf {
			continue // never validated: don't walk a range without bounds
		}
		for h := g.From; h <= g.To; h += g.step() {
			if slices.Contains(g.Except, h) {
				continue
			}
			for _, w := range g.Widths {
				all = append(all, Size{g.System, h, w})
			}
		}
	}
	slices.SortFunc(all, compare)
	return slices.Compact(all)
}

func compare(a, b Size) int {
	return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Size, b.Size),
		cmp.Compare(WidthRank(a.Width), WidthRank(b.Width)), cmp.Compare(a.Width, b.Width))
}

// Systems lists the systems in which the run has any size, men's first.
func (r Run) Systems() []System {
	return slices.DeleteFunc(Systems(), func(s System) bool { return len(r.Numbers(s)) == 0 })
}

// Numbers lists the numbers of one system that exist in any width, ascending.
func (r Run) Numbers(system System) []Half {
	var numbers []Half
	for _, s := range r.All() {
		if s.System == system && !slices.Contains(numbers, s.Size) {
			numbers = append(numbers, s.Size)
		}
	}
	return numbers
}

// Widths lists the widths of one system that exist in any number, narrow to wide.
func (r Run) Widths(system System) []string {
	var widths []string
	for _, s := range r.All() {
		if s.System == system && !slices.Contains(widths, s.Width) {
			widths = append(widths, s.Width)
		}
	}
	slices.SortFunc(widths, func(a, b string) int { return cmp.Compare(WidthRank(a), WidthRank(b)) })
	return widths
}

// Nearest lists up to n sizes of the run, the nearest to want first: by the
// difference in foot length, then by ladder steps of width. Both systems
// compare: lengths on the giveaway's scale, widths by their word. Ties go to
// want's own system, then to the longer, then to the wider size. A want without
// width counts as standard. If the run has want, it comes first.
func (r Run) Nearest(want Size, scale Scale, n int) []Size {
	all := r.All()
	if n <= 0 || !want.System.Valid() {
		return nil
	}
	length, width := mensHalf(want, scale), mensRank(want)
	slices.SortStableFunc(all, func(a, b Size) int {
		la, lb := mensHalf(a, scale)-length, mensHalf(b, scale)-length
		wa, wb := mensRank(a)-width, mensRank(b)-width
		return cmp.Or(
			cmp.Compare(abs(la), abs(lb)), cmp.Compare(abs(wa), abs(wb)),
			cmp.Compare(away(a, want), away(b, want)),
			cmp.Compare(lb, la), cmp.Compare(wb, wa))
	})
	return all[:min(n, len(all))]
}

func abs[T ~int](n T) T { return max(n, -n) }

func away(s, want Size) int {
	if s.System == want.System {
		return 0
	}
	return 1
}
