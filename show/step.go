package show

import "fmt"

// A Step is a picture of the stage.
type Step int

// The steps, in the order in which they come.
const (
	Soon       Step = iota // what will be drawn
	Tickets                // how many tickets there are
	Locked                 // the list is locked, with its fingerprint
	Number                 // the public number, or the wait for it
	Opened                 // the locked numbers are opened: the draw is made
	Line                   // every ticket in one order
	First                  // a place: State.Place says which
	Next                   // what to do now
	Alternates             // those next in line; only if asked for
)

var steps = [...]string{"soon", "tickets", "locked", "number", "opened", "line", "first", "next", "alternates"}

func (s Step) String() string {
	if s < 0 || int(s) >= len(steps) {
		return fmt.Sprintf("step %d", int(s))
	}
	return steps[s]
}

// MarshalText writes the step's word.
func (s Step) MarshalText() ([]byte, error) {
	_, err := ParseStep(s.String())
	return []byte(s.String()), err
}

// UnmarshalText reads the step's word.
func (s *Step) UnmarshalText(b []byte) (err error) {
	*s, err = ParseStep(string(b))
	return err
}

// ParseStep reads a step's word.
func ParseStep(word string) (Step, error) {
	for i, s := range steps {
		if s == word {
			return Step(i), nil
		}
	}
	return 0, fmt.Errorf("no such step: %q", word)
}

// Result reports whether the picture shows something of the result.
func (s Step) Result() bool { return s >= First }
