package web

import (
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// A liveFollow has a viewer's page go along with the show until the result is
// known: then the page is loaded again, which shows it.
type liveFollow struct {
	Live string // address of the stream
	From string // when there is something to follow, RFC 3339
	Now  string // the server's clock, RFC 3339
	On   bool   // that time has come
	Ask  bool   // the viewer loads the page, since it may hold what was put in
}

// follow is nil where nothing is to come any more. Pages of before the lock
// begin to follow when entries close, so that nobody watches for days.
func (s *Site) follow(g giveaway.Giveaway, ask bool) *liveFollow {
	if s.cfg.Event == nil {
		return nil
	}
	switch g.State {
	case giveaway.StateOpen, giveaway.StateFreezing, giveaway.StateFrozen:
		at := s.cfg.Now().UTC()
		return &liveFollow{Live: "/g/" + g.ID + "/live", From: g.Opening.Closes.UTC().Format(time.RFC3339), Now: at.Format(time.RFC3339Nano), On: !at.Before(g.Opening.Closes), Ask: ask}
	}
	return nil
}

// wordsLast is how long after the draw a winner's page shows the words for the
// chat. Our own choice.
const wordsLast = 24 * time.Hour

// chatWords tell a winner of a show what to say in the chat; none for others, nor
// once the place was skipped.
func (s *Site) chatWords(c echo.Context, g giveaway.Giveaway, t draw.Ticket, st entries.Standing, r *draw.Report) ([]string, error) {
	if r != nil {
		if settled, gets := settledAs(st.Place, r.Outcome); settled && !gets {
			return nil, nil
		}
	}
	if s.cfg.Event == nil || !st.Wins || g.State != giveaway.StateDrawn || now(c).After(g.Drawn.Add(wordsLast)) {
		return nil, nil
	}
	state, err := s.cfg.Event.Show.State(c.Request().Context(), g.ID)
	if err != nil || state.Version == 0 {
		return nil, err
	}
	return []string{
		"You won " + g.Terms.PrizeWithin() + ".",
		"If you are watching now, say these two words in the chat:",
		"“" + show.Words(s.cfg.Event.WordsKey, g.ID, t) + "”",
		"Only this page and whoever runs the show know them. Not watching? Nothing is lost.",
	}, nil
}
