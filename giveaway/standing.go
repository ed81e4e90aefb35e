package giveaway

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"evenhand/draw"
)

// A Standing is how the places of a draw stand.
type Standing struct {
	Winners int          // how many prizes there are
	Record  draw.Record  // as published
	Outcome draw.Outcome // as published; Revision 0: none yet
	Places  []Stand      // all places of the record, in order
}

// A Stand is how one place stands. At most one of Passed and Confirmed is set;
// neither before the place has its turn.
type Stand struct {
	draw.Place
	Turn      *draw.Turn // nil: the place has no turn yet
	Passed    *draw.Passed
	Confirmed *draw.Confirmed
}

// Open reports whether the place has its turn and waits to be settled.
func (p Stand) Open() bool { return p.Turn != nil && p.Passed == nil && p.Confirmed == nil }

// Of returns the stand of a place, counted from 1; false if the record has no
// such place.
func (s Standing) Of(place int) (Stand, bool) {
	if place < 1 || place > len(s.Places) {
		return Stand{}, false
	}
	return s.Places[place-1], true
}

// Ticket returns the stand of a ticket; false if it has no place.
func (s Standing) Ticket(t draw.Ticket) (Stand, bool) {
	for _, p := range s.Places {
		if p.Ticket == t {
			return p, true
		}
	}
	return Stand{}, false
}

// Waiting are the places that have their turn and are not settled.
func (s Standing) Waiting() []Stand {
	return slices.DeleteFunc(slices.Clone(s.Places), func(p Stand) bool { return !p.Open() })
}

// Ungiven is how many prizes nobody can get any more: too few places stand,
// because those next in line ran out.
func (s Standing) Ungiven() int {
	return max(0, s.Winners-(len(s.Places)-len(s.Outcome.Passed)))
}

// Exhausted reports whether those next in line ran out before every prize was
// given.
func (s Standing) Exhausted() bool { return s.Ungiven() > 0 }

// Settled reports whether every prize is confirmed or can't be given any more.
func (s Standing) Settled() bool { return len(s.Outcome.Confirmed)+s.Ungiven() == s.Winners }

// standing reads the record and the outcome as they were published.
func (h Host) standing(ctx context.Context, g Giveaway) (Standing, error) {
	if g.State != StateDrawn {
		return Standing{}, StateError{State: g.State}
	}
	signer, err := h.Keys.Signer(ctx)
	if err != nil {
		return Standing{}, fmt.Errorf("signing key: %w", err)
	}
	files := h.Store.Publication(g.ID)
	s := Standing{Winners: g.Opening.Winners}
	if s.Record, err = readNote(files, signer.VerifierKey(), draw.RecordFile, draw.ParseRecord); err != nil {
		return s, err
	}
	s.Outcome, err = readNote(files, signer.VerifierKey(), draw.OutcomeFile, draw.ParseOutcome)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return s, err
	}
	s.fill()
	return s, nil
}

// readNote reads a published note that is ours.
func readNote[T any](files fs.FS, key, name string, parse func(string, []byte) (T, error)) (T, error) {
	var none T
	data, err := fs.ReadFile(files, name)
	if err != nil {
		return none, fmt.Errorf("read %s: %w", name, err)
	}
	v, err := draw.ParseVerifier(key)
	if err != nil {
		return none, fmt.Errorf("read %s: %w", name, err)
	}
	text, err := draw.OpenNote(name, data, v)
	if err != nil {
		return none, err
	}
	return parse(name, text)
}

// fill lists the places.
func (s *Standing) fill() {
	turns := draw.Turns{Winners: s.Winners, Places: len(s.Record.Places), Drawn: s.Record.Drawn, Passed: s.Outcome.Passed}.All()
	for i, p := range s.Record.Places {
		stand := Stand{Place: p}
		if i < len(turns) {
			stand.Turn = &turns[i]
		}
		for _, q := range s.Outcome.Passed {
			if q.Place == p.N {
				stand.Passed = &q
			}
		}
		for _, q := range s.Outcome.Confirmed {
			if q.Place == p.N {
				stand.Confirmed = &q
			}
		}
		s.Places = append(s.Places, stand)
	}
}

// pass makes the next outcome, nil if the place is passed already.
func (s Standing) pass(now time.Time, p Passing) (*draw.Outcome, error) {
	stand, ok := s.Of(p.Place)
	switch {
	case !ok:
		return nil, ErrNoTurn
	case stand.Passed != nil:
		return nil, nil
	case stand.Confirmed != nil && !p.GivenBack:
		return nil, TakenError{Place: p.Place, Confirmed: stand.Confirmed}
	case stand.Turn == nil:
		return nil, ErrNoTurn
	}
	at := s.stamp(now, *stand.Turn)
	if until := stand.Turn.At.Add(leastPatience); p.Reason == draw.NoReply && at.Before(until) && !p.Early {
		return nil, ErrTooEarly{Until: until}
	}
	next := s.next()
	next.Confirmed = slices.DeleteFunc(next.Confirmed, func(c draw.Confirmed) bool { return c.Place == p.Place })
	next.Passed = append(next.Passed, draw.Passed{Place: p.Place, Reason: p.Reason, At: at})
	slices.SortFunc(next.Passed, func(a, b draw.Passed) int { return a.Place - b.Place })
	return &next, nil
}

// confirm makes the next outcome, nil if the place is confirmed already.
func (s Standing) confirm(now time.Time, place int) (*draw.Outcome, error) {
	stand, ok := s.Of(place)
	switch {
	case !ok:
		return nil, ErrNoTurn
	case stand.Confirmed != nil:
		return nil, nil
	case stand.Passed != nil:
		return nil, TakenError{Place: place, Passed: stand.Passed}
	case stand.Turn == nil:
		return nil, ErrNoTurn
	}
	next := s.next()
	next.Confirmed = append(next.Confirmed, draw.Confirmed{Place: place, At: s.stamp(now, *stand.Turn)})
	slices.SortFunc(next.Confirmed, func(a, b draw.Confirmed) int { return a.Place - b.Place })
	return &next, nil
}

// stamp is the time of a new line: never before the place's turn, nor before
// a line that stands (draw protocol, "outcome.txt").
func (s Standing) stamp(now time.Time, turn draw.Turn) time.Time {
	at := now
	for _, t := range append(s.stamps(), turn.At) {
		if t.After(at) {
			at = t
		}
	}
	return at
}

func (s Standing) stamps() []time.Time {
	var all []time.Time
	for _, p := range s.Outcome.Passed {
		all = append(all, p.At)
	}
	for _, c := range s.Outcome.Confirmed {
		all = append(all, c.At)
	}
	return all
}

// next is the outcome that follows, with the lines that stand.
func (s Standing) next() draw.Outcome {
	o := draw.Outcome{
		Draw: s.Record.Draw, Record: draw.Hash(s.Record.Text()), Revision: s.Outcome.Revision + 1,
		Passed: slices.Clone(s.Outcome.Passed), Confirmed: slices.Clone(s.Outcome.Confirmed),
	}
	if s.Outcome.Revision > 0 {
		o.Replaces = draw.Hash(s.Outcome.Text())
	}
	return o
}

// mayFollow checks a new outcome by the rules that a stranger's check has.
func (s Standing) mayFollow(next draw.Outcome) error {
	if err := next.CheckTurns(s.Record, s.Winners); err != nil {
		return err
	}
	if s.Outcome.Revision == 0 {
		return nil
	}
	return draw.CheckOutcome(s.Outcome, next)
}
