package web

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"evenhand/sizing"
)

// A sizeTable is what was understood of a pasted table.
type sizeTable struct {
	Run     sizing.Run
	Numbers bool // there were numbers of pairs, which are not kept
}

// Limits of a pasted table; common practice, no source.
const (
	maxTable      = 64 << 10 // bytes
	maxTableLines = 1000
	maxTableSaid  = 5 // faults that are told at once
)

// readSizeTable reads sizes as people have them in a spreadsheet, a mail or a
// handbook. Lines may stand in three ways, also one after another:
//
//   - a line for each size: "mens 10.5 D", "women’s 7-10 B, D";
//   - a grid: a line of widths (or of sizes), then a line for each size (or
//     width) with a mark or a number in each cell that can be had;
//   - columns with names: size, width, perhaps men’s or women’s, perhaps a number.
//
// A line that says only men’s or women’s holds for those below it. Cells are
// parted by tabs, semicolons, bars, commas or blanks. A 0, a dash, "no" or
// nothing is a size that can't be had. What could not be read comes back as
// sentences, each with its line; then nothing is understood.
func readSizeTable(text string) (sizeTable, []string) {
	if len(text) > maxTable || strings.Count(text, "\n") > maxTableLines {
		return sizeTable{}, []string{fmt.Sprintf("Shorten the table to %d lines.", maxTableLines)}
	}
	r := tableReader{sizes: map[sizing.System]map[string][]sizing.Half{}}
	lines := strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n")
	for i, line := range lines {
		r.at = i + 1
		if text := r.line(strings.TrimSpace(strings.ReplaceAll(line, "\u00a0", " ")), line); text != "" {
			r.fault(r.at, text)
		}
	}
	r.endGrid()
	if len(r.faults) > maxTableSaid {
		more := len(r.faults) - maxTableSaid
		r.faults = append(r.faults[:maxTableSaid], fmt.Sprintf("And %s could not be read.", many(int64(more), "line more", "lines more")))
	}
	run := runOf(r.sizes)
	if len(r.faults) == 0 {
		if len(run) == 0 {
			r.faults = append(r.faults, "No size was found. Write a line for each size, such as: mens 10.5 D.")
		} else if err := run.Validate(); err != nil {
			r.faults = append(r.faults, "These sizes are too scattered to be taken from a table. Write them into the rows above.")
		}
	}
	if len(r.faults) > 0 {
		return sizeTable{}, r.faults
	}
	return sizeTable{run, r.numbers}, nil
}

// A tableReader goes through a table line by line.
type tableReader struct {
	system  sizing.System
	grid    []string // the head of a grid, its first cell aside: widths, or sizes
	across  bool     // the head holds sizes
	columns map[string]int
	sizes   map[sizing.System]map[string][]sizing.Half
	numbers bool
	faults  []string
	at      int // the line that is read, from 1
	headAt  int // the line of the grid's head; 0: none, or lines stood below it
}

func (r *tableReader) fault(line int, text string) {
	r.faults = append(r.faults, fmt.Sprintf("Line %d: %s", line, text))
}

// endGrid says of a head that it has no lines below it: then it was none.
func (r *tableReader) endGrid() {
	switch {
	case r.headAt == 0:
	case r.across:
		r.fault(r.headAt, "The width is missing. Write a line such as: mens 10.5 D.")
	default:
		r.fault(r.headAt, "No size stands below this line.")
	}
	r.grid, r.headAt = nil, 0
}

// line reads one line and returns what is wrong with it, or "".
func (r *tableReader) line(line, whole string) string {
	if line == "" || strings.Trim(line, "-=|+: \t") == "" { // a blank, or a rule under a head
		return ""
	}
	cells := cellsOf(whole)
	if s, ok := systemIn(line); ok {
		r.endGrid()
		r.system, r.columns = s, nil
		return ""
	}
	if columns := columnsOf(cells); columns != nil {
		r.endGrid()
		r.columns = columns
		return ""
	}
	if r.head(cells) {
		return ""
	}
	switch {
	case r.columns != nil:
		return r.column(cells)
	case r.grid != nil:
		return r.cells(cells)
	}
	return r.one(line)
}

// cellsOf parts a line: at tabs, bars or semicolons where there are any, then
// at commas, then at blanks.
func cellsOf(line string) []string {
	line = strings.TrimRight(line, " \r\n")
	for _, sep := range []string{"\t", "|", ";", ","} {
		if !strings.Contains(line, sep) {
			continue
		}
		if sep == "|" {
			line = strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(line), "|"), "|")
		}
		cells := strings.Split(line, sep)
		for i := range cells {
			cells[i] = strings.Trim(strings.TrimSpace(cells[i]), `"`)
		}
		return cells
	}
	return strings.Fields(line)
}

