package web

import (
	"cmp"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"

	"evenhand/sizing"
)

// oneLine finds men's or women's, a size or a stretch of sizes, and the rest:
// "mens 10.5 D", "Women’s US 7-10 B, D", "10½ 2E".
var oneLine = regexp.MustCompile(`^(?i:us\s+)?(?:([\pL’'‘]+)[\s,;|:]+)?(?i:us\s+)?` +
	`(\d{1,2}(?:\.\d+|\s*½|\s+1/2)?)(?:\s*(?:-|–|—|to)\s*(\d{1,2}(?:\.\d+|\s*½|\s+1/2)?))?[\s,;|:]*(.*)$`)

// one reads a line that holds one size, or a stretch of them.
func (r *tableReader) one(line string) string {
	m := oneLine.FindStringSubmatch(line)
	if m == nil {
		return "This could not be read. Write a line such as: mens 10.5 D."
	}
	system := r.system
	if m[1] != "" {
		s, err := sizing.ParseSystem(m[1])
		if err != nil {
			return fmt.Sprintf("“%.20s” is neither men’s nor women’s.", m[1])
		}
		system = s
	}
	size := m[2]
	if m[3] != "" {
		size += "-" + m[3]
	}
	return r.sizesAndWidths(system, size, r.withoutNumber(splitWidths(m[4])))
}

// withoutNumber leaves out a number of pairs at the end of a line.
func (r *tableReader) withoutNumber(widths []string) []string {
	if n := len(widths); n > 1 && plainNumber.MatchString(widths[n-1]) {
		r.numbers = true
		return widths[:n-1]
	}
	return widths
}

// andWord stands between widths as people say them: "B and D".
var andWord = regexp.MustCompile(`(?i)\s+(?:and|or)\s+`)

// splitWidths parts "D, 2E", "D 2E", "D/2E" and "D and 2E", and keeps "extra
// wide" together.
func splitWidths(text string) []string {
	var list []string
	text = andWord.ReplaceAllString(text, ",")
	for _, one := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;|/&+\t\n", r) }) {
		one = strings.TrimSpace(one)
		if _, err := sizing.ParseWidth(sizing.Mens, one); err == nil || one == "" {
			list = appendFilledText(list, one)
			continue
		}
		list = append(list, strings.Fields(one)...)
	}
	return list
}

func appendFilledText(list []string, one string) []string {
	if one == "" {
		return list
	}
	return append(list, one)
}

// sizesAndWidths puts every size of a stretch in every width.
func (r *tableReader) sizesAndWidths(system sizing.System, sizes string, widths []string) string {
	from, to, stretch := strings.Cut(strings.NewReplacer("–", "-", "—", "-", " to ", "-").Replace(sizes), "-")
	first, err := sizing.ParseSize(from)
	last := first
	if err == nil && stretch {
		last, err = sizing.ParseSize(to)
	}
	switch {
	case err != nil:
		return "There is no size here that can be read. Write one such as 10 or 10.5."
	case last < first:
		return "The largest size is below the smallest: swap them."
	case len(widths) == 0:
		return "The width is missing. Write a line such as: mens 10.5 D."
	}
	for h := first; h <= last; h++ {
		for _, w := range widths {
			if text := r.put(system, h.String(), w); text != "" {
				return text
			}
		}
	}
	return ""
}

// put notes a size that can be had.
func (r *tableReader) put(system sizing.System, size, width string) string {
	h, err := sizing.ParseSize(size)
	if err != nil {
		return fmt.Sprintf("“%.20s” is not a size. Write one such as 10 or 10.5.", size)
	}
	if system == "" {
		return "Say whether it is men’s or women’s, in the line or in one above it."
	}
	w, err := sizing.ParseWidth(system, width)
	if err != nil {
		return fmt.Sprintf("“%.20s” is not a width. Write letters such as B, D, 2E.", width)
	}
	if r.sizes[system] == nil {
		r.sizes[system] = map[string][]sizing.Half{}
	}
	if !slices.Contains(r.sizes[system][w], h) {
		r.sizes[system][w] = append(r.sizes[system][w], h)
	}
	return ""
}

// runOf writes sizes as ranges, few and easy to read, that hold exactly them.
// Widths that come in the same sizes share their ranges.
func runOf(sizes map[sizing.System]map[string][]sizing.Half) sizing.Run {
	var run sizing.Run
	for _, system := range sizing.Systems() {
		var done []string
		for _, w := range sizing.Ladder() {
			have := sizes[system][w]
			if len(have) == 0 || slices.Contains(done, w) {
				continue
			}
			slices.Sort(have)
			var widths []string
			for _, other := range sizing.Ladder() {
				if same := sizes[system][other]; len(same) == len(have) {
					if slices.Sort(same); slices.Equal(same, have) {
						widths = append(widths, other)
					}
				}
			}
			done = append(done, widths...)
			for _, g := range stretches(have) {
				g.System, g.Widths = system, widths
				run = append(run, g)
			}
		}
	}
	return run
}

// stretches parts ascending sizes into ranges: half sizes as far as they go,
// with a single gap left out of them, then whole sizes.
func stretches(have []sizing.Half) []sizing.Range {
	var list []sizing.Range
	for len(have) > 0 {
		g := sizing.Range{From: have[0], To: have[0], Step: sizing.HalfSteps}
		n := 1
		for n < len(have) {
			gap := have[n] - have[n-1]
			more := n+1 < len(have) && have[n+1]-have[n] == 1
			if gap == 2 && more && n > 1 {
				g.Except = append(g.Except, have[n]-1)
			} else if gap != 1 {
				break
			}
			n++
		}
		if n == 1 {
			for n < len(have) && have[n]-have[n-1] == 2 {
				n++
			}
			if n > 1 {
				g.Step = sizing.WholeSteps
			}
		}
		g.To = have[n-1]
		list, have = append(list, g), have[n:]
	}
	return list
}

// onto puts what was read in place of the rows of the same system.
func (t sizeTable) onto(rows []rangeForm) []rangeForm {
	systems := t.Run.Systems()
	kept := slices.DeleteFunc(slices.Clone(rows), func(r rangeForm) bool { return slices.Contains(systems, sizing.System(r.System)) })
	kept = append(kept, rangesOf(t.Run)...)
	slices.SortStableFunc(kept, func(a, b rangeForm) int { return cmp.Compare(a.System, b.System) })
	return kept
}

// told is what the page says after the table was read, for its address.
func (t sizeTable) told() string {
	v := url.Values{"read": {"table"}}
	if t.Numbers {
		v.Set("read", "numbers")
	}
	return v.Encode()
}

var toldWords = map[string]string{
	"table":   "The table was read. Look at the rows of sizes whether they are right.",
	"numbers": "The table was read. Look at the rows of sizes whether they are right. Its numbers of pairs are not kept.",
}
