package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// postEntry takes an entry from a form or from a program. It is finished even
// if the client hangs up: its form sent again finds it.
func (s *Site) postEntry(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	fromProgram := contentType(c.Request()) == typeJSON
	decode := decodeForm
	if fromProgram {
		decode = decodeJSON
	}
	f, err := decode(c.Request())
	if err != nil {
		return err
	}
	in, err := s.cfg.Intake.Enter(uncut(c), now(c), g, f)
	switch {
	case fromProgram && err == nil:
		return s.entered(c, g, f, in)
	case fromProgram:
		return enterProblem(c, err)
	case err == nil:
		c.Response().Header().Set("Cache-Control", "no-store")
		return c.Redirect(http.StatusSeeOther, privateURL(g.ID, in.Link))
	}
	return s.notEntered(c, g, f, err)
}

// An enteredJSON is what a program gets for an entry.
type enteredJSON struct {
	Ticket  draw.Ticket    `json:"ticket"`
	Entered string         `json:"entered"`
	Receipt string         `json:"receipt"` // the signed note
	Entry   string         `json:"entry"`   // the entry's own text
	Private string         `json:"private"` // address of the private page
	Hints   []problemField `json:"hints,omitempty"`
}

func (s *Site) entered(c echo.Context, g giveaway.Giveaway, f entries.Form, in entries.Entered) error {
	private := s.link(privateURL(g.ID, in.Link))
	h := c.Response().Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Location", private)
	return writeJSON(c, http.StatusCreated, typeJSON, enteredJSON{
		Ticket: in.Ticket, Entered: draw.FormatTime(in.Stamp.Entered), Receipt: string(in.Receipt), Entry: string(in.EntryText),
		Private: private, Hints: problemFields(entries.Decide(f, g.Terms, now(c)).Hints),
	})
}

// enterProblem is a verdict as a problem; other errors are the table's.
func enterProblem(c echo.Context, err error) error {
	var no *entries.Rejected
	if !errors.As(err, &no) {
		return err
	}
	c.Response().Header().Set("Cache-Control", "no-store")
	return writeProblem(c, problemOfVerdict(no.Verdict))
}

// notEntered shows people why, and what to do: the form again with all that
// they typed, or the page of a giveaway that takes no entries.
func (s *Site) notEntered(c echo.Context, g giveaway.Giveaway, f entries.Form, err error) error {
	c.Response().Header().Set("Cache-Control", "no-store")
	var no *entries.Rejected
	switch {
	case errors.As(err, &no):
		return s.showForm(c, http.StatusUnprocessableEntity, g, formState{Form: f, Verdict: no.Verdict, Sent: true})
	case errors.Is(err, entries.ErrClosed):
		// The row may have moved on since it was read.
		if fresh, err := s.giveaway(c); err == nil {
			g = fresh
		}
		return s.showClosed(c, http.StatusGone, g, "Your form came in after entries had closed, so it could not be taken, and none of what you typed was stored. "+
			"You did nothing wrong: the time of this server counts, and it was just past.")
	case errors.Is(err, entries.ErrNotOpen):
		return s.showClosed(c, http.StatusTooEarly, g, "Your form came in before entries opened, so it could not be taken yet, and none of what you typed was stored. Send it again once they have opened.")
	}
	return err
}
