package giveaway

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhand/draw"
)

// How long nobody says anything about a parcel, or a prize, before the rules
// go on without it. The rules that are written say the same. Common practice,
// no source.
const (
	arrivesDays = 30  // after it was sent
	endsDays    = 365 // after the draw, whatever has happened by then
)

const dayLong = 24 * time.Hour

// A Parcel is the last that the sponsor said of a parcel: that it was sent, or
// that it has arrived.
type Parcel struct {
	At        time.Time
	Delivered bool
}

// arrived is when the parcel has arrived, or counts as arrived.
func (p Parcel) arrived() time.Time {
	if p.Delivered {
		return p.At
	}
	return p.At.Add(arrivesDays * dayLong)
}

// Ended returns when a giveaway has ended, or will have as things stand. One
// that was called off has ended then. One that was drawn has ended when every
// prize has arrived or can't be given any more: a parcel that was sent counts
// as arrived 30 days later, and 365 days after the draw the giveaway has ended
// whatever has happened. Parcels are by place. The zero time for any other.
func Ended(g Giveaway, s Standing, parcels map[int]Parcel) time.Time {
	switch g.State {
	case StateCancelled:
		return g.Cancelled
	case StateDrawn:
	default:
		return time.Time{}
	}
	last := g.Drawn.Add(endsDays * dayLong)
	if !s.Settled() {
		return last
	}
	ended := g.Drawn
	for _, at := range s.stamps() {
		ended = notBefore(ended, at)
	}
	for _, c := range s.Outcome.Confirmed {
		p, ok := parcels[c.Place]
		if !ok {
			return last
		}
		ended = notBefore(ended, p.arrived())
	}
	if ended.After(last) {
		return last
	}
	return ended
}

// EraseAt returns when the personal data of a giveaway that ended then is
// deleted: [Terms.DaysKept] days of 24 hours later, at the full hour (UTC)
// before, so that it is within what the rules say. The zero time for one that
// has not ended.
func EraseAt(g Giveaway, ended time.Time) time.Time {
	if ended.IsZero() {
		return ended
	}
	return ended.UTC().Add(time.Duration(g.Terms.DaysKept()) * dayLong).Truncate(time.Hour)
}

// What the deletion of personal data may meet besides [StateError].
var (
	// ErrNotEnded: a prize is not settled yet.
	ErrNotEnded = errors.New("a prize is not settled yet")
	// ErrMayWin: the ticket may still get a prize.
	ErrMayWin = errors.New("this ticket may still get a prize")
	// ErrNoTicket: the giveaway has no such ticket.
	ErrNoTicket = errors.New("no such ticket")

	errNoData = errors.New("no store for deletions here")
)

// An EraseStore deletes personal data. It is the same store as [Host.Store].
type EraseStore interface {
	// Parcels returns the last that the sponsor said of each parcel that was
	// sent, by place.
	Parcels(ctx context.Context, id string) (map[int]Parcel, error)
	// Erase deletes the personal data of a giveaway and writes e.At as the
	// time, once; a second is [ErrState], as is another state or another
	// revision of the outcome than those in e.
	Erase(ctx context.Context, id string, e Erasure) error
	// EraseTicket deletes the personal data of one ticket, while the giveaway
	// is in that state: [ErrState]. [ErrMayWin] for a ticket on the list,
	// unless listed; [ErrNoTicket]. A second is no error.
	EraseTicket(ctx context.Context, id string, t draw.Ticket, state State, listed bool, at time.Time) error
	// TicketsOf returns the tickets whose address counts as key, ascending.
	TicketsOf(ctx context.Context, id, key string) ([]draw.Ticket, error)
}

// An Erasure is all that belongs to the deletion of a giveaway's data.
type Erasure struct {
	At      time.Time
	State   State // that the giveaway is in
	Outcome int   // revision of the outcome that was looked at; 0: none
	Terms   Terms // without addresses of people
}

// An Ending is how far a giveaway is from the deletion of its data.
type Ending struct {
	May   bool      // it has ended, or every prize is settled: it may be deleted by hand
	Ended time.Time // as [Ended]
	At    time.Time // as [EraseAt]: when it is deleted without anybody's doing
	// Underway are the confirmed places whose parcel nobody has marked as
	// delivered.
	Underway []Stand

	outcome int
}

// Ending says how far a giveaway is from the deletion of its data. The zero
// value for one that is neither drawn nor cancelled.
func (h Host) Ending(ctx context.Context, now time.Time, g Giveaway) (Ending, error) {
	var e Ending
	if h.Data == nil {
		return e, errNoData
	}
	if g.State != StateDrawn {
		e.Ended = Ended(g, Standing{}, nil)
		e.At, e.May = EraseAt(g, e.Ended), !e.Ended.IsZero()
		return e, nil
	}
	s, err := h.standing(ctx, g)
	if err != nil {
		return e, fmt.Errorf("look whether %s has ended: %w", g.ID, err)
	}
	parcels, err := h.Data.Parcels(ctx, g.ID)
	if err != nil {
		return e, fmt.Errorf("look whether %s has ended: %w", g.ID, err)
	}
	for _, p := range s.Places {
		if p.Confirmed != nil && !parcels[p.N].Delivered {
			e.Underway = append(e.Underway, p)
		}
	}
	e.Ended, e.outcome = Ended(g, s, parcels), s.Outcome.Revision
	e.At, e.May = EraseAt(g, e.Ended), s.Settled() || !now.Before(e.Ended)
	return e, nil
}

