package web

import (
	"context"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A Know is what every page of a giveaway says about its draw, if anything.
type Know struct {
	Fault   bool     // the check finds a fault
	Weak    []string // why the draw is weak
	Seconds []secondRow
	Drawn   bool
	Changes []changeRow // of the posted terms, by time
	FairURL string
	// Calendar is where the draw's calendar file is; "" once there is nothing to
	// wait for.
	Calendar string
}

// know finds what there is to know. While entries are open the posted terms
// say it all; from the lock on the check does.
func (s *Site) know(ctx context.Context, g giveaway.Giveaway) (Know, *draw.Report, error) {
	k := Know{FairURL: s.link(fairURL(g.ID)), Calendar: calendarOf(g), Drawn: g.State == giveaway.StateDrawn, Changes: s.changes(g)}
	if g.State == giveaway.StateOpen || g.State == giveaway.StateFreezing {
		var err error
		k.Weak = weakOpening(g.Opening)
		k.Seconds, err = s.seconds(ctx, g, nil)
		return k, nil, err
	}
	r, err := s.check(ctx, g)
	if err != nil {
		return k, nil, err
	}
	k.Fault, k.Weak = r.Status == draw.StatusFault, weakReport(r, g.Terms)
	k.Seconds, err = s.seconds(ctx, g, &r)
	return k, &r, err
}

// weakOpening is what the posted terms alone make weak (draw protocol, "What
// it protects against").
func weakOpening(o draw.Opening) []string {
	why := o.WeakWords()
	if why == "" {
		return nil
	}
	return []string{lowered(why)}
}

// weakReport adds what the result makes weak. Holders are named as the terms do.
func weakReport(r draw.Report, t giveaway.Terms) []string {
	if r.Opening == nil {
		return nil
	}
	why := weakOpening(*r.Opening)
	if r.Record == nil {
		return why
	}
	for _, secret := range r.Record.Secrets {
		if secret.Withheld {
			why = append(why, missingWords(whoHolds(t, secret.Role)))
		}
	}
	return why
}
