package entries

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A Fate is what becomes of a row of a file.
type Fate string

// The fates.
const (
	FateIn         Fate = "in"         // it gets a ticket in the draw
	FateOut        Fate = "out"        // it gets a ticket that is not in the draw, with a reason
	FateThere      Fate = "there"      // its address is in already, by the form, a card or another file
	FateAgain      Fate = "again"      // this very row was brought in before
	FateUnreadable Fate = "unreadable" // it gets no ticket
)

// A Planned row is what bringing a file in would do with one row.
type Planned struct {
	Row    int
	Fate   Fate
	Reason string   // why it is not in the draw: as in excluded.txt; of FateOut and FateAgain
	Why    string   // the finer reason; of FateUnreadable too
	By     string   // of FateThere: the origin of the entry that stands
	Notes  []string // what was decided about the row
	Ticket draw.Ticket

	row *ImportedRow // nil: unreadable
}

// Plan says what would become of each row of a file, in the file's order, as
// things stand now. Nothing is stored.
//
// Entries that are in stand: a row with the address of one of them gets no
// ticket, nor do the file's other rows with it.
func (d Door) Plan(ctx context.Context, drawID string, file Imported) ([]Planned, error) {
	if err := d.giveOwnTickets(drawID, file.Rows); err != nil {
		return nil, fmt.Errorf("plan the import: %w", err)
	}
	plan := make([]Planned, 0, file.Read)
	for i := range file.Rows {
		r := &file.Rows[i]
		p := Planned{Row: r.Row, Fate: FateOut, Reason: r.Reason, Why: r.Why, Notes: r.Notes, Ticket: r.Ticket, row: r}
		if r.Reason == "" {
			p.Fate = FateIn
		}
		plan = append(plan, p)
	}
	if err := d.compare(ctx, drawID, plan); err != nil {
		return nil, fmt.Errorf("plan the import: %w", err)
	}
	for _, u := range file.Unreadable {
		plan = append(plan, Planned{Row: u.Row, Fate: FateUnreadable, Why: u.Why})
	}
	slices.SortStableFunc(plan, func(a, b Planned) int { return cmp.Compare(a.Row, b.Row) })
	return plan, nil
}

// compare finds what is in already: the very rows first, then addresses.
func (d Door) compare(ctx context.Context, drawID string, plan []Planned) error {
	there := map[string]string{} // key of a row that would be in → origin of what stands
	for part := range slices.Chunk(plan, doorBatch) {
		tickets := make([]draw.Ticket, len(part))
		for i := range part {
			tickets[i] = part[i].Ticket
		}
		known, err := d.Store.TicketsIn(ctx, drawID, tickets)
		if err != nil {
			return err
		}
		var keys []string
		for i := range part {
			switch p := &part[i]; {
			case known[p.Ticket]:
				p.Fate = FateAgain
			case p.Fate == FateIn:
				keys = append(keys, p.row.Entry.Key)
			}
		}
		standing, err := d.Store.EntriesByKey(ctx, drawID, keys)
		if err != nil {
			return err
		}
		for key, by := range standing {
			there[key] = by
		}
	}
	for i := range plan {
		p := &plan[i]
		by, in := there[p.row.Entry.Key]
		if in && (p.Fate == FateIn || p.Fate == FateOut && p.Reason == draw.Duplicate) {
			p.Fate, p.Reason, p.Why, p.By = FateThere, "", "", by
		}
	}
	return nil
}

// Bring carries a plan out. Each row's stamp is the server's time now: its own
// time has decided whether it may be in the draw, the receipt says when it was
// taken here. What a crash or an error left over is brought in by doing it
// again. Fresh is how many rows this call has stored: of several at once each
// row is fresh in one. Errors: [ErrLocked], giveaway.ErrNotFound; some rows may
// be in then, and are counted.
func (d Door) Bring(ctx context.Context, now time.Time, g giveaway.Giveaway, plan []Planned) (fresh int64, err error) {
	if g.State != giveaway.StateOpen {
		return 0, fmt.Errorf("import: %w", ErrLocked)
	}
	batch := make([]New, 0, doorBatch)
	flush := func() error {
		if len(batch) == 0 {
			return nil
		}
		stamps, err := d.Store.ImportEntries(ctx, g.ID, now, batch)
		if err != nil {
			return fmt.Errorf("import: %w", err)
		}
		batch = batch[:0]
		for _, s := range stamps {
			if s.Fresh {
				fresh++
			}
			if s.Err != nil && !errors.Is(s.Err, ErrAlreadyIn) { // somebody entered by the form meanwhile
				return fmt.Errorf("import: %w", s.Err)
			}
		}
		return nil
	}
	for i := range plan {
		p := &plan[i]
		if p.Fate != FateIn && p.Fate != FateOut {
			continue
		}
		row, err := d.newOf(g.ID, p.row.Ticketed, p.Reason, OriginFile)
		if err != nil {
			return fresh, fmt.Errorf("import: row %d: %w", p.Row, err)
		}
		if batch = append(batch, row); len(batch) == doorBatch {
			if err := flush(); err != nil {
				return fresh, err
			}
		}
	}
	err = flush()
	return fresh, err
}

// Link is the private link's secret of a ticket that came through a door.
func (d Door) Link(drawID string, t draw.Ticket) string { return d.link(drawID, t) }
