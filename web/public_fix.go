package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
	"evenhand/giveaway"
)

// fixingMine finds the private page whose address is to be put right. Done is
// true where an answer was given already: once entries have closed nobody
// could enter again, so the ticket is left alone.
func (s *Site) fixingMine(c echo.Context) (g giveaway.Giveaway, mine entries.Private, link string, done bool, err error) {
	g, mine, link, err = s.mine(c)
	switch {
	case err != nil:
		return g, mine, link, true, err
	case mine.Withdrawn:
		return g, mine, link, true, entries.ErrWithdrawn
	case g.Phase(now(c)) != giveaway.PhaseTaking:
		return g, mine, link, true, s.showPrivate(c, http.StatusGone, g, mine, link, formState{
			Done: "Entries have closed, so the address can’t be changed any more. Nothing has changed.",
		})
	}
	return g, mine, link, false, nil
}

// getFix shows the form filled in, to put the address right. It changes
// nothing.
func (s *Site) getFix(c echo.Context) error {
	g, mine, link, done, err := s.fixingMine(c)
	if done {
		return err
	}
	return s.showForm(c, http.StatusOK, g, fixing(g, mine, link, formState{Form: formFrom(mine.Entry)}))
}

func fixing(g giveaway.Giveaway, mine entries.Private, link string, st formState) formState {
	st.Fixing, st.FixURL, st.Back = mine.Ticket.Grouped(), privateURL(g.ID, link)+"/fix", privateURL(g.ID, link)
	return st
}

// postFix makes the corrected entry and withdraws the old ticket, in one step:
// whoever is refused keeps what they have. A form that was sent twice is led
// to the entry that its first time made.
func (s *Site) postFix(c echo.Context) error {
	f, err := decodeForm(c.Request())
	if err != nil {
		return err
	}
	g, mine, link, done, err := s.fixingMine(c)
	if done && !errors.Is(err, entries.ErrWithdrawn) {
		return err
	}
	st := fixing(g, mine, link, formState{Form: f, Sent: true})
	again := func(status int, field, text string) error {
		st.Verdict = entries.Verdict{Fields: []entries.Problem{{Field: field, Text: text}}}
		return s.showForm(c, status, g, st)
	}
	if a, err := entries.Fold(f.Email); err == nil && !mine.Withdrawn && a.Key == mine.Entry.Key {
		return again(http.StatusUnprocessableEntity, "email", "That is the address of this ticket already: it counts as "+a.Key+
			". Nothing was changed. If something else is wrong, withdraw the ticket on its own page and enter again.")
	}
	in, err := s.cfg.Intake.Replace(uncut(c), now(c), g, link, f)
	var no *entries.Rejected
	switch {
	case err == nil:
		return c.Redirect(http.StatusSeeOther, privateURL(g.ID, in.Link)+"?done=fixed")
	case mine.Withdrawn:
		return entries.ErrWithdrawn
	case errors.As(err, &no):
		st.Verdict = no.Verdict
		return s.showForm(c, http.StatusUnprocessableEntity, g, st)
	case errors.Is(err, entries.ErrAlreadyIn):
		return again(http.StatusConflict, "email", "This address is already in, with a ticket of its own. Nothing was changed. "+
			"If both are yours, withdraw this one on its own page.")
	}
	return err
}

// A withdrawPage asks once before a ticket is withdrawn.
type withdrawPage struct {
	Frame
	Know
	Ticket, Action, Back string
	Again                bool // entries are open
}

// getWithdraw asks; it changes nothing.
func (s *Site) getWithdraw(c echo.Context) error {
	g, mine, link, err := s.mine(c)
	switch {
	case err != nil:
		return err
	case mine.Withdrawn:
		return c.Redirect(http.StatusSeeOther, privateURL(g.ID, link))
	case g.State != giveaway.StateOpen:
		return entries.ErrLocked
	}
	know, _, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	back := privateURL(g.ID, link)
	return s.render(c, http.StatusOK, "withdraw", withdrawPage{
		Frame: frame(g, now(c), "Withdraw?"), Know: know, Ticket: mine.Ticket.Grouped(), Action: back + "/withdraw", Back: back,
		Again: g.Phase(now(c)) == giveaway.PhaseTaking,
	})
}

// postWithdraw takes the ticket out of the draw.
func (s *Site) postWithdraw(c echo.Context) error {
	g, _, link, err := s.mine(c)
	if err != nil {
		return err
	}
	if err := s.cfg.Intake.Withdraw(uncut(c), now(c), g.ID, link); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, privateURL(g.ID, link))
}