// Erase deletes the personal data of a giveaway for good, whether it is due or
// not: what the entrants, the winners and the sponsor wrote, the links, the
// addresses in the terms. What was published stays, byte for byte. Twice is no
// error, and the first time stands. Errors: [ErrNotEnded] while a prize is not
// settled; [StateError] for a giveaway that is neither drawn nor called off;
// [ErrState] if something else came first: look again.
func (h Host) Erase(ctx context.Context, now time.Time, id string) (Giveaway, error) {
	return h.erase(ctx, now, id, func(e Ending) bool { return e.May })
}

func (h Host) erase(ctx context.Context, now time.Time, id string, may func(Ending) bool) (Giveaway, error) {
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil || !g.Erased.IsZero() {
		return g, err
	}
	if g.State != StateDrawn && g.State != StateCancelled {
		return g, fmt.Errorf("delete the data of %s: %w", id, StateError{State: g.State})
	}
	e, err := h.Ending(ctx, now, g)
	if err != nil {
		return g, err
	}
	if !may(e) {
		return g, fmt.Errorf("delete the data of %s: %w", id, ErrNotEnded)
	}
	at := notBefore(second(now), notBefore(g.Drawn, g.Cancelled))
	lost := h.Data.Erase(ctx, id, Erasure{At: at, State: g.State, Outcome: e.outcome, Terms: g.Terms.withoutAddresses()})
	if lost != nil && !errors.Is(lost, ErrState) {
		return g, fmt.Errorf("delete the data of %s: %w", id, lost)
	}
	if g, err = h.Store.Giveaway(ctx, id); err == nil && g.Erased.IsZero() {
		err = lost
	}
	return g, err
}

// eraseDue reports whether a giveaway's data has to be deleted now.
func (h Host) eraseDue(ctx context.Context, now time.Time, g Giveaway) (bool, error) {
	if h.Data == nil || !g.Erased.IsZero() || g.State != StateDrawn && g.State != StateCancelled {
		return false, nil
	}
	// No giveaway ends before it is drawn or called off: most need no reading.
	if now.Before(EraseAt(g, notBefore(g.Drawn, g.Cancelled))) {
		return false, nil
	}
	e, err := h.Ending(ctx, now, g)
	return err == nil && !now.Before(e.At), err
}

// withoutAddresses leaves out of the terms the e-mail addresses of people who
// may not win. The rules that were posted only count them.
func (t Terms) withoutAddresses() Terms {
	var kept []string
	for _, b := range t.Barred {
		if !IsAddress(b) {
			kept = append(kept, b)
		}
	}
	t.Barred = kept
	return t
}

// EraseTicket deletes the personal data of one ticket, as its holder asks, once
// the list is locked. The ticket stays on its list. Twice is no error. Errors:
// [ErrMayWin] for a ticket that may still be drawn, or whose place is not
// skipped; [ErrNotLocked] before the lock, when its holder can withdraw it;
// [ErrNoTicket]; [StateError] for a draft.
func (h Host) EraseTicket(ctx context.Context, now time.Time, id string, t draw.Ticket) error {
	if h.Data == nil {
		return errNoData
	}
	g, err := h.Store.Giveaway(ctx, id)
	if err != nil {
		return err
	}
	listed, err := h.mayEraseListed(ctx, g, t)
	if err == nil {
		err = h.Data.EraseTicket(ctx, id, t, g.State, listed, second(now))
	}
	if err != nil {
		return fmt.Errorf("delete the data of a ticket of %s: %w", id, err)
	}
	return nil
}

// MayEraseTicket says whether [Host.EraseTicket] would take a ticket now; listed
// is whether it is in the draw.
func (h Host) MayEraseTicket(ctx context.Context, g Giveaway, t draw.Ticket, listed bool) error {
	may, err := h.mayEraseListed(ctx, g, t)
	if err == nil && listed && !may {
		err = ErrMayWin
	}
	return err
}

// mayEraseListed reports whether a ticket may go that is on the list of the
// draw.
func (h Host) mayEraseListed(ctx context.Context, g Giveaway, t draw.Ticket) (bool, error) {
	switch g.State {
	case StateDraft:
		return false, StateError{State: g.State}
	case StateOpen, StateFreezing:
		return false, ErrNotLocked
	case StateFrozen:
		return false, nil
	case StateCancelled:
		return true, nil
	}
	s, err := h.standing(ctx, g)
	if err != nil {
		return false, err
	}
	if p, ok := s.Ticket(t); ok && p.Passed == nil && g.Erased.IsZero() {
		return false, ErrMayWin
	}
	return true, nil
}

// TicketsOf returns the tickets whose address counts as key, whether they are
// in the draw or not.
func (h Host) TicketsOf(ctx context.Context, id, key string) ([]draw.Ticket, error) {
	if h.Data == nil {
		return nil, errNoData
	}
	return h.Data.TicketsOf(ctx, id, key)
}
