package giveaway

import (
	"context"
	"io/fs"
	"slices"
	"sync"
	"testing/fstest"
	"time"

	"evenhand/draw"
)

// memStore is a Store in memory: one lock in place of transactions.
type memStore struct {
	mu      sync.Mutex
	rows    map[string]Giveaway
	secrets map[string][32]byte
	tickets map[string][]TicketLine
	stamps  map[string]time.Time // the greatest entered
	files   map[string]fstest.MapFS
	attempt map[string]string
	alive   map[string]time.Time
	lists   map[string]map[string][]byte // attempt → name → bytes so far

	outcomes map[string]int // the revision of outcome.txt

	// fail, where set, is asked before each step; its error ends the step.
	fail  func(step string) error
	moves map[string]int // steps that changed something
}

func newMemStore() *memStore {
	return &memStore{
		rows: map[string]Giveaway{}, secrets: map[string][32]byte{}, tickets: map[string][]TicketLine{},
		stamps: map[string]time.Time{}, files: map[string]fstest.MapFS{}, attempt: map[string]string{},
		alive: map[string]time.Time{}, lists: map[string]map[string][]byte{}, moves: map[string]int{},
		outcomes: map[string]int{},
	}
}

// step runs one step under the lock, if the row is in the state from.
func (m *memStore) step(name, id string, from State, f func(g *Giveaway) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fail != nil {
		if err := m.fail(name); err != nil {
			return err
		}
	}
	g, ok := m.rows[id]
	if !ok {
		return ErrNotFound
	}
	if g.State != from {
		return StateError{State: g.State}
	}
	if err := f(&g); err != nil {
		return err
	}
	m.rows[id] = g
	m.moves[name]++
	return nil
}

func (m *memStore) publish(id, name string, b []byte) {
	if m.files[id] == nil {
		m.files[id] = fstest.MapFS{}
	}
	m.files[id][name] = &fstest.MapFile{Data: slices.Clone(b)}
}

func (m *memStore) Giveaway(_ context.Context, id string) (Giveaway, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	g, ok := m.rows[id]
	if !ok {
		return Giveaway{}, ErrNotFound
	}
	return g, nil
}

func (m *memStore) Giveaways(context.Context) ([]Giveaway, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var all []Giveaway
	for _, g := range m.rows {
		all = append(all, g)
	}
	return all, nil
}

func (m *memStore) AddDraft(_ context.Context, g Giveaway) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if have, ok := m.rows[g.ID]; ok {
		return StateError{State: have.State}
	}
	m.rows[g.ID] = g
	return nil
}

func (m *memStore) ChangeDraft(_ context.Context, from draw.Digest, t Terms) error {
	return m.step("change", t.Draw, StateDraft, func(g *Giveaway) error {
		if g.Terms.Mark() != from {
			return ErrStale
		}
		g.Terms = t
		return nil
	})
}

func (m *memStore) Open(_ context.Context, o Opened) error {
	return m.step("open", o.ID, StateDraft, func(g *Giveaway) error {
		if g.Terms.Mark() != o.From {
			return ErrStale
		}
		g.State, g.Terms, g.Opened = StateOpen, o.Terms, o.At
		g.Opening, g.OpeningHash, g.Revision = o.Opening, draw.Hash(o.Opening.Text()), 1
		m.secrets[o.ID] = o.HostSecret
		m.publish(o.ID, draw.OpeningFile, o.Note)
		m.publish(o.ID, draw.RulesFile, o.Rules)
		return nil
	})
}

func (m *memStore) Revise(_ context.Context, id string, from int, make func(time.Time) (Revised, error)) error {
	return m.step("revise", id, StateOpen, func(g *Giveaway) error {
		if g.Revision != from {
			return StateError{State: g.State}
		}
		r, err := make(m.lastStamp(*g))
		if err != nil {
			return err
		}
		m.publish(id, draw.KeptFile(draw.OpeningFile, from), m.files[id][draw.OpeningFile].Data)
		m.publish(id, draw.OpeningFile, r.Note)
		if r.Rules != nil {
			m.publish(id, draw.KeptFile(draw.RulesFile, from), m.files[id][draw.RulesFile].Data)
			m.publish(id, draw.RulesFile, r.Rules)
		}
		g.Terms, g.Opening, g.OpeningHash, g.Revision = r.Terms, r.Opening, draw.Hash(r.Opening.Text()), from+1
		return nil
	})
}

