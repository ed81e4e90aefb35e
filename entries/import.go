package entries

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

// Columns maps a field's name to the name of the column that holds it. Fields
// are email, time, zone, system, size, width, live, state, ship, ship_state,
// friend, name, age, rules, step, and answers.<key> for a question. A field
// that is not in the map is looked for under its own name; one that is mapped
// to "" has no column. Names of columns compare without case and outer blanks.
type Columns map[string]string

// ImportOptions say how a file is read. Rand is needed.
type ImportOptions struct {
	Rand  io.Reader // a secure source
	Comma rune      // what parts the cells; 0 is a comma

	// Fill holds the values of fields that no column holds, such as Live for
	// a form that only people of one country could see. Rules counts as
	// accepted there unless Fill.Rules says otherwise, and Barred as ticked.
	Fill Form

	// At is the time that all rows count as, where no column holds one.
	At time.Time
}

// Imported is what came of a file. Read = len(Rows) + len(Unreadable).
type Imported struct {
	Rows       []ImportedRow // in the file's order
	Unreadable []RowProblem  // in the file's order
	Read       int           // rows of the file, without its header
}

// An ImportedRow is a row that was read. It has a ticket, whatever its Reason.
type ImportedRow struct {
	Row int // as a spreadsheet shows it: the header is row 1
	Ticketed
	Entered time.Time // the row's own time, UTC, whole seconds
	Reason  string    // "": for the roll; otherwise draw.Duplicate, draw.Region or draw.Ineligible
	Why     string    // the finer reason, for the host and the entrant alone
	Notes   []string  // what was decided for the row without excluding it

	at time.Time // Entered with its fraction, for the order
}

// A RowProblem says why a row got no ticket. It never bears what stands in the
// row.
type RowProblem struct {
	Row int
	Why string
}

// Import reads entries from a CSV file with a header (RFC 4180, in UTF-8, with
// or without a byte-order mark). Zone is the zone of times that bear none, nil
// if all do.
//
// Every row is decided as the form is, at the row's own time. Of the rows with
// one address that may be in the draw the earliest stands, of two with one
// time the upper one; the others are duplicates. A row that may not be in the
// draw for a reason of its own never pushes another out.
//
// A row gets no ticket, and is listed as unreadable, if its address or its time
// can't be read, if it has more cells than the header (then nobody knows which
// cell is what), or if its quotes are wrong. Empty lines are no rows, though
// they count in row numbers. A missing column, or a quote that is never closed
// and swallows the rows after it, is an error, and nothing is imported.
func Import(r io.Reader, cols Columns, zone *time.Location, t giveaway.Terms, o ImportOptions) (Imported, error) {
	out, err := ReadRows(r, cols, zone, t, o)
	if err != nil {
		return Imported{}, err
	}
	return out, giveTickets(out.Rows, t.Draw, o.Rand)
}

// ReadRows is [Import] without the tickets: it needs no Rand.
func ReadRows(r io.Reader, cols Columns, zone *time.Location, t giveaway.Terms, o ImportOptions) (Imported, error) {
	table, err := readTable(r, o.Comma)
	if err != nil {
		return Imported{}, fmt.Errorf("import: %w", err)
	}
	plan, err := newPlan(table.header, cols, t, o)
	if err != nil {
		return Imported{}, fmt.Errorf("import: %w", err)
	}
	plan.zone = zone
	var out Imported
	for {
		row, err := table.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return Imported{}, fmt.Errorf("import: %w", err)
		}
		out.Read++
		one, why := plan.row(row)
		if why != "" {
			out.Unreadable = append(out.Unreadable, RowProblem{Row: row.number, Why: why})
			continue
		}
		out.Rows = append(out.Rows, one)
	}
	markDuplicates(out.Rows)
	return out, nil
}

