package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A resultPage is the draw's result in plain words.
type resultPage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Winners []placed
	Next    []placed // next in line
	Asked   bool     // who is next in line is shown too
	Verdict string
	Weak    []string // each thing to know, in a sentence
	Public  string
	Sponsor string // the page about the sponsor; "" for none
	Fair    string
	Turn    turnWords // whose turn it is; zero where claims are not kept here
	Held    Stamp     // until when it is held back at the latest; zero: it is public
}

// A placed ticket is one with its place.
type placed struct {
	Place  string
	Ticket [4]string // in groups; the last is what is read out
	Path   string    // the page about it; "" for none
	What   string    // how it stands, in a few words
	Who    *contact  // nil: not asked for, or not to be had
}

// A contact is whom to write to. It is on the desk's result page alone.
type contact struct {
	Email string
	Size  string // "women’s 8 B"; "" for a prize without sizes
	Name  string // to be said on the show; "" for none
}

// contact finds who holds a ticket; nil where the entry is no longer kept.
func (d *desk) contact(c echo.Context, id string, t draw.Ticket) (*contact, error) {
	if d.cfg.Desk.Entry == nil {
		return nil, nil
	}
	e, err := d.cfg.Desk.Entry(c.Request().Context(), id, t)
	switch {
	case errors.Is(err, entries.ErrNoSuchLink):
		return nil, nil
	case err != nil:
		return nil, err
	case e.Entry.Typed == "":
		return nil, nil
	}
	return &contact{e.Entry.Typed, e.Entry.Size.String(), e.Entry.Name}, nil
}

func (d *desk) getResult(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDrawn {
		return toDay(c, g)
	}
	report, err := d.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	p := resultPage{
		Frame: d.frame(g, "The result", now(c)), G: g,
		Verdict: deskVerdict(report), Weak: weakReport(report, g.Terms),
		Public: d.link("/g/" + g.ID), Fair: d.link("/g/" + g.ID + "/fair/"),
	}
	if at := now(c); g.Held(at) {
		p.Held = stamp("The stage shows it picture by picture. Viewers’ pages show it after that, and at the latest on", g.Released, g.Terms.Event.Zone)
	}
	stands, err := d.stands(c, &p)
	if err != nil {
		return err
	}
	if stands != nil {
		p.Sponsor = "/desk/g/" + g.ID + "/sponsor"
	}
	p.Asked = c.QueryParam("next") == "1"
	for _, place := range report.Places {
		one := placed{Place: placeWords(int(place.N), g.Terms.Winners), Ticket: ticketGroups(place.Ticket)}
		if what, ok := stands[place.N]; ok {
			one.Path, one.What = placePath(g.ID, place.N), what
		}
		won := int(place.N) <= g.Terms.Winners
		if won || p.Asked {
			if one.Who, err = d.contact(c, g.ID, place.Ticket); err != nil {
				return err
			}
		}
		if won {
			p.Winners = append(p.Winners, one)
		} else {
			p.Next = append(p.Next, one)
		}
	}
	p.Head = resultHead(p, &report)
	return d.render(c, http.StatusOK, "desk_result", p)
}

// stands says in a few words how each place stands, and whose turn it is; nil
// where claims are not kept here.
func (d *desk) stands(c echo.Context, p *resultPage) (map[int]string, error) {
	if d.cfg.Claims == nil {
		return nil, nil
	}
	ctx, id := c.Request().Context(), p.G.ID
	places, err := d.cfg.Claims.Places(ctx, now(c), id)
	if err != nil {
		return nil, err
	}
	link, err := d.cfg.Claims.LiveSponsorLink(ctx, id)
	if err != nil {
		return nil, err
	}
	if p.G.Erased.IsZero() {
		p.Turn = turnNow(p.G, places, link != "", now(c))
	}
	words := map[int]string{}
	for _, one := range places {
		words[one.N] = standWords(one)
	}
	return words, nil
}

func resultHead(p resultPage, r *draw.Report) string {
	o := r.Outcome
	if len(p.Winners) == 0 {
		return "Nobody was in, so nobody won."
	}
	head := capitalized(many(int64(len(p.Winners)), "ticket won.", "tickets won."))
	if ungiven(r) == int64(p.G.Opening.Winners) {
		head = wholeUngiven(p.G.Opening.Winners)
	}
	if o != nil && len(o.Passed) > 0 {
		head += " " + capitalized(many(int64(len(o.Passed)), "place was skipped since.", "places were skipped since."))
	}
	return head
}

// placeWords names a place: "Winner", "Winner 2", "Next in line, 1st".
func placeWords(n, winners int) string {
	switch {
	case n == 1 && winners == 1:
		return "Winner"
	case n <= winners:
		return "Winner " + number(int64(n))
	}
	return "Next in line, number " + number(int64(n-winners))
}

// deskVerdict is the verdict of the check that everybody can make.
func deskVerdict(r draw.Report) string {
	switch {
	case r.Status == draw.StatusFault:
		return "The check finds a fault in what is published. Look at the check page before you announce anything."
	case r.Status == draw.StatusNotRead:
		return "The check could not read everything that is published. Look at the check page."
	case r.Weak:
		return "Everybody can check the draw, and sees what there is to know."
	}
	return "The draw holds. Everybody can check it."
}
