package store

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
)

// ImportEntries writes up to [entries.MostAtOnce] rows that the host brings, in
// one transaction, while the giveaway is open, also before opens and after
// closes. Entered is now, or the revised of the current opening if that is
// later. What came of each row stands at its place in the answer:
//
//   - A row with a Reason gets its ticket and stands in excluded.txt.
//   - A row for the roll whose key has a ticket there already is not written:
//     [entries.ErrAlreadyIn]. Of two such rows of one call one is written.
//   - A row whose ticket and link are stored already is the same row brought
//     again: nothing is written, and its stamp is the one that it has.
//   - [entries.ErrTicketTaken] for another row's ticket or link.
//
// The whole is [entries.ErrNotOpen] for a draft, and [entries.ErrLocked] once
// the list is locked or the giveaway called off; then nothing has changed.
func (db *DB) ImportEntries(ctx context.Context, drawID string, now time.Time, rows []entries.New) ([]entries.ImportedStamp, error) {
	if len(rows) > entries.MostAtOnce {
		return nil, fmt.Errorf("import entries: %d rows at once, %d at most", len(rows), entries.MostAtOnce)
	}
	var arrivals []*arrival
	err := db.tx(ctx, "import entries", func(tx *sql.Tx) (err error) {
		arrivals, err = db.importRows(ctx, tx, drawID, now, rows)
		return err
	})
	if err != nil {
		return nil, err
	}
	came := make([]entries.ImportedStamp, len(arrivals))
	for i, a := range arrivals {
		came[i] = entries.ImportedStamp{Stamp: a.stamp, Fresh: a.fresh, Err: a.err}
	}
	return came, nil
}

// importRows writes the rows, in the order of the keys as [intake.write] does,
// and answers in the order in which they were given.
func (db *DB) importRows(ctx context.Context, tx *sql.Tx, drawID string, now time.Time, rows []entries.New) ([]*arrival, error) {
	e, err := db.share(ctx, tx, drawID)
	if err != nil {
		return nil, err
	}
	stamp, err := e.bring(now)
	if err != nil {
		return nil, err
	}
	arrivals := make([]*arrival, len(rows))
	for i, n := range rows {
		// again: a row that is stored is the same row, brought twice.
		arrivals[i] = &arrival{ctx: ctx, draw: drawID, now: now, entry: n, again: true, stamp: stamp}
	}
	byKey := slices.Clone(arrivals)
	slices.SortStableFunc(byKey, func(a, b *arrival) int { return cmp.Compare(a.entry.Entry.Key, b.entry.Entry.Key) })
	wrote, err := db.insert(ctx, tx, byKey)
	if err != nil {
		return nil, err
	}
	for _, a := range byKey {
		if name := a.row(); wrote[name] {
			a.fresh = true
			delete(wrote, name)
		} else if err := db.intake.settle(ctx, tx, a); err != nil {
			return nil, err
		}
	}
	return arrivals, nil
}

// bring is the stamp of a row that the host brings, or why none is taken.
func (e edge) bring(now time.Time) (entries.Stamp, error) {
	switch {
	case !e.known:
		return entries.Stamp{}, giveaway.ErrNotFound
	case e.state == giveaway.StateDraft:
		return entries.Stamp{}, entries.ErrNotOpen
	case e.state != giveaway.StateOpen:
		return entries.Stamp{}, entries.ErrLocked
	}
	return e.stamp(now), nil
}
