package show

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A rehearsal is a giveaway of its own, made up for practice: its id begins with
// [giveaway.RehearsalID], so every text that is signed for it says what it is;
// its numbers are its own, made for it and thrown away with it; its channel is
// RehearsalChannel, which every screen shows. No public address serves it, and
// no list has it.
const (
	RehearsalChannel = "REHEARSAL"
	rehearsalTickets = 60
	rehearsalWindow  = 2 * time.Hour // from its start to now, all of it past
	rehearsalWait    = time.Minute   // from now to its public number
)

// A RehearsalStore finds and deletes rehearsals.
type RehearsalStore interface {
	// Rehearsal returns the id of the newest rehearsal, "" if there is none.
	Rehearsal(ctx context.Context) (id string, err error)
	// DropRehearsals deletes all rehearsals, wholly. Nothing else is touched.
	DropRehearsals(ctx context.Context) error
}

// Rehearsals make and end rehearsals; there is one at a time.
type Rehearsals struct {
	Store RehearsalStore
	Host  giveaway.Host
	Names Names
	Enter func(ctx context.Context, now time.Time, g giveaway.Giveaway, f entries.Form) error
	Rand  io.Reader
}

// Make makes a rehearsal of a giveaway's show, with its list locked; one of
// before is deleted. With number it waits for a public number, as the giveaway
// does: the one of a minute from now. Without, or where the giveaway has none,
// its draw is due, by locked numbers of its own alone.
func (r Rehearsals) Make(ctx context.Context, now time.Time, of giveaway.Giveaway, number bool) (giveaway.Giveaway, error) {
	if err := r.Store.DropRehearsals(ctx); err != nil {
		return giveaway.Giveaway{}, err
	}
	if !number {
		of.Terms.Beacon = giveaway.BeaconNone
	}
	g, err := r.make(ctx, now.UTC().Truncate(time.Second), of)
	if err != nil {
		return g, errors.Join(fmt.Errorf("make a rehearsal: %w", err), r.Store.DropRehearsals(context.WithoutCancel(ctx)))
	}
	return g, nil
}

func (r Rehearsals) make(ctx context.Context, now time.Time, of giveaway.Giveaway) (g giveaway.Giveaway, err error) {
	host := r.Host
	host.Now = nil // its times are past
	start := now.Add(-rehearsalWindow)
	t, err := r.terms(start, now, of.Terms)
	if err != nil {
		return g, err
	}
	if _, err = host.DraftRehearsal(ctx, start, t); err != nil {
		return g, err
	}
	if g, err = host.Open(ctx, start, t.Draw); err != nil {
		return g, err
	}
	for n := range rehearsalTickets {
		if err := r.Enter(ctx, start.Add(time.Minute), g, madeUp(n)); err != nil {
			return g, err
		}
	}
	if _, err = host.Lock(ctx, g.Opening.Closes.Add(time.Minute), g.ID); err != nil {
		return g, err
	}
	if err := r.seen(ctx, now, g.ID); err != nil {
		return g, err
	}
	return host.Store.Giveaway(ctx, g.ID)
}

// terms are what a show shows of a giveaway, and nothing that binds.
func (r Rehearsals) terms(start, now time.Time, of giveaway.Terms) (t giveaway.Terms, err error) {
	var b [6]byte
	if _, err := io.ReadFull(r.Rand, b[:]); err != nil {
		return t, err
	}
	t = giveaway.Terms{
		Draw: giveaway.RehearsalID + hex.EncodeToString(b[:]), Channel: RehearsalChannel, Title: "Rehearsal: nothing can be won here.",
		Prize: of.Prize, Sponsor: of.Sponsor, Winners: of.Winners, Alternates: of.Alternates, AnswerDays: of.AnswerDays,
		Region: eligibility.Region{Live: []string{"US"}, Ship: []string{"US"}, AlaskaHawaii: true}, LockMinutes: 10,
		Beacon: of.Beacon, Rules: "This is a rehearsal. Nobody has entered, and nothing can be won.\n",
	}
	event := now
	if t.Beacon != giveaway.BeaconNone {
		event = now.Add(rehearsalWait)
	}
	for at, m := range map[time.Time]*giveaway.Moment{start: &t.Opens, now.Add(-time.Hour): &t.Closes, event: &t.Event} {
		if *m, err = giveaway.MomentAt(at, of.Event.Zone); err != nil {
			return t, err
		}
	}
	return t, nil
}

// madeUp is somebody who is not there. Every other one has a name to be said.
func madeUp(n int) entries.Form {
	f := entries.Form{Email: fmt.Sprintf("nobody-%d@example.org", n), Live: "US", State: "ME", Rules: "yes"}
	if names := []string{"Ash", "Birch", "Cedar", "Dogwood", "Elm"}; n%2 == 0 {
		f.Name = names[n/2%len(names)] + " (made up)"
	}
	return f
}

// seen lets all made-up names be said.
func (r Rehearsals) seen(ctx context.Context, now time.Time, id string) error {
	all, err := r.Names.Names(ctx, id, true, "", rehearsalTickets)
	for i := range all {
		all[i].Say = SayName
	}
	if err == nil {
		_, err = r.Names.See(ctx, id, all, now)
	}
	return err
}
