package store

import (
	"context"
	"fmt"
	"strings"

	"evenhand/draw"
)

// marks are n placeholders from $2 on, with commas.
func marks(n int) string {
	list := make([]string, n)
	for i := range list {
		list[i] = fmt.Sprint("$", i+2)
	}
	return strings.Join(list, ", ")
}

// EntriesByKey tells for each of the keys that stand in the roll how their
// entry came.
func (db *DB) EntriesByKey(ctx context.Context, drawID string, keys []string) (map[string]string, error) {
	found := map[string]string{}
	if len(keys) == 0 {
		return found, nil
	}
	args := []any{drawID}
	for _, k := range keys {
		args = append(args, k)
	}
	type came struct{ key, by string }
	rows, err := list(ctx, db.read, func(row scanner) (c came, err error) { return c, row.Scan(&c.key, &c.by) },
		`SELECT key, origin FROM entries WHERE draw = $1 AND reason IS NULL AND key IN (`+marks(len(keys))+`)`, args...)
	if err != nil {
		return nil, fmt.Errorf("look for addresses: %w", err)
	}
	for _, r := range rows {
		found[r.key] = r.by
	}
	return found, nil
}

// TicketsIn tells which of the tickets are stored.
func (db *DB) TicketsIn(ctx context.Context, drawID string, tickets []draw.Ticket) (map[draw.Ticket]bool, error) {
	found := map[draw.Ticket]bool{}
	if len(tickets) == 0 {
		return found, nil
	}
	args := []any{drawID}
	for _, t := range tickets {
		args = append(args, t.String())
	}
	rows, err := list(ctx, db.read, func(row scanner) (t string, err error) { return t, row.Scan(&t) },
		`SELECT ticket FROM entries WHERE draw = $1 AND ticket IN (`+marks(len(tickets))+`)`, args...)
	if err != nil {
		return nil, fmt.Errorf("look for tickets: %w", err)
	}
	for _, r := range rows {
		t, err := draw.ParseTicket(r)
		if err != nil {
			return nil, fmt.Errorf("look for tickets: %w", err)
		}
		found[t] = true
	}
	return found, nil
}
