package entries

import (
	"cmp"
	"context"
	"sync"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// memStore is a Store of one giveaway in memory: one lock in place of
// transactions.
type memStore struct {
	mu   sync.Mutex
	g    giveaway.Giveaway
	rows []Stored
	fail []error // the next answers of AddEntry, one each
}

func (m *memStore) stamp(now time.Time) Stamp {
	at := now.UTC().Truncate(time.Second)
	if at.Before(m.g.Opening.Revised) {
		at = m.g.Opening.Revised
	}
	return Stamp{Opening: m.g.OpeningHash, Entered: at}
}

func (m *memStore) AddEntry(_ context.Context, _ string, now time.Time, n New) (Stamp, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.add(now, n)
}

// add is AddEntry under the lock.
func (m *memStore) add(now time.Time, n New) (Stamp, error) {
	if len(m.fail) > 0 {
		err := m.fail[0]
		m.fail = m.fail[1:]
		return Stamp{}, err
	}
	s := m.stamp(now)
	switch {
	case m.g.State != giveaway.StateOpen, !s.Entered.Before(m.g.Opening.Closes):
		return Stamp{}, ErrClosed
	case s.Entered.Before(m.g.Opening.Opens):
		return Stamp{}, ErrNotOpen
	}
	for _, r := range m.rows {
		if r.Entry.Key == n.Entry.Key && !r.Withdrawn {
			return Stamp{}, ErrAlreadyIn
		}
	}
	for _, r := range m.rows {
		if r.Ticket == n.Ticket || r.LinkHash == n.LinkHash {
			return Stamp{}, ErrTicketTaken
		}
	}
	n.Origin = cmp.Or(n.Origin, OriginForm)
	m.rows = append(m.rows, Stored{New: n, Stamp: s})
	return s, nil
}

func (m *memStore) ReplaceEntry(_ context.Context, _ string, now time.Time, oldLink [32]byte, n New) (Stamp, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	old, err := m.row(oldLink)
	switch {
	case err != nil:
		return Stamp{}, err
	case old.Withdrawn:
		return Stamp{}, ErrWithdrawn
	}
	was := *old
	old.Withdrawn, old.Reason = true, draw.Withdrawn
	s, err := m.add(now, n)
	if err != nil {
		*old = was // add has moved nothing
	}
	return s, err
}

func (m *memStore) row(linkHash [32]byte) (*Stored, error) {
	for i := range m.rows {
		if m.rows[i].LinkHash == linkHash {
			return &m.rows[i], nil
		}
	}
	return nil, ErrNoSuchLink
}

func (m *memStore) ChangeEntry(_ context.Context, _ string, now time.Time, c Change) (Stamp, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, err := m.row(c.LinkHash)
	s := m.stamp(now)
	switch {
	case err != nil:
		return Stamp{}, err
	case m.g.State != giveaway.StateOpen:
		return Stamp{}, ErrLocked
	case r.Withdrawn:
		return Stamp{}, ErrWithdrawn
	case !s.Entered.After(r.Stamp.Entered):
		return Stamp{}, ErrTooSoon
	}
	r.Salt, r.Commitment, r.Entry, r.Stamp = c.Salt, c.Commitment, c.Entry, s
	return s, nil
}

func (m *memStore) Withdraw(_ context.Context, _ string, _ time.Time, linkHash [32]byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, err := m.row(linkHash)
	switch {
	case err != nil:
		return err
	case r.Withdrawn:
		return nil
	case m.g.State != giveaway.StateOpen:
		return ErrLocked
	}
	r.Withdrawn, r.Reason = true, draw.Withdrawn
	return nil
}

func (m *memStore) EntryByLink(_ context.Context, _ string, linkHash [32]byte) (Stored, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, err := m.row(linkHash)
	if err != nil {
		return Stored{}, err
	}
	return *r, nil
}

func (m *memStore) EntryCounts(context.Context, string) (Counts, error) {
	return Counts{Issued: int64(len(m.rows))}, nil
}
