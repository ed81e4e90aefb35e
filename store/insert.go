package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"evenhand/entries"
)

// entryWidth is the number of columns that an insert fills.
const entryWidth = 23

// prepareInserts makes the statements for each number of rows that the
// dialect writes at once.
func (db *DB) prepareInserts(ctx context.Context) error {
	db.inserts = map[int]*sql.Stmt{}
	for _, n := range db.dialect.rowsAtOnce {
		stmt, err := db.write.PrepareContext(ctx, insertQuery(n))
		if err != nil {
			return fmt.Errorf("prepare statements: %w", err)
		}
		db.inserts[n] = stmt // closed with the database
	}
	return nil
}

// insertQuery writes n entries, but for those whose ticket, link or address is
// taken, and returns what it wrote.
func insertQuery(n int) string {
	rows := make([]string, n)
	for i := range rows {
		marks := make([]string, entryWidth)
		for j := range marks {
			marks[j] = fmt.Sprint("$", i*entryWidth+j+1)
		}
		rows[i] = "(" + strings.Join(marks, ", ") + ")"
	}
	return `INSERT INTO entries (draw, ` + entryColumns + `, reason) VALUES ` + strings.Join(rows, ", ") +
		` ON CONFLICT DO NOTHING RETURNING draw, ticket`
}

// A rowName names an entry's row.
type rowName struct{ draw, ticket string }

func (a *arrival) row() rowName { return rowName{a.draw, a.entry.Ticket.String()} }

// insert writes the entries of arrivals, with the stamps that they bear, and
// tells which of them are written.
func (db *DB) insert(ctx context.Context, tx *sql.Tx, arrivals []*arrival) (map[rowName]bool, error) {
	wrote := map[rowName]bool{}
	for _, size := range db.dialect.rowsAtOnce {
		for len(arrivals) >= size {
			var args []any
			for _, a := range arrivals[:size] {
				row, err := a.columns()
				if err != nil {
					return nil, err
				}
				args = append(args, row...)
			}
			arrivals = arrivals[size:]
			rows, err := tx.StmtContext(ctx, db.inserts[size]).QueryContext(ctx, args...)
			if err != nil {
				return nil, err
			}
			names, err := collect(rows, scanRowName)
			if err != nil {
				return nil, err
			}
			for _, name := range names {
				wrote[name] = true
			}
		}
	}
	return wrote, nil
}

func scanRowName(row scanner) (n rowName, err error) {
	err = row.Scan(&n.draw, &n.ticket)
	return n, err
}

// columns are the values of an entry's row: its draw id, then
// entryColumns and the reason.
func (a *arrival) columns() ([]any, error) {
	n, e := a.entry, a.entry.Entry
	answers, err := json.Marshal(e.Answers)
	if err != nil {
		return nil, fmt.Errorf("write the answers: %w", err)
	}
	system, size, width := sizeColumns(e.Size)
	opening := a.stamp.Opening
	return []any{
		a.draw, n.Ticket.String(), e.Key, e.Typed, system, size, width,
		e.Live.Country, e.Live.State, e.Ship.Country, e.Ship.State,
		e.Friend, e.Name, e.AgeRange, e.Step, string(answers),
		n.Salt[:], n.Commitment[:], opening[:], a.stamp.Entered.Unix(), n.LinkHash[:],
		cmp.Or(n.Origin, entries.OriginForm), sql.NullString{String: n.Reason, Valid: n.Reason != ""},
	}, nil
}
