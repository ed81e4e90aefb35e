package claims

import (
	"fmt"
	"slices"
	"time"

	"evenhand/sizing"
)

// A Saw is what somebody had before their eyes of a place. A step that was
// chosen upon an older one is refused: what it is about may be another size, or
// another address.
type Saw struct{ Answers, Replies, Marks int }

// String is the form that a page carries: "1.0.2".
func (s Saw) String() string { return fmt.Sprintf("%d.%d.%d", s.Answers, s.Replies, s.Marks) }

// Saw is what a row shows now.
func (r Row) Saw() Saw {
	s := Saw{Answers: r.Version, Marks: len(r.Marks)}
	for _, a := range r.Asks {
		if a.SealedReply != nil {
			s.Replies++
		}
	}
	return s
}

// A Change is a correction of an answer. It says what was changed, and bears
// no address.
type Change struct {
	At      time.Time   `json:"at"`
	Size    bool        `json:"size,omitempty"`
	Was     sizing.Size `json:"was,omitzero"` // the size before; zero where it is not known
	Address bool        `json:"address,omitempty"`
	Name    bool        `json:"name,omitempty"`
	Phone   bool        `json:"phone,omitempty"`
}

// changed is what a correction changes in an answer.
func (a Answer) changed(to Answer) Change {
	c := Change{At: to.At, Size: a.Size != to.Size, Name: a.Name != to.Name, Phone: a.Phone != to.Phone}
	if c.Size {
		c.Was = a.Size
	}
	place := func(a Answer) string { return fmt.Sprintf("%q %q %q", a.CareOf, a.Tidy.Lines, a.Tidy.Country) }
	c.Address = place(a) != place(to)
	return c
}

// any reports whether a correction changed what the sponsor needs.
func (c Change) any() bool { return c.Size || c.Address || c.Name || c.Phone }

// changes are what was changed since the sponsor could see the place, oldest
// first.
func (p Place) changes() []Change {
	if p.Confirmed == nil || p.Answer == nil {
		return nil
	}
	var all []Change
	for _, c := range p.Answer.Changes {
		if !c.At.Before(p.Confirmed.At) {
			all = append(all, c)
		}
	}
	for _, a := range p.Asks {
		if a.Reply != nil && !a.Reply.Declined {
			all = append(all, Change{At: a.Reply.At, Size: a.Kind == AskSize, Address: a.Kind == AskAddress})
		}
	}
	slices.SortStableFunc(all, func(a, b Change) int { return a.At.Compare(b.At) })
	return all
}
