package draw

import "fmt"

// A Find is where a ticket stands, and its score where the draw was made.
type Find struct {
	Ticket   Ticket   `json:"ticket"`
	Found    bool     `json:"found"` // in either list
	Standing Standing `json:"standing"`
	Score    *Digest  `json:"score,omitempty"`
	Rank     int64    `json:"rank,omitempty"` // in the order of the draw, from 1; of the first ticket asked for
}

// find answers Options.Find.
func (c *checker) find(seed *Digest) {
	for i, t := range c.opt.Find {
		f := Find{Ticket: t}
		f.Standing, f.Found = c.lists.found[t]
		if f.Standing.In && seed != nil {
			score := Score(*seed, t)
			f.Score = &score
			if i == 0 {
				f.Rank = c.lists.before + 1
			}
		}
		c.Found = append(c.Found, f)
	}
}

// String says where the ticket stands.
func (f Find) String() string {
	switch {
	case !f.Found:
		return fmt.Sprintf("ticket %s stands in neither list", f.Ticket.Grouped())
	case !f.Standing.In:
		return fmt.Sprintf("ticket %s stands in %s, line %d: %s", f.Ticket.Grouped(), ExcludedFile, f.Standing.Line, f.Standing.Reason)
	}
	return fmt.Sprintf("ticket %s stands in %s, line %d", f.Ticket.Grouped(), RollFile, f.Standing.Line)
}
