package web

import (
	"encoding/binary"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A ticketPage is what anybody may know of a ticket.
type ticketPage struct {
	Frame
	Know
	Head   string
	Lead   []string
	Ticket [4]string
	Wins   bool
	Score  string // its number in the draw, 64 hex digits
	Share  string // the number as a part of one, "0.0000411"
	Line   string // what to paste into any SHA-256 page
	ID     string
	Figure *lineFigure // nil: before the draw, or it is not on the list
}

// getTicketTyped is where the ticket finder's form leads.
func (s *Site) getTicketTyped(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	t, err := draw.ReadTicket(c.QueryParam("ticket"))
	if err != nil {
		return errNoTicket
	}
	return c.Redirect(http.StatusSeeOther, ticketURL(g.ID, t))
}

// getTicket says where a ticket stands, from the published files alone.
func (s *Site) getTicket(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	typed := pathValue(c.Param("ticket"))
	t, err := draw.ReadTicket(typed)
	switch {
	case err != nil:
		return errNoTicket
	case t.String() != typed:
		return c.Redirect(http.StatusMovedPermanently, ticketURL(g.ID, t))
	}
	know, report, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	standing, err := entries.Look(s.public(g, now(c)), t)
	if err != nil {
		return err
	}
	p := ticketPage{Frame: frame(g, now(c), "Ticket "+t.Grouped()), Know: know, Ticket: ticketGroups(t), ID: g.ID}
	p.Follow = s.follow(g, false)
	if p.Figure, err = s.figureOf(c, t, standing, "this ticket"); err != nil {
		return err
	}
	rank, err := s.rankOf(g, t, standing, report)
	if err != nil {
		return err
	}
	p.Head, p.Lead = standingWords(standing, rank, report, g.Terms.Event.Zone)
	if g.State == giveaway.StateCancelled {
		p.Head, p.Lead = offTicketWords(standing)
	}
	p.Wins = standing.Wins
	if standing.In && report != nil && report.Seed != nil {
		score := draw.Score(*report.Seed, t)
		p.Score, p.Share, p.Line = score.String(), shareOf(score), report.Seed.String()+t.String()
	}
	status := http.StatusOK
	if standing.Locked && !standing.Known() {
		status = http.StatusNotFound
	}
	return s.render(c, status, "ticket", p)
}

// rankOf is where a ticket of the roll came, 0 before the draw.
func (s *Site) rankOf(g giveaway.Giveaway, t draw.Ticket, st entries.Standing, r *draw.Report) (int64, error) {
	if !st.In || r == nil || r.Seed == nil {
		return 0, nil
	}
	if st.Place > 0 {
		return int64(st.Place), nil
	}
	return s.ranks.rank(s.known(g), *r.Seed, t)
}

// standingWords say where a ticket stands. Before the lock they say nothing
// of it, not even whether it exists.
func standingWords(st entries.Standing, rank int64, r *draw.Report, zone string) (head string, lead []string) {
	switch {
	case !st.Locked:
		return "The list is not locked yet.", []string{"Once it is, this page says whether this ticket is on it. Until then only the page that came with the ticket knows."}
	case !st.Known():
		return "This ticket is not on any list.", []string{"No ticket with this number was handed out in this giveaway. Check each letter and digit."}
	case !st.In:
		return "This ticket is not in the draw.", []string{"The reason: " + wordOr(reasonWords, st.Reason) + "."}
	case !st.Drawn:
		return "This ticket is in the draw.", []string{"It stands on the locked list. The draw is still to come."}
	}
	total := ""
	if r != nil {
		total = " of " + number(r.Tickets)
	}
	switch {
	case st.Wins:
		head = "This ticket came " + ordinal(int64(st.Place)) + total + ": it wins."
	case st.Place > 0:
		head, lead = inLineWords(st, total, r)
	default:
		head = "This ticket did not win."
		lead = []string{"It was in the draw and came " + ordinal(rank) + total + "."}
	}
	if r != nil && r.Outcome != nil && st.Place > 0 {
		if row := becameOf(st.Place, r.Outcome, placeRow{}, zone); row.What != "" {
			head, lead = "This ticket came "+ordinal(int64(st.Place))+total+".", []string{capitalized(row.What) + ", " + row.When.Before + " " + row.When.Words + "."}
		}
	}
	return head, lead
}

// inLineWords say where a ticket stands that was drawn as next in line; total is
// " of 3,206", or "".
func inLineWords(st entries.Standing, total string, r *draw.Report) (head string, lead []string) {
	var o *draw.Outcome
	if r != nil {
		o = r.Outcome
	}
	head = "This ticket came " + ordinal(int64(st.Place)) + total
	now, was := turn(st.Place, o), number(int64(st.Place-st.Winners))
	const otherwise = ": if a winner can’t have the prize, it goes to the next in line."
	switch {
	case now == st.Place:
		return head + ".", []string{"It is next in line, number " + was + otherwise}
	case now <= st.Winners:
		return head + ": it is its turn now.", []string{"It was drawn as next in line, number " + was + "; " + skippedBefore(st.Place, o) + "."}
	}
	return head + ".", []string{"It was drawn as next in line, number " + was + "; " + skippedBefore(st.Place, o) + ", so it is number " + number(int64(now-st.Winners)) + " now" + otherwise}
}

// shareOf writes a score as a part of one, cut after three figures that
// count: the scores of a fair draw lie evenly between 0 and 1.
func shareOf(score draw.Digest) string {
	top := binary.BigEndian.Uint64(score[:8]) >> 11 // as much as a float64 holds exactly
	part := float64(top) / (1 << 53)
	s := strings.TrimRight(fmt.Sprintf("%.20f", part), "0")
	for i, c := range s {
		if c != '0' && c != '.' && len(s) > i+3 {
			return s[:i+3]
		}
	}
	return s
}

// pathValue undoes the escaping of a part of the address. What can't be undone
// stays as it is, and will fit nothing.
func pathValue(raw string) string {
	if v, err := url.PathUnescape(raw); err == nil {
		return v
	}
	return raw
}

// privateTicketWords say on the private page where the ticket came.
func privateTicketWords(g giveaway.Giveaway, mine entries.Private, st entries.Standing, rank int64, r *draw.Report) (string, []string) {
	switch {
	case mine.Withdrawn:
		return "This ticket is withdrawn.", []string{"It is not in the draw."}
	case g.State == giveaway.StateCancelled:
		head, lead := offTicketWords(st)
		return strings.Replace(head, "This ticket", "Your ticket", 1), append(lead, proofWords)
	case st.Locked:
		head, lead := standingWords(st, rank, r, g.Terms.Event.Zone)
		return strings.Replace(head, "This ticket", "Your ticket", 1), lead
	case mine.Reason != "":
		return "Your ticket is not in the draw.", []string{"The reason: " + wordOr(reasonWords, mine.Reason) + "."}
	}
	return "You are in.", []string{"This is your free ticket for " + g.Terms.PrizeWithin() + "."}
}
