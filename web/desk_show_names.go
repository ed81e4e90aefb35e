package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// namesAtOnce are the names of a page.
const namesAtOnce = 50

// maxNames is the most bytes of a page's form. A row has a name of up to 40
// characters and words of up to 80, each of up to 12 bytes when they are sent.
const maxNames = namesAtOnce * 2000

// A namesPage lists names that may be said, to be seen before the show.
type namesPage struct {
	Frame
	G      giveaway.Giveaway
	Head   string
	Lead   string
	Counts show.NameCounts
	All    bool // those that were seen too
	Rows   []nameRow
	After  string // where a list of all goes on; "": it ends here
	Note   string // what became of what was just sent
	Faults []fault
}

// A nameRow is one name.
type nameRow struct {
	Ticket string // as sent
	Ends   string // its last four characters, which are always said
	Name   string
	Marks  string // why to look twice, or ""
	Say    string // chosen
	Words  string
	Fault  string
}

// marked is 1 where the name has a mark: of a page's names these stand first.
func (r nameRow) marked() int { return min(1, len(r.Marks)) }

func (d *desk) getNames(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	return d.showNames(c, http.StatusOK, g, nil, "")
}

// showNames lists names; sent are rows that were refused.
func (d *desk) showNames(c echo.Context, status int, g giveaway.Giveaway, sent []nameRow, note string) error {
	ctx := c.Request().Context()
	p := namesPage{Frame: d.frame(g, "Names", now(c)), G: g, All: c.QueryParams().Has("all"), Rows: sent, Note: note}
	var err error
	if p.Counts, err = d.cfg.Event.Names.CountNames(ctx, g.ID); err != nil {
		return err
	}
	if sent == nil {
		if err := d.nameRows(ctx, &p, c.QueryParam("after")); err != nil {
			return err
		}
	}
	for _, r := range p.Rows {
		if r.Fault != "" {
			p.Faults = append(p.Faults, fault{Field: "like-" + r.Ticket, Label: "Ticket ending in " + r.Ends, Text: r.Fault})
		}
	}
	p.Head = "All names were seen."
	p.Lead = "What was not seen is not said: the stage then shows the ticket alone."
	switch {
	case p.Counts.All == 0:
		p.Head = "Nobody has given a name to be said."
	case p.Counts.Unseen > 0:
		p.Head = capitalized(many(p.Counts.Unseen, "name was", "names were")) + " not seen yet."
	}
	return d.render(c, status, "desk_show_names", p)
}

func (d *desk) nameRows(ctx context.Context, p *namesPage, after string) error {
	if after != "" {
		t, err := draw.ParseTicket(after)
		if err != nil {
			return errMalformed
		}
		after = t.String()
	}
	all, err := d.cfg.Event.Names.Names(ctx, p.G.ID, !p.All, after, namesAtOnce)
	for _, s := range all {
		p.Rows = append(p.Rows, rowOf(s))
	}
	slices.SortStableFunc(p.Rows, func(a, b nameRow) int { return cmp.Compare(b.marked(), a.marked()) })
	if p.All && len(all) == namesAtOnce {
		p.After = all[len(all)-1].Ticket.String()
	}
	return err
}

// rowOf is a name as it stands. What was not seen yet is offered to be said,
// unless it is marked.
func rowOf(s show.Saying) nameRow {
	r := nameRow{Ticket: s.Ticket.String(), Ends: s.Ticket.Grouped()[15:], Name: s.Name, Say: s.Say, Words: s.Words,
		Marks: strings.Join(show.Marks(s.Name), "; ")}
	switch {
	case r.Say == "" && r.Marks == "":
		r.Say = show.SayName
	case r.Say == "":
		r.Say = show.SayTicket
	}
	return r
}

// postNames keeps what was decided of the names of a page.
func (d *desk) postNames(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	form, err := c.FormParams()
	if err != nil {
		return errMalformed
	}
	tickets := form["ticket"]
	if len(tickets) > namesAtOnce {
		return errMalformed
	}
	var rows []nameRow
	var all []show.Saying
	wrong := false
	for _, ticket := range tickets {
		t, err := draw.ParseTicket(ticket)
		if err != nil {
			return errMalformed
		}
		s := show.Saying{Ticket: t, Name: form.Get("name-" + ticket), Say: form.Get("say-" + ticket), Words: form.Get("like-" + ticket)}
		r := rowOf(s)
		if s, r.Fault, err = decided(s); err != nil {
			return err
		}
		wrong = wrong || r.Fault != ""
		rows, all = append(rows, r), append(all, s)
	}
	if wrong {
		return d.showNames(c, http.StatusUnprocessableEntity, g, rows, "")
	}
	kept, err := d.cfg.Event.Names.See(uncut(c), g.ID, all, now(c))
	if err != nil {
		return err
	}
	to := "/desk/g/" + g.ID + "/show/names"
	if kept < len(all) {
		return d.showNames(c, http.StatusConflict, g, nil, "Somebody changed or withdrew a name meanwhile. What you decided of the others is kept.")
	}
	if form.Get("all") != "" && len(tickets) > 0 {
		to += "?all&after=" + slices.Max(tickets)
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// decided is the decision in its one form: words only where they are said. The
// words follow the same rules as names.
func decided(s show.Saying) (show.Saying, string, error) {
	switch s.Say {
	case show.SayName, show.SayTicket:
		s.Words = ""
	case show.SayLike:
		words, text := entries.PlainName(s.Words)
		if words == "" && text == "" {
			text = "Type what is to be said, or choose another."
		}
		if text != "" {
			return s, text, nil
		}
		s.Words = words
	default:
		return s, "", errMalformed
	}
	return s, "", nil
}

// namesLine is the line of the page before the show.
func (d *desk) namesLine(ctx context.Context, g giveaway.Giveaway, at time.Time) (readyLine, error) {
	l := readyLine{Name: "Names to be said", Do: step{"Look at the names", "/desk/g/" + g.ID + "/show/names"}}
	if d.cfg.Event.Names == nil {
		l.Good, l.Text, l.Do = true, "None are said: the stage shows tickets alone.", step{}
		return l, nil
	}
	n, err := d.cfg.Event.Names.CountNames(ctx, g.ID)
	entering := at.Before(g.Opening.Closes)
	switch {
	case n.All == 0 && entering:
		l.Later, l.Text, l.Do = true, "Nobody has given one so far. Without any, the stage shows tickets alone.", step{}
	case n.All == 0:
		l.Good, l.Text, l.Do = true, "Nobody has given one: the stage shows tickets alone.", step{}
	case n.Unseen == 0:
		l.Good, l.Text = true, "You have seen "+many(n.All, "name", "names")+"."
	default:
		l.Text = capitalized(many(n.Unseen, "name was", "names were")) + " not seen yet, of " + number(n.All) + ". What was not seen is not said: the stage then shows the ticket alone."
		if l.Later = entering; entering {
			l.Text += " More may come until entries close."
		}
	}
	return l, err
}
