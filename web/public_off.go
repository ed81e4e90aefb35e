package web

import (
	"slices"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// An offPart is what a page says of a giveaway that was called off.
type offPart struct {
	When  Stamp
	Comes string // what comes instead, in words; "" for nothing
	URL   string // its page; "" while its terms are not posted

	Now, NowURL string // what goes on here, where nothing comes instead
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
// for any other. Where nothing of that stands yet, it names what goes on here.
func (s *Site) off(c echo.Context, g giveaway.Giveaway) (*offPart, error) {
	if g.State != giveaway.StateCancelled {
		return nil, nil
	}
	p := &offPart{When: stamp("", g.Cancelled, g.Terms.Event.Zone)}
	all, err := s.postedOnes(c)
	if err != nil {
		return nil, err
	}
	last, waits := comesAfter(all, g)
	switch {
	case waits:
		p.Comes = "Another giveaway takes its place. Its terms are not posted yet; this page leads to it once they are."
	case last.ID != "" && last.State != giveaway.StateCancelled:
		p.Comes, p.URL = last.Terms.Title, homeURL(last.ID)
	case last.ID != "":
		p.Comes = "“" + last.Terms.Title + "” was to take its place, and was called off too."
	}
	if p.URL == "" && len(all) > 0 && goesOn(all[0].Phase(now(c))) {
		p.Now, p.NowURL = all[0].Terms.Title, homeURL(all[0].ID)
	}
	return p, nil
}

// comesAfter finds what takes the place of a giveaway that was called off: the one
// that it names or that names it, and where that was called off too, the one
// after it. All are those whose terms are posted. Waits: the one that comes
// next is not among them. Last has no ID where nothing takes the place.
func comesAfter(all []giveaway.Giveaway, g giveaway.Giveaway) (last giveaway.Giveaway, waits bool) {
	seen := map[string]bool{g.ID: true}
	for g.State == giveaway.StateCancelled {
		i := slices.IndexFunc(all, func(x giveaway.Giveaway) bool {
			return !seen[x.ID] && (x.ID == g.Successor || x.Opening.Follows == g.ID)
		})
		if i < 0 {
			return last, g.Successor != "" && !seen[g.Successor]
		}
		g, last = all[i], all[i]
		seen[g.ID] = true
	}
	return last, false
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
		return standingWords(st, 0, nil, "")
	case st.In:
		return "This ticket stands on the locked list.", []string{off}
	}
	return "This ticket was not in the draw.", []string{"The reason: " + wordOr(reasonWords, st.Reason) + ".", off}
}

// proofWords say what a proof of entry is still good for.
const proofWords = "Your proof of entry keeps its meaning: it shows that this ticket was handed out, and when. A check of this giveaway says “called off”, never that a draw was held."

// sayOff is the day-book's head after it was called off. All are those whose
// terms are posted.
func (p *dayPage) sayOff(all []giveaway.Giveaway) {
	p.Head, p.Lead = "This giveaway was called off.", "Nothing is drawn. Everybody who comes to its page reads why, and when."
	last, waits := comesAfter(all, p.G)
	switch {
	case last.ID != "" && last.State != giveaway.StateCancelled:
		p.Lead += " Its page leads to “" + last.Terms.Title + "”, which takes its place."
		p.Next = step{"Go on with “" + last.ID + "”", "/desk/g/" + last.ID}
	case waits && last.ID == "":
		p.Lead += " “" + p.G.Successor + "” takes its place; its page leads there once those terms are posted."
		p.Next = step{"Go on with “" + p.G.Successor + "”", "/desk/g/" + p.G.Successor}
	case last.ID != "":
		p.Lead += " What was to take its place was called off too."
		p.Next = step{"Go to “" + last.ID + "”", "/desk/g/" + last.ID}
	default:
		p.Next = step{"Make one that takes its place", "/desk/new?from=" + p.G.ID}
	}
}
