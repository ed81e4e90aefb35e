package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
	"evenhand/giveaway"
)

// mayName reports whether a name to be said can still be given, changed or
// taken back.
func (s *Site) mayName(g giveaway.Giveaway, mine entries.Private) bool {
	return s.cfg.Event != nil && s.cfg.Event.Names != nil && g.State == giveaway.StateOpen && !mine.Withdrawn && mine.Erased.IsZero()
}

// nameField is the field for it on the private page.
func nameField(mine entries.Private, st formState) *field {
	value := mine.Entry.Name
	if st.Sent && st.Named {
		value = st.Form.Name
	}
	f := st.text("name", "The name", "40 characters at most. Leave it empty to have none said.", value, "nickname")
	return &f
}

// postName gives the entry another name to be said, or none. Ticket and proof
// of entry stay: the name is in neither.
func (s *Site) postName(c echo.Context) error {
	g, mine, link, err := s.mine(c)
	if err != nil {
		return err
	}
	f, err := decodeForm(c.Request())
	if err != nil {
		return err
	}
	switch {
	case mine.Withdrawn:
		return entries.ErrWithdrawn
	case !s.mayName(g, mine):
		return entries.ErrLocked
	}
	name, text := entries.PlainName(f.Name)
	if text != "" {
		return s.showPrivate(c, http.StatusUnprocessableEntity, g, mine, link, formState{Form: f, Sent: true, Named: true,
			Verdict: entries.Verdict{Fields: []entries.Problem{{Field: "name", Text: text}}}})
	}
	if err := s.cfg.Event.Names.ChangeName(uncut(c), g.ID, mine.Ticket, name); err != nil {
		return err
	}
	done := "name"
	if name == "" {
		done = "noname"
	}
	return c.Redirect(http.StatusSeeOther, privateURL(g.ID, link)+"?done="+done)
}
