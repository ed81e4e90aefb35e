package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A DB keeps entries.
var _ entries.Store = (*DB)(nil)

// An edge is what every write to an entry reads of the giveaway's row, under
// the shared lock that keeps revision and freeze away until it is durable.
type edge struct {
	known                  bool
	state                  giveaway.State
	opening                draw.Digest
	opens, closes, revised int64
}

// share takes the shared lock. An unknown id gives an edge that is not known.
func (db *DB) share(ctx context.Context, tx *sql.Tx, id string) (e edge, err error) {
	if err := db.dialect.turn(ctx, tx, id, false); err != nil {
		return e, err
	}
	var hash []byte
	err = tx.QueryRowContext(ctx, `
		SELECT state, opening_hash, COALESCE(opens, 0), COALESCE(closes, 0), revised
		FROM giveaways WHERE id = $1`, id).
		Scan(&e.state, &hash, &e.opens, &e.closes, &e.revised)
	if errors.Is(err, sql.ErrNoRows) {
		return edge{}, nil
	}
	copy(e.opening[:], hash)
	e.known = err == nil
	return e, err
}

// stamp is what an entry or a change gets that is written now: never before
// the opening that it names.
func (e edge) stamp(now time.Time) entries.Stamp {
	return entries.Stamp{Opening: e.opening, Entered: time.Unix(max(now.Unix(), e.revised), 0).UTC()}
}

// take is the stamp of a new entry, or why none is taken.
func (e edge) take(now time.Time) (entries.Stamp, error) {
	s := e.stamp(now)
	at := s.Entered.Unix()
	switch {
	case !e.known:
		return entries.Stamp{}, giveaway.ErrNotFound
	case e.state == giveaway.StateDraft:
		return entries.Stamp{}, entries.ErrNotOpen
	case e.state != giveaway.StateOpen || at >= e.closes:
		return entries.Stamp{}, entries.ErrClosed
	case at < e.opens:
		return entries.Stamp{}, entries.ErrNotOpen
	}
	return s, nil
}

// AddEntry writes a new entry.
func (db *DB) AddEntry(ctx context.Context, drawID string, now time.Time, n entries.New) (entries.Stamp, error) {
	stamp, err := db.intake.add(&arrival{ctx: ctx, draw: drawID, now: now, entry: n})
	if err != nil {
		return entries.Stamp{}, fmt.Errorf("write entry: %w", err)
	}
	return stamp, nil
}

const entryColumns = `ticket, key, typed, size_system, size, size_width, live, live_state, ship, ship_state,
	friend, name, age, step, answers, salt, commitment, opening, entered, link, origin`

// sizeColumns are the three texts of a size; empty for no size.
func sizeColumns(s sizing.Size) (system, size, width string) {
	if s.IsZero() {
		return "", "", ""
	}
	return string(s.System), s.Size.String(), s.Width
}

func columnsSize(system, size, width string) (sizing.Size, error) {
	if system == "" {
		return sizing.Size{}, nil
	}
	half, err := sizing.ParseSize(size)
	return sizing.Size{System: sizing.System(system), Size: half, Width: width}, err
}

// EntryByLink finds an entry by the hash of its link.
func (db *DB) EntryByLink(ctx context.Context, drawID string, linkHash [32]byte) (entries.Stored, error) {
	return db.entry(ctx, `draw = $1 AND link = $2`, drawID, linkHash[:])
}

// entry reads the one entry of a condition.
func (db *DB) entry(ctx context.Context, where string, args ...any) (entries.Stored, error) {
	s, err := scanEntry(db.read.QueryRowContext(ctx,
		`SELECT `+entryColumns+`, COALESCE(reason, ''), withdrawn IS NOT NULL, erased FROM entries WHERE `+where, args...))
	if errors.Is(err, sql.ErrNoRows) {
		err = entries.ErrNoSuchLink
	}
	if err != nil {
		return entries.Stored{}, fmt.Errorf("read entry: %w", err)
	}
	return s, nil
}

func scanEntry(row scanner) (s entries.Stored, err error) {
	var ticket, system, size, width, answers string
	var salt, commitment, opening, link []byte
	var entered int64
	var erased sql.NullInt64
	e := &s.Entry
	err = row.Scan(&ticket, &e.Key, &e.Typed, &system, &size, &width, &e.Live.Country, &e.Live.State,
		&e.Ship.Country, &e.Ship.State, &e.Friend, &e.Name, &e.AgeRange, &e.Step, &answers,
		&salt, &commitment, &opening, &entered, &link, &s.Origin, &s.Reason, &s.Withdrawn, &erased)
	if err != nil {
		return s, err
	}
	copy(s.Salt[:], salt)
	copy(s.Commitment[:], commitment)
	copy(s.Stamp.Opening[:], opening)
	copy(s.LinkHash[:], link)
	s.Stamp.Entered, s.Erased = time.Unix(entered, 0).UTC(), when(erased)
	if s.Ticket, err = draw.ParseTicket(ticket); err != nil {
		return s, err
	}
	if e.Size, err = columnsSize(system, size, width); err != nil {
		return s, err
	}
	if json.Unmarshal([]byte(answers), &e.Answers) != nil {
		return s, errors.New("the answers can not be read") // the cause may show them
	}
	return s, nil
}

// EntryCounts counts a giveaway's entries.
func (db *DB) EntryCounts(ctx context.Context, drawID string) (entries.Counts, error) {
	type group struct {
		reason, origin string
		size           sizing.Size
		n              int64
	}
	groups, err := list(ctx, db.read, func(row scanner) (g group, err error) {
		var system, size, width string
		if err = row.Scan(&g.reason, &g.origin, &system, &size, &width, &g.n); err == nil {
			g.size, err = columnsSize(system, size, width)
		}
		return g, err
	}, `SELECT COALESCE(reason, ''), origin, size_system, size, size_width, COUNT(*) FROM entries WHERE draw = $1
		GROUP BY COALESCE(reason, ''), origin, size_system, size, size_width`, drawID)
	if err != nil {
		return entries.Counts{}, fmt.Errorf("count entries: %w", err)
	}
	c := entries.Counts{ByReason: map[string]int64{}, BySize: map[string]int64{}, ByOrigin: map[string]int64{}}
	for _, g := range groups {
		c.Issued += g.n
		c.ByOrigin[g.origin] += g.n
		if g.reason != "" {
			c.ByReason[g.reason] += g.n
			continue
		}
		c.In += g.n
		c.BySize[g.size.String()] += g.n
	}
	return c, nil
}
