package web

import (
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// drawnPlace is the place that a ticket was drawn for; nil where there is none,
// or nothing is to be known of it yet.
func (s *Site) drawnPlace(c echo.Context, g giveaway.Giveaway, t draw.Ticket) (*claims.Place, error) {
	if s.cfg.Claims == nil || g.State != giveaway.StateDrawn {
		return nil, nil
	}
	n, err := s.cfg.Claims.News(c.Request().Context(), now(c), g.ID, t)
	if err != nil || !n.Drawn {
		return nil, err
	}
	return &n.Place, nil
}

// news says to whom the ticket belongs what became of its drawn place. It
// bears no address.
func news(g giveaway.Giveaway, p *claims.Place) string {
	switch {
	case p == nil:
		return ""
	case p.Passed != nil:
		return "Your place was skipped on " + stamp("", p.Passed.At, g.Terms.Event.Zone).Words + ". The reason: " +
			skippedWhy(*p) + ". It goes to the ticket next in line, if there is one. If you think that this is a mistake, write to " + hostOr(g.Terms) + "."
	case p.Confirmed != nil:
		return p.WinnerWords(g.Terms)
	}
	return ""
}

// standsAt says to a winner where their place stands, from the letter to the
// parcel; left says whether anybody is next in line. It leads to no page: links
// come from the creator alone.
func standsAt(g giveaway.Giveaway, mine entries.Private, p *claims.Place, left bool, at time.Time) []string {
	switch {
	case p == nil || p.Turn == nil || p.Passed != nil:
		return nil
	case p.Confirmed != nil:
		return confirmedAt(g.Terms, *p)
	}
	t := g.Terms
	when := func(at time.Time) string { return stamp("", at, t.Event.Zone).Words }
	switch {
	case p.Answer != nil && p.Answer.Declined:
		return []string{"You said on " + when(p.Answer.At) + " that you would rather not have the prize. " + t.Channel + " skips your place next."}
	case p.Answer != nil:
		return []string{"Your answer is here, since " + when(p.Answer.At) + ". " + t.Channel + " looks at it next; there is nothing for you to do."}
	case p.Notice == nil && p.Lapsed != nil:
		return []string{"The link in the letter of " + when(p.Lapsed.At) + " opens nothing any more. " + t.Channel + " writes to " + mine.Entry.Typed + " once more, with a new one.", answerWithin(t.AnswerDays, left)}
	case p.Notice == nil:
		return []string{"The letter to you is not sent yet. " + t.Channel + " writes to " + mine.Entry.Typed + ".", answerWithin(t.AnswerDays, left)}
	case at.Before(p.Notice.Until):
		return []string{t.Channel + " wrote to " + mine.Entry.Typed + " on " + when(p.Notice.At) + ". Answer until " + when(p.Notice.Until) +
			", on the page that the letter names. Look among the unwanted mail too."}
	}
	return []string{"The time to answer ended on " + when(p.Notice.Until) + ". Nobody else has been chosen yet: if you still want the prize, write to " + hostOr(t) + " at once."}
}

// confirmedAt says what a prize that is confirmed waits for.
func confirmedAt(t giveaway.Terms, p claims.Place) []string {
	switch p.Waits() {
	case claims.WaitNone:
		return []string{"There is nothing to answer now."}
	case claims.WaitOffer, claims.WaitSuits:
		return []string{"It can’t be sent yet: how it goes on stands below."}
	}
	var words []string
	for _, a := range p.OpenAsks() {
		if a.Copied.IsZero() {
			words = append(words, t.Sponsor+" has a question for you. The link to answer it comes from "+t.Channel+"; it is not sent yet.")
		} else {
			words = append(words, t.Sponsor+" has a question for you. "+t.Channel+" sent you the link to answer it on "+stamp("", a.Copied, t.Event.Zone).Words+".")
		}
	}
	return words
}