// row reads and decides one row; why is not empty if it is unreadable.
func (p plan) row(row tableRow) (one ImportedRow, why string) {
	if row.problem != "" {
		return one, row.problem
	}
	if row.empty() {
		return one, "the row is empty"
	}
	if row.spilled(len(p.header)) {
		return one, "the row has more cells than the header; perhaps a comma in a cell is not quoted"
	}
	f := p.form(row)
	a, err := Canonical(f.Email)
	if err != nil {
		return one, "the e-mail address can't be read: " + sentence(err)
	}
	at, note, err := p.time(row)
	if err != nil {
		return one, "the time can't be read: " + err.Error()
	}
	one = ImportedRow{Row: row.number, at: at, Entered: at.UTC().Truncate(time.Second)}
	if note != "" {
		one.Notes = append(one.Notes, note)
	}
	if _, text := PlainName(f.Name); text != "" {
		f.Name = ""
		one.Notes = append(one.Notes, "the name was left out, since it can't be shown")
	}
	f.EmailSeen, f.SizeSeen = a.Typed, f.SizeTyped()
	one.judge(Decide(f, p.terms, at))
	return one, ""
}

// judge turns a verdict into the row's reason, and makes the entry fit to be
// written whatever could not be read of it.
func (r *ImportedRow) judge(v Verdict) {
	r.Entry = v.Entry
	for _, h := range v.Hints {
		if h.Field == "size" {
			r.Notes = append(r.Notes, "the sponsor has no such size; settle it if it wins")
		}
	}
	if r.Entry.Ship.Country == "" {
		r.Entry.Ship.Country = noCountry
	}
	switch {
	case v.Refusal != nil:
		r.Reason, r.Why = v.Refusal.ExcludedReason(), v.Refusal.Reason
		if why := lateWords[v.Refusal.Code]; why != "" {
			r.Why = why
		}
	case len(v.Fields) > 0:
		r.Reason, r.Why = draw.Ineligible, v.Fields[0].Field+": "+ofRow(v.Fields[0].Text)
		if slices.Contains([]string{"live", "state", "ship", "ship_state"}, v.Fields[0].Field) {
			r.Reason = draw.Region
		}
	}
}

// ofRow leaves out of a sentence of the form what it asks of whoever fills it
// in: of a row nobody can be asked.
func ofRow(text string) string {
	var kept []string
	for _, sentence := range strings.SplitAfter(text, ". ") {
		if s := strings.TrimSpace(sentence); !strings.HasPrefix(s, "Please ") && !strings.HasPrefix(s, "Write ") {
			kept = append(kept, s)
		}
	}
	if len(kept) == 0 {
		return "It is missing, or can't be read."
	}
	return strings.Join(kept, " ")
}

// lateWords say of a row what the form says of the present moment.
var lateWords = map[string]string{
	eligibility.CodeNotYetOpen:   "it was made before entries opened",
	eligibility.CodeWindowClosed: "it was made after entries had closed",
}

// noCountry stands in the entry text of an excluded row whose country could
// not be read: ISO 3166-1 leaves ZZ to users, who commonly mean "unknown".
const noCountry = "ZZ"

// markDuplicates keeps, for each key, the earliest of the rows that may be in
// the draw.
func markDuplicates(rows []ImportedRow) {
	first := map[string]int{} // key → index of the row that stands so far
	for i := range rows {
		if rows[i].Reason != "" {
			continue
		}
		key := rows[i].Entry.Key
		j, seen := first[key]
		stands, falls := j, i
		switch {
		case !seen:
			first[key] = i
			continue
		case rows[i].at.Before(rows[j].at):
			stands, falls = i, j
		}
		first[key] = stands
		rows[falls].Reason = draw.Duplicate
	}
	for i := range rows {
		if rows[i].Reason == draw.Duplicate {
			rows[i].Why = fmt.Sprintf("the same address as in row %d", rows[first[rows[i].Entry.Key]].Row)
		}
	}
}

// giveTickets gives every row a ticket that no other row has.
func giveTickets(rows []ImportedRow, drawID string, rand io.Reader) error {
	taken := make(map[draw.Ticket]bool, len(rows))
	for i := range rows {
		for {
			t, err := NewTicketed(rand, drawID, rows[i].Entry)
			if err != nil {
				return fmt.Errorf("import: row %d: %w", rows[i].Row, err)
			}
			if taken[t.Ticket] {
				continue
			}
			taken[t.Ticket] = true
			t.Link = "" // there is no page behind it
			rows[i].Ticketed = t
			break
		}
	}
	return nil
}
