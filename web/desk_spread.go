package web

import (
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A spreadPage is what is told to the world, by where the giveaway stands.
type spreadPage struct {
	Frame
	G      giveaway.Giveaway
	Head   string
	Lead   string
	Text   string // to paste under the video
	Public string // the giveaway's page
	Trial  string // said where no viewer can open the links, or ""
	Say    string // the sentence to be said aloud, or ""
	Turn   *nextLook
	Enter  bool // entries are taken, or will be: the page has a code that leads there
	Next   step
}

func (d *desk) getSpread(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateDraft {
		return toDay(c, g)
	}
	p, err := d.spreadPage(c, g)
	if err != nil {
		return err
	}
	return d.render(c, http.StatusOK, "desk_spread", p)
}

// spreadPage has the one text for under the video; what else shows it takes it
// from here.
func (d *desk) spreadPage(c echo.Context, g giveaway.Giveaway) (spreadPage, error) {
	p := spreadPage{Frame: d.frame(g, "Under the video", now(c)), G: g, Turn: turnOf(g, now(c)), Public: d.link(homeURL(g.ID)), Say: g.Terms.Disclosure, Trial: trialWords(d.cfg.PublicURL),
		Next: step{"Go to the day-book", "/desk/g/" + g.ID}}
	return p, d.spread(c, &p)
}

// spread writes heading and text. A result that is held back is not told.
func (d *desk) spread(c echo.Context, p *spreadPage) error {
	g := p.G.AsPublic(now(c))
	report, err := d.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	lines, stays := []string{g.Terms.Title}, stayLines(g.Terms, p.Public)
	switch {
	case g.State == giveaway.StateCancelled:
		p.Head, p.Lead = "It was called off. Say so under the video.", "Put this text in the place of the old one."
		lines = append(append(lines, d.offLines(g, p.Public)...), stays...)
	case g.State == giveaway.StateDrawn && report.Record != nil:
		p.Head, p.Lead = "The draw is made. Put the result under the video.", "Put this text in the place of the old one. Tickets are no secret; who holds one is."
		lines = append(append(lines, drawnLines(g, report, p.Public)...), stays...)
	case report.FreezeAt != nil:
		p.Head, p.Lead = "The list is locked. Put its fingerprint under the video.", "Put this text in the place of the old one, before the draw."
		lines = append(append(lines, lockedLines(g, report, p.Public)...), stays...)
	default:
		p.Enter, p.Head, p.Lead = true, "The terms are posted. Now tell people.", "Put this text under the video as it is."
		p.Next = step{"Keep the recovery sheet", p.path("sheet")}
		if !g.Kept.IsZero() {
			p.Next = step{"Go to the day-book", "/desk/g/" + g.ID}
		}
		if !now(c).Before(g.Opening.Closes) {
			p.Enter, p.Head, p.Next = false, "Entries are closed. The text says what was posted.", step{"Go to the day-book", "/desk/g/" + g.ID}
		}
		if g.Revision > 1 {
			p.Head, p.Lead = "The terms have changed. Put the new text under the video.", "Put it in the place of the old one. It says what was moved, and what stood there before."
		}
		lines = append(lines, termsLines(g, d.openings(g), p.Public, p.Enter)...)
	}
	lines = append(lines, "", "Anybody can check it: "+d.link(fairURL(g.ID)), "The key that everything is signed with: "+d.vkey(c),
		"Fingerprint of the posted terms: "+g.OpeningHash.String(), "", officialWords(g.Terms))
	p.Text = strings.Join(lines, "\n") + "\n"
	return nil
}

func (p spreadPage) path(page string) string { return "/desk/g/" + p.G.ID + "/" + page }

// stayLines stand in every text that takes the place of the first one: who gave
// the prize, and where the rules are. What a sponsor
// gave is said where people see it (16 CFR 255).
func stayLines(t giveaway.Terms, public string) []string {
	lines := []string{""}
	if t.Disclosure != "" {
		lines = append(lines, t.Disclosure)
	}
	return append(lines, rulesLine(public))
}

func rulesLine(public string) string {
	return "The rules: " + strings.TrimSuffix(public, "/") + "/rules"
}

// lockedLines say when the list was locked, and what shows later that it
// stayed as it was.
func lockedLines(g giveaway.Giveaway, r draw.Report, public string) []string {
	return []string{
		"The list of tickets was locked on " + stamp("", g.Frozen, g.Terms.Event.Zone).Words + ", with " + count(r.Freeze.Roll, "ticket", "tickets") + " on it.",
		"Fingerprint of the list: " + r.FreezeAt.String(), "Save that line before the draw: it shows that the list was not changed.", "",
		"The draw is live, " + timeWords(g.Terms.Event) + ".", "See where your ticket stands: " + public,
	}
}

// termsLines say where to enter and what is fixed. Kept are the posted terms
// as they were before each change.
func termsLines(g giveaway.Giveaway, kept []draw.Opening, public string, enter bool) []string {
	t, closes, event := g.Terms, timeWords(g.Terms.Closes), timeWords(g.Terms.Event)
	fixed := "Fixed before the first entry:"
	if len(kept) > 0 {
		fixed = "What was posted, and what was changed since:"
		closes += movedFrom(kept, t.Event.Zone, func(o draw.Opening) time.Time { return o.Closes }, g.Opening)
		event += movedFrom(kept, t.Event.Zone, func(o draw.Opening) time.Time { return o.Event }, g.Opening)
	}
	where := "Enter here, free: " + public
	if !enter {
		where = "Entries are closed. The giveaway: " + public
	}
	lines := []string{where, ""}
	if t.Disclosure != "" {
		lines = append(lines, t.Disclosure, "")
	}
	lines = append(lines, fixed, "– entries close "+closes, "– the draw is live, "+event, "– "+winnersWords(t))
	for _, one := range shortFacts(t) {
		lines = append(lines, "– "+one)
	}
	for i, o := range kept {
		next := g.Opening
		if i+1 < len(kept) {
			next = kept[i+1]
		}
		if next.Rules != o.Rules {
			lines = append(lines, "– the rules were changed on "+stamp("", next.Revised, t.Event.Zone).Words)
		}
	}
	return append(lines, rulesLine(public), "The two times can only be moved to a later one, in public, and the old ones stay visible.")
}

// movedFrom says what a time was before it was moved, each earlier one, and
// when; "" for one that was not.
func movedFrom(kept []draw.Opening, zone string, of func(draw.Opening) time.Time, stands draw.Opening) string {
	var words []string
	for i, o := range kept {
		next := stands
		if i+1 < len(kept) {
			next = kept[i+1]
		}
		if !of(next).Equal(of(o)) {
			words = append(words, "moved on "+stamp("", next.Revised, zone).Words+"; before: "+stamp("", of(o), zone).Words)
		}
	}
	if len(words) == 0 {
		return ""
	}
	return " (" + strings.Join(words, "; ") + ")"
}

// drawnLines say which tickets won.
func drawnLines(g giveaway.Giveaway, r draw.Report, public string) []string {
	lines := []string{"The draw was made on " + stamp("", g.Drawn, g.Terms.Event.Zone).Words + ", with " + count(r.Tickets, "ticket", "tickets") + " on the locked list."}
	for _, place := range r.Places {
		if int(place.N) <= g.Terms.Winners {
			lines = append(lines, capitalized(ordinal(int64(place.N)))+": ticket "+place.Ticket.Grouped())
		}
	}
	if len(r.Places) == 0 {
		lines = append(lines, "No ticket was on it, so nobody won.")
	}
	return append(lines, "Where every ticket came: "+public)
}

// offLines say why nothing is drawn and what comes instead.
func (d *desk) offLines(g giveaway.Giveaway, public string) []string {
	lines := []string{"This giveaway was called off on " + stamp("", g.Cancelled, g.Terms.Event.Zone).Words + ": " + offWhy(g.CancelReason) + ".", "Nothing is drawn, and nobody wins in it. " + public}
	if g.Successor != "" {
		lines = append(lines, "Another giveaway takes its place: "+d.link(homeURL(g.Successor)))
	}
	return lines
}

// winnersWords: "1 winner, with 3 next in line".
func winnersWords(t giveaway.Terms) string {
	words := count(int64(t.Winners), "winner", "winners")
	if t.Alternates > 0 {
		words += ", with " + number(int64(t.Alternates)) + " next in line"
	}
	return words
}

// officialWords tell viewers how to know a false message.
func officialWords(t giveaway.Terms) string {
	words := "A real message from me about this giveaway never asks for money, a password or a card number."
	if t.Host != "" {
		words = "A real message from me about this giveaway comes from " + t.Host + " and never asks for money, a password or a card number."
	}
	return words + " Nobody has to pay to win, and there is no second sign-up."
}
