package web

import (
	"context"
	"encoding/hex"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A secondRow is what pages say of one second holder's number: promised, in,
// or not arrived.
type secondRow struct {
	Who   string
	Print string // the fingerprint that stands in the posted terms
	Text  string // what is so
	When  Stamp  // when it came; zero: it has not
	Value string // the number itself; "" until it has come
	Link  string // where it is handed in, while it can still be; ""
	// Missing is what there is to know about a draw without it.
	Missing string
}

// secondURL is where a second holder hands the number in.
func secondURL(id, role string) string { return "/g/" + id + "/second/" + role }

// seconds says of each second holder how their number stands. The report is
// the publication's check, nil before the lock.
func (s *Site) seconds(ctx context.Context, g giveaway.Giveaway, r *draw.Report) ([]secondRow, error) {
	if len(g.Opening.Seals) < 2 {
		return nil, nil // the host alone
	}
	handed, err := s.cfg.Host.Handed(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	in := map[string]giveaway.HandedIn{}
	for _, h := range handed {
		in[h.Role] = h
	}
	var rows []secondRow
	for _, seal := range g.Opening.Seals {
		if seal.Role == giveaway.HostRole {
			continue
		}
		row := secondRow{Who: whoHolds(g.Terms, seal.Role), Print: seal.Hash.String(), Missing: missingWords(whoHolds(g.Terms, seal.Role))}
		h, ok := in[seal.Role]
		if ok {
			row.When, row.Value = stamp("", h.At, g.Terms.Event.Zone), hex.EncodeToString(h.Secret[:])
		}
		row.Text = secondWords(g, ok, withheld(r, seal.Role))
		if g.State == giveaway.StateFrozen && !ok {
			row.Link = s.link(secondURL(g.ID, seal.Role))
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// whoHolds names the holder of a part, as the terms do.
func whoHolds(t giveaway.Terms, role string) string {
	for _, s := range t.Seconds {
		if s.Role == role && s.Who != "" {
			return s.Who
		}
	}
	return role
}

// withheld reports whether the result says that a number did not arrive.
func withheld(r *draw.Report, role string) bool {
	if r == nil || r.Record == nil {
		return false
	}
	for _, secret := range r.Record.Secrets {
		if secret.Role == role {
			return secret.Withheld
		}
	}
	return false
}

// secondWords say how a second number stands. In: it was handed in; missed: the
// result was made without it.
func secondWords(g giveaway.Giveaway, in, missed bool) string {
	switch {
	case in && missed:
		return "It came too late for the draw, and changes nothing."
	case in && g.State == giveaway.StateCancelled:
		return "It was handed in; nothing is drawn with it."
	case in && g.State == giveaway.StateDrawn:
		return "It was handed in before the draw, and went into it."
	case in:
		return "It was handed in, and goes into the draw."
	case g.State == giveaway.StateDrawn:
		return "It did not arrive. The draw was made without it."
	case g.State == giveaway.StateCancelled:
		return "It was not handed in, and is not wanted any more."
	case g.State == giveaway.StateFrozen:
		return "It has not been handed in yet. There is time until the draw is made."
	}
	return "Nobody else knows it. It is handed in after the list is locked and before the draw, and then stands here."
}

// missingWords say what a draw without a second number has to be known for.
func missingWords(who string) string {
	return lowered(draw.WithheldWords(who))
}