func (m *memStore) lastStamp(g Giveaway) time.Time {
	if last := m.stamps[g.ID]; last.After(g.Opening.Revised) {
		return last
	}
	return g.Opening.Revised
}

func (m *memStore) BeginFreeze(_ context.Context, id, attempt string, now time.Time) (frozen time.Time, out Giveaway, err error) {
	begin := func(g *Giveaway) error {
		g.State = StateFreezing
		m.attempt[id], m.alive[id] = attempt, now
		m.lists[attempt] = map[string][]byte{}
		frozen, out = later(now, m.lastStamp(*g)), *g
		return nil
	}
	if err = m.step("begin", id, StateOpen, begin); err == nil {
		return frozen, out, nil
	}
	took := m.step("begin", id, StateFreezing, func(g *Giveaway) error {
		if now.Sub(m.alive[id]) < 20*time.Second {
			return ErrBusy
		}
		return begin(g)
	})
	return frozen, out, took
}

func (m *memStore) Tickets(_ context.Context, id string, after draw.Ticket, limit int) ([]TicketLine, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var page []TicketLine
	for _, line := range m.tickets[id] {
		if after.Less(line.Ticket) && len(page) < limit {
			page = append(page, line)
		}
	}
	return page, nil
}

func (m *memStore) ours(id, attempt string) error {
	if m.attempt[id] != attempt {
		return ErrState
	}
	return nil
}

func (m *memStore) WriteList(_ context.Context, id, attempt, name string, chunk int, b []byte, now time.Time) error {
	return m.step("list", id, StateFreezing, func(*Giveaway) error {
		if err := m.ours(id, attempt); err != nil {
			return err
		}
		have, begun := m.lists[attempt][name]
		if len(have) != chunk*ChunkSize || begun == (chunk == 0) || len(b) > ChunkSize {
			panic("chunks are not in order or not full")
		}
		m.lists[attempt][name] = append(append([]byte{}, have...), b...)
		m.alive[id] = now
		return nil
	})
}

func (m *memStore) Freeze(_ context.Context, f Frozen) error {
	return m.step("freeze", f.ID, StateFreezing, func(g *Giveaway) error {
		if err := m.ours(f.ID, f.Attempt); err != nil {
			return err
		}
		for _, name := range []string{draw.RollFile, draw.ExcludedFile} {
			m.publish(f.ID, name, m.lists[f.Attempt][name])
		}
		m.publish(f.ID, draw.FreezeFile, f.Note)
		g.State, g.Frozen = StateFrozen, f.Freeze.Frozen
		return nil
	})
}

func (m *memStore) AbandonFreeze(_ context.Context, id, attempt string) error {
	return m.step("abandon", id, StateFreezing, func(g *Giveaway) error {
		if err := m.ours(id, attempt); err != nil {
			return err
		}
		g.State = StateOpen
		delete(m.lists, attempt)
		return nil
	})
}

func (m *memStore) Record(_ context.Context, id string, note []byte, drawn, released time.Time) error {
	return m.step("record", id, StateFrozen, func(g *Giveaway) error {
		g.State, g.Drawn, g.Released = StateDrawn, drawn, released
		m.publish(id, draw.RecordFile, note)
		return nil
	})
}

func (m *memStore) Release(_ context.Context, id string, at time.Time) error {
	return m.step("release", id, StateDrawn, func(g *Giveaway) error {
		if at.Before(g.Released) {
			g.Released = at
		}
		return nil
	})
}

func (m *memStore) HostSecret(_ context.Context, id string) ([32]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.secrets[id], nil
}

func (m *memStore) Publication(id string) fs.FS {
	m.mu.Lock()
	defer m.mu.Unlock()
	files := fstest.MapFS{}
	for name, f := range m.files[id] {
		files[name] = f
	}
	return files
}

func (m *memStore) Outcome(_ context.Context, id string, from int, o draw.Outcome, note []byte) error {
	return m.step("outcome", id, StateDrawn, func(*Giveaway) error {
		if m.outcomes[id] != from {
			return ErrState
		}
		if from > 0 {
			m.publish(id, draw.KeptFile(draw.OutcomeFile, from), m.files[id][draw.OutcomeFile].Data)
		}
		m.publish(id, draw.OutcomeFile, note)
		m.outcomes[id] = o.Revision
		return nil
	})
}
