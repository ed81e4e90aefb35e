package main

import (
	"context"
	"errors"

	"evenhand/draw"
)

// found is find's answer for programs.
type found struct {
	draw.Find
	Of      int64  `json:"of,omitempty"`    // tickets in the roll
	Place   int    `json:"place,omitempty"` // of the record; 0: none
	Line    string `json:"paste,omitempty"` // its SHA-256 is the score
	Status  int    `json:"status"`          // of the check of the publication
	Verdict string `json:"verdict"`
}

// find says where a ticket stands, and how anybody can repeat its number.
func (p *program) find(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	var c checking
	set.StringVar(&c.key, "signer", "", "")
	set.StringVar(&c.freeze, "freeze", "", "")
	set.Var(&c.chains, "chain", "")
	set.BoolVar(&c.json, "json", false, "")
	rest, err := p.parse(set, args, 2, 2)
	if err != nil {
		return 0, err
	}
	t, err := draw.ReadTicket(rest[1])
	if err != nil {
		return 0, err
	}
	opt, err := p.options(c)
	if err != nil {
		return 0, err
	}
	opt.Find = []draw.Ticket{t}
	r, err := p.check(ctx, rest[0], opt)
	if err != nil {
		return 0, err
	}
	if len(r.Found) == 0 && r.Opening != nil && r.Status == draw.StatusValid {
		p.print("the list is not locked yet: no ticket stands in it\n")
		return statusDone, nil
	}
	if len(r.Found) == 0 {
		p.printFaults(r)
		return statusNot, errors.New("the lists could not be read; draw verify says more")
	}
	p.printFaults(r)
	f := answer(r, t)
	if c.json {
		return r.Status, p.printJSON(f)
	}
	p.printFound(r, f)
	return r.Status, nil
}

// answer gathers what is known of a ticket.
func answer(r draw.Report, t draw.Ticket) found {
	f := found{Find: r.Found[0], Status: r.Status, Verdict: r.Verdict}
	if f.Score != nil && r.Seed != nil {
		f.Of, f.Line = r.Tickets, r.Seed.String()+t.String()
	}
	for _, place := range r.Places {
		if place.Ticket == t {
			f.Place = place.N
		}
	}
	return f
}

// printFaults warns that the answer is about a publication that does not hold.
func (p *program) printFaults(r draw.Report) {
	for _, f := range r.Findings {
		if f.Level == draw.Fault {
			p.say("%s", oneLine(f.String()))
		}
	}
	if r.Status != draw.StatusValid {
		p.say("this publication does not check out; draw verify says more")
	}
}

func (p *program) printFound(r draw.Report, f found) {
	p.print("%s\n", f.Find)
	if f.Line == "" {
		if f.Standing.In && r.Record == nil {
			p.print("the draw is not made yet: there is no number to compare\n")
		}
		return
	}
	p.print("its number (score) is number %d of %d in the order of the draw, the lowest first\n", f.Rank, f.Of)
	switch {
	case f.Place == 0:
		p.print("it has no place in the record: %d tickets have one\n", len(r.Places))
	case f.Place <= r.Opening.Winners:
		p.print("place %d: a winner's place\n", f.Place)
	default:
		p.print("place %d: next in line\n", f.Place)
	}
	p.print("\nPaste this line, without a line end, into any SHA-256 page:\n\n%s\n\n", f.Line)
	p.print("The first 64 characters are the draw's number (seed), the last 16 the ticket.\nThis must come out:\n\n%s\n", f.Score)
}