// systemIn reads "Men's", "Women's sizes:", "mens (US)".
func systemIn(text string) (sizing.System, bool) {
	text = strings.ToLower(strings.Trim(text, " \t,;|:#*"))
	for _, more := range []string{"(us)", "us", "sizes", "size", "sizing", "widths", "width", "/", "\\", "boots", "shoes"} {
		text = strings.TrimSpace(strings.TrimSuffix(text, more))
	}
	if len(text) < 2 { // a lone M or W is a width in most tables
		return "", false
	}
	s, err := sizing.ParseSystem(text)
	return s, err == nil
}

// columnNames are what heads of columns are called; common practice, no source.
var columnNames = map[string]string{
	"size": "size", "us size": "size", "us": "size", "width": "width", "widths": "width",
	"system": "system", "gender": "system", "sex": "system", "for": "system", "men/women": "system", "men’s/women’s": "system",
	"stock": "number", "qty": "number", "quantity": "number", "count": "number", "pairs": "number", "number": "number", "available": "number",
}

// columnsOf reads the heads of columns; nil unless size and width are there.
func columnsOf(cells []string) map[string]int {
	columns := map[string]int{}
	for i, cell := range cells {
		if name := columnNames[strings.ToLower(cell)]; name != "" {
			columns[name] = i
		}
	}
	_, size := columns["size"]
	_, width := columns["width"]
	if !size || !width {
		return nil
	}
	return columns
}

// head reads the first line of a grid.
func (r *tableReader) head(cells []string) bool {
	if len(cells) < 2 {
		return false
	}
	first, rest := cells[0], cells[1:]
	system := r.system
	if s, ok := systemIn(first); ok {
		system = s
	} else if first != "" && columnNames[strings.ToLower(first)] == "" && !strings.ContainsAny(first, "/\\") {
		return false
	}
	widths := every(rest, func(cell string) bool { _, err := sizing.ParseWidth(system, cell); return err == nil })
	sizes := every(rest, func(cell string) bool { _, err := sizing.ParseSize(cell); return err == nil })
	if !widths && !sizes {
		return false
	}
	r.endGrid()
	r.system, r.grid, r.across, r.columns, r.headAt = system, rest, sizes, nil, r.at
	return true
}

func every(cells []string, is func(string) bool) bool {
	return !slices.ContainsFunc(cells, func(cell string) bool { return !is(cell) })
}

// cells reads a line of a grid.
func (r *tableReader) cells(cells []string) string {
	r.headAt = 0
	first, marks := cells[0], cells[1:]
	if m := sizeWithSystem.FindStringSubmatch(first); m != nil {
		if s, ok := systemIn(m[1]); ok {
			r.system, first = s, m[2]
		}
	}
	if len(marks) > len(r.grid) && strings.Trim(strings.Join(marks[len(r.grid):], ""), " ") != "" {
		return "There are more cells than the first line has. Put a dash where a size can’t be had."
	}
	for i, mark := range marks {
		has, number, ok := markOf(mark)
		if !ok {
			return fmt.Sprintf("“%.20s” is neither a mark nor a number. Write x for a size that can be had, and a dash for one that can’t.", mark)
		}
		r.numbers = r.numbers || number
		if !has {
			continue
		}
		size, width := first, r.grid[i]
		if r.across {
			size, width = width, size
		}
		if text := r.put(r.system, size, width); text != "" {
			return text
		}
	}
	return ""
}

var (
	sizeWithSystem = regexp.MustCompile(`^([\pL’'‘]{2,}(?:\s+us)?)\s+(\S.*)$`)
	plainNumber    = regexp.MustCompile(`^\d{1,6}$`)
)

// markOf reads a cell of a grid: whether the size can be had, and whether the
// cell is a number of pairs.
func markOf(cell string) (has, number, ok bool) {
	switch c := strings.ToLower(strings.TrimSpace(cell)); {
	case plainNumber.MatchString(c):
		return strings.Trim(c, "0") != "", true, true
	case slices.Contains([]string{"x", "✓", "✔", "yes", "y", "•", "*", "+", "ok", "true", "in stock"}, c):
		return true, false, true
	case slices.Contains([]string{"", "-", "–", "—", "no", "n", "n/a", "na", "none", "false", "out"}, c):
		return false, false, true
	}
	return false, false, false
}

// column reads a line under heads of columns.
func (r *tableReader) column(cells []string) string {
	at := func(name string) string {
		if i, ok := r.columns[name]; ok && i < len(cells) {
			return cells[i]
		}
		return ""
	}
	system := r.system
	if typed := at("system"); typed != "" {
		s, err := sizing.ParseSystem(strings.TrimSpace(typed))
		if err != nil {
			return fmt.Sprintf("“%.20s” is neither men’s nor women’s.", typed)
		}
		system = s
	}
	if _, counted := r.columns["number"]; counted {
		has, number, ok := markOf(at("number"))
		if !ok {
			return fmt.Sprintf("“%.20s” is not a number.", at("number"))
		}
		r.numbers = r.numbers || number
		if !has {
			return ""
		}
	}
	return r.sizesAndWidths(system, at("size"), splitWidths(at("width")))
}
