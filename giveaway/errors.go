package giveaway

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// What callers of a [Host] or a [Store] may meet.
var (
	// ErrNotFound: there is no giveaway of this id.
	ErrNotFound = errors.New("no such giveaway")
	// ErrState: the giveaway is in a state that does not allow the move. A
	// Store also returns it when a compare-and-swap found another state than
	// the one it was to leave. The error is a [StateError] where the state
	// is known.
	ErrState = errors.New("the giveaway's state does not allow this")
	// ErrBusy: another attempt at the freeze is at work; a Store's answer only.
	ErrBusy = errors.New("the list is being locked by another")
	// ErrStale: the draft has other terms than those that were shown.
	ErrStale = errors.New("the draft was changed meanwhile")
	// ErrFollowed: another giveaway replaces the one that these terms follow;
	// a Store's answer only.
	ErrFollowed = errors.New("the giveaway that it follows is replaced by another")
	// ErrMissed: a secret was handed in that the record does not open; a
	// Store's answer only, since a Host makes the record anew.
	ErrMissed = errors.New("a secret was handed in meanwhile")
	// ErrTooLate: the time for this move is over. For a lock: the event has
	// begun, and a revision to a later event is the way out.
	ErrTooLate = errors.New("the time for this is over")
	// ErrNoBeacon: the beacon's value could not be had, or what was pasted is
	// not it.
	ErrNoBeacon = errors.New("the beacon's value is not at hand")
)

// A StateError is an [ErrState] that knows the state in which the giveaway is.
type StateError struct{ State State }

func (e StateError) Error() string { return fmt.Sprintf("%v: it is %s", ErrState, e.State) }

// Is makes errors.Is(err, ErrState) true.
func (e StateError) Is(target error) bool { return target == ErrState }

// ErrTooEarly says that a move has to wait. Use errors.As.
type ErrTooEarly struct{ Until time.Time }

func (e ErrTooEarly) Error() string {
	return "too early; it is possible from " + e.Until.UTC().Format(time.RFC3339)
}

// A Problem is one thing to put right in a field.
type Problem struct {
	Field string // JSON name, with dots and numbers for what lies within: questions.0.key
	Text  string // a sentence that says what to do
}

// Problems are all that is wrong with terms or a change of them, in the order
// of the fields. It is an error.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, one := range p {
		lines[i] = one.Field + ": " + one.Text
	}
	return "check terms: " + strings.Join(lines, "; ")
}

// Of returns the texts for one field.
func (p Problems) Of(field string) []string {
	var texts []string
	for _, one := range p {
		if one.Field == field {
			texts = append(texts, one.Text)
		}
	}
	return texts
}

// orNil keeps an empty list from becoming a non-nil error.
func (p Problems) orNil() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

func (p *Problems) add(field, format string, args ...any) {
	*p = append(*p, Problem{Field: field, Text: fmt.Sprintf(format, args...)})
}
