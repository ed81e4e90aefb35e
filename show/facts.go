package show

import (
	"context"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Facts are what the picture of a state may know, and nothing more: Places,
// Next and Names are empty before the first place is shown.
type Facts struct {
	G       giveaway.Giveaway
	Tickets int64       // in the draw; 0 before the lock
	Print   draw.Digest // fingerprint of the list; zero before the lock
	Number  string      // the public number, hexadecimal; "" while it is not known here
	Missing []string    // who holds the numbers that did not arrive; once they were opened
	Places  []draw.Place
	Next    []draw.Place // next in line; for Alternates alone
	Names   map[draw.Ticket]string
}

// Facts reads what the picture of a state may know. Names are for the stage
// and the remote alone: viewers' pages show tickets.
func (s Show) Facts(ctx context.Context, st State, names bool) (Facts, error) {
	g, err := s.Host.Store.Giveaway(ctx, st.Draw)
	if err != nil {
		return Facts{}, err
	}
	f := Facts{G: g}
	if g.State == giveaway.StateFrozen || g.State == giveaway.StateDrawn {
		locked, err := s.Host.Locked(ctx, g)
		if err != nil {
			return f, err
		}
		f.Tickets, f.Print = locked.Roll, draw.Hash(locked.Text())
	}
	if g.State != giveaway.StateDrawn || st.Step < Opened {
		return f, nil
	}
	stand, err := s.Host.Outcome(ctx, g.ID)
	if err != nil {
		return f, err
	}
	f.Missing = missing(g.Terms, stand.Record)
	if !st.Step.Result() {
		return f, nil
	}
	return f, s.result(ctx, &f, st, stand, names)
}

// result adds the places that were shown.
func (s Show) result(ctx context.Context, f *Facts, st State, stand giveaway.Standing, names bool) error {
	all := stand.Record.Places
	shown := min(stand.Winners, len(all))
	if st.Step == First {
		shown = min(shown, st.Place)
	}
	f.Places = all[:shown]
	if st.Step == Alternates {
		f.Next = all[shown:]
	}
	if !names {
		return nil
	}
	var tickets []draw.Ticket
	for _, p := range f.Places {
		tickets = append(tickets, p.Ticket)
	}
	var err error
	f.Names, err = s.Store.Said(ctx, f.G.ID, tickets)
	return err
}

// missing names the holders of the numbers that did not arrive.
func missing(t giveaway.Terms, r draw.Record) (who []string) {
	for _, secret := range r.Secrets {
		if !secret.Withheld {
			continue
		}
		name := secret.Role
		for _, s := range t.Seconds {
			if s.Role == secret.Role && s.Who != "" {
				name = s.Who
			}
		}
		who = append(who, name)
	}
	return who
}

// waiting reports whether the public number is still to come.
func (f Facts) waiting(now time.Time) bool {
	return f.G.Opening.Beacon != nil && now.Before(f.G.DrawAt())
}
