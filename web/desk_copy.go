package web

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A copyPage saves a copy of the data.
type copyPage struct {
	Frame
	G       giveaway.Giveaway
	Problem string // under the field, or ""
	Can     bool   // the program can make one itself
	Name    string // of the file
	Show    bool   // there is a show to go back to
}

// tookCopy stands in the log once a copy was given out.
const tookCopy = "The desk gave out a copy of the data."

func (d *desk) getCopy(c echo.Context) error {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	return d.showCopy(c, http.StatusOK, g, "")
}

func (d *desk) showCopy(c echo.Context, status int, g giveaway.Giveaway, problem string) error {
	p := copyPage{Frame: d.frame(g, "A copy of the data", now(c)), G: g, Problem: problem, Can: d.cfg.Desk.Copy != nil, Name: copyName(now(c)), Show: d.cfg.Event != nil}
	return d.render(c, status, "desk_copy", p)
}

func copyName(at time.Time) string { return "evenhand-" + at.UTC().Format("2006-01-02") + ".db" }

// postCopy hands out the whole database. It holds who entered, so the passphrase
// is typed once more.
func (d *desk) postCopy(c echo.Context) (err error) {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	if d.cfg.Desk.Copy == nil {
		return errNoSuchPage
	}
	ok, err := d.phraseAgain(c, func(status int, problem string) error { return d.showCopy(c, status, g, problem) })
	if err != nil || !ok {
		return err
	}
	copied, err := d.cfg.Desk.Copy(c.Request().Context())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, copied.Close()) }()
	if err := d.cfg.Host.Log(uncut(c), now(c), g.ID, tookCopy); err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Content-Type", "application/vnd.sqlite3") // IANA's registry of media types
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", copyName(now(c))))
	http.ServeContent(c.Response(), c.Request(), "", time.Time{}, copied)
	return nil
}

// phraseAgain checks the passphrase of a form that asks for it once more. If it
// is not ok, the form was shown again.
func (d *desk) phraseAgain(c echo.Context, again func(status int, problem string) error) (ok bool, err error) {
	hash, err := d.cfg.Desk.Store.DeskHash(c.Request().Context())
	if err != nil {
		return false, err
	}
	ok, wait, err := d.tryPhrase(c, hash)
	switch {
	case err != nil:
		return false, err
	case wait > 0:
		return false, d.slowDown(c, wait, func() error { return again(http.StatusTooManyRequests, waitWords(wait)) })
	case !ok:
		return false, again(http.StatusUnprocessableEntity, wordWrongPhrase)
	}
	return true, nil
}
