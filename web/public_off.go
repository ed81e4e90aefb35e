package web

import (
	"context"
	"errors"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// An offPart is what a page says of a giveaway that was called off.
type offPart struct {
	When  Stamp
	Comes string // what comes instead, in words; "" for nothing
	URL   string // its page; "" while its terms are not posted
}

// asPublished takes what stands of a giveaway's end from its file, where that
// was read: what is signed counts.
func asPublished(g giveaway.Giveaway, r *draw.Report) giveaway.Giveaway {
	if g.State == giveaway.StateCancelled && r != nil && r.Cancelled != nil {
		g.Cancelled, g.CancelReason, g.Successor = r.Cancelled.At, r.Cancelled.Reason, r.Cancelled.Successor
	}
	return g
}

// off says when a giveaway was called off, and what comes instead; nil
// for any other.
func (s *Site) off(ctx context.Context, g giveaway.Giveaway) (*offPart, error) {
	if g.State != giveaway.StateCancelled {
		return nil, nil
	}
	p := &offPart{When: stamp("", g.Cancelled, g.Terms.Event.Zone)}
	if g.Successor == "" {
		return p, nil
	}
	p.Comes = "Another giveaway takes its place. It will stand at " + s.link(homeURL(g.Successor)) + " when its terms are posted."
	next, err := s.cfg.Host.Store.Giveaway(ctx, g.Successor)
	switch {
	case errors.Is(err, giveaway.ErrNotFound):
		return p, nil
	case err != nil:
		return nil, err
	case next.State != giveaway.StateDraft:
		p.Comes, p.URL = next.Terms.Title, homeURL(next.ID)
	}
	return p, nil
}

// offLead are the sentences under the heading of a giveaway that was called off.
func offLead(g giveaway.Giveaway) []string {
	lead := []string{"No draw will be made. Nothing here chooses a winner. The reason: " + offWhy(g.CancelReason) + "."}
	if offStage(g, g.Cancelled) == "late" {
		lead = append(lead, "It was called off when the host could already know the result. Ask "+hostOr(g.Terms)+" about it.")
	}
	return lead
}

// offTimes are the times of a giveaway that was called off, but that itself.
func offTimes(g giveaway.Giveaway) []whenRow {
	zone := g.Terms.Event.Zone
	rows := []whenRow{}
	if !g.Cancelled.Before(g.Opening.Closes) {
		rows = append(rows, whenRow{"Entries closed", stamp("", g.Opening.Closes, zone)})
	}
	if !g.Frozen.IsZero() {
		rows = append(rows, whenRow{"The list was locked", stamp("", g.Frozen, zone)})
	}
	return append(rows, whenRow{"The draw would have been on", stamp("", g.Opening.Event, zone)})
}

// offTicketWords say where a ticket stands after a giveaway was called off.
func offTicketWords(st entries.Standing) (head string, lead []string) {
	const off = "The giveaway was called off, so nothing is drawn, and no ticket wins."
	switch {
	case !st.Locked:
		return "This giveaway was called off.", []string{"The list was never locked. " + off}
	case !st.Known():
		return standingWords(st, 0, nil)
	case st.In:
		return "This ticket stands on the locked list.", []string{off}
	}
	return "This ticket was not in the draw.", []string{"The reason: " + wordOr(reasonWords, st.Reason) + ".", off}
}

// proofWords say what a proof of entry is still good for.
const proofWords = "Your proof of entry keeps its meaning: it shows that this ticket was handed out, and when. A check of this giveaway says “called off”, never that a draw was held."

// sayOff is the day-book's head after it was called off.
func (p *dayPage) sayOff() {
	p.Head, p.Lead = "This giveaway was called off.", "Nothing is drawn. Everybody who comes to its page reads why, and when."
	if p.G.Successor != "" {
		p.Lead += " It leads to “" + p.G.Successor + "”, which takes its place."
		p.Next = step{"Go on with “" + p.G.Successor + "”", "/desk/g/" + p.G.Successor}
		return
	}
	p.Next = step{"Make one that takes its place", "/desk/new?from=" + p.G.ID}
}
