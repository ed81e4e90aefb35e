package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// freshFor is how long after the passphrase was typed, to sign in or for the sheet
// itself, the sheet is shown without asking anew: long enough to write terms,
// post them and keep the sheet, and short enough that whoever sits there is who
// typed it. A desk left open in a café shows no secret later. Common practice,
// no source.
const freshFor = 15 * time.Minute

// phraseAt is the session's key for when the passphrase was typed last.
const phraseAt = "phrase-at"

// justKept is the session's key for the giveaway whose sheet was kept a moment
// ago, for the day-book to say so once.
const justKept = "just kept"

// A sheetPage is the recovery sheet, or the question for the passphrase before
// it is shown.
type sheetPage struct {
	Frame
	G       giveaway.Giveaway
	Problem string // under the field, or ""
	Shown   bool
	Sheet   sheet
	Kept    *keptWords
	KeptAt  Stamp // zero: nobody said so yet
}

// A sheet is what finishes a locked draw elsewhere.
type sheet struct {
	Title, ID string
	Channel   string
	Secret    string // the file of the host's secret number, byte for byte
	Key       string // signs everything
	Fair      string // address of the publication
	Others    []giveaway.Second
	Written   Stamp
}

// keptWords ask whether the sheet is kept.
type keptWords struct{ Path, Action, Back string }

// keptAsk asks about the sheet while the draw is to come and nobody has said
// that it is kept; nil otherwise. The template part "kept-ask" shows it; its
// button leads back to the page of the giveaway that is named, the day-book
// where none is.
func keptAsk(g giveaway.Giveaway, back ...string) *keptWords {
	waits := g.State == giveaway.StateOpen || g.State == giveaway.StateFreezing || g.State == giveaway.StateFrozen
	if !waits || !g.Kept.IsZero() || g.Sample {
		return nil
	}
	return &keptWords{Path: "/desk/g/" + g.ID + "/sheet", Action: "/desk/g/" + g.ID + "/kept", Back: strings.Join(back, "")}
}

// posted finds a giveaway whose terms are posted.
func (d *desk) posted(c echo.Context) (giveaway.Giveaway, error) {
	g, err := d.find(c)
	if err == nil && g.State == giveaway.StateDraft {
		err = giveaway.ErrNotFound
	}
	return g, err
}

// typedPhrase notes that the passphrase was typed just now.
func (d *desk) typedPhrase(c echo.Context) {
	d.sessions.Put(c.Request().Context(), phraseAt, now(c).Unix())
}

// maySee reports whether the passphrase was typed a short while ago.
func (d *desk) maySee(c echo.Context) bool {
	typed := time.Unix(d.sessions.GetInt64(c.Request().Context(), phraseAt), 0)
	return now(c).Sub(typed) < freshFor
}

func (d *desk) getSheet(c echo.Context) error {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	if !d.maySee(c) {
		return d.showSheet(c, http.StatusOK, g, sheetPage{})
	}
	s, err := d.sheetOf(c, g)
	if err != nil {
		return err
	}
	return d.showSheet(c, http.StatusOK, g, sheetPage{Shown: true, Sheet: s})
}

func (d *desk) showSheet(c echo.Context, status int, g giveaway.Giveaway, p sheetPage) error {
	p.Frame, p.G, p.Kept = d.frame(g, "Recovery sheet", now(c)), g, keptAsk(g)
	if !g.Kept.IsZero() {
		p.KeptAt = stamp("You said that you have kept it, on", g.Kept, g.Terms.Event.Zone)
	}
	return d.render(c, status, "desk_sheet", p)
}

// postSheet takes the passphrase once more.
func (d *desk) postSheet(c echo.Context) error {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	ok, err := d.phraseAgain(c, func(status int, problem string) error { return d.showSheet(c, status, g, sheetPage{Problem: problem}) })
	if err != nil || !ok {
		return err
	}
	d.typedPhrase(c)
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/sheet")
}

// getSheetText gives the sheet as a text file, where the page would show it.
func (d *desk) getSheetText(c echo.Context) error {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	if !d.maySee(c) {
		return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/sheet")
	}
	s, err := d.sheetOf(c, g)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="`+g.ID+`-recovery-sheet.txt"`)
	return c.Blob(http.StatusOK, "text/plain; charset=utf-8", []byte(s.text()))
}

// sheetOf gathers the sheet of a posted giveaway.
func (d *desk) sheetOf(c echo.Context, g giveaway.Giveaway) (sheet, error) {
	ctx := c.Request().Context()
	signer, err := d.cfg.Host.Keys.Signer(ctx)
	if err != nil {
		return sheet{}, fmt.Errorf("recovery sheet: signing key: %w", err)
	}
	secret, err := d.cfg.Host.Store.HostSecret(ctx, g.ID)
	if err != nil {
		return sheet{}, fmt.Errorf("recovery sheet: host's secret: %w", err)
	}
	own := draw.Seal{Draw: g.ID, Signer: signer.Name(), Role: giveaway.HostRole, Secret: secret}
	return sheet{
		Title: g.Terms.Title, ID: g.ID, Channel: g.Terms.Channel, Secret: string(own.Text()), Key: signer.Secret(),
		Fair: d.link(fairURL(g.ID)), Others: g.Terms.Seconds, Written: stamp("Written on", now(c), g.Terms.Event.Zone),
	}, nil
}

func (d *desk) postKept(c echo.Context) error {
	g, err := d.posted(c)
	if err != nil {
		return err
	}
	if err := d.cfg.Host.Keep(uncut(c), now(c), g.ID); err != nil {
		return err
	}
	if c.FormValue("back") == "lock" {
		return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/lock")
	}
	d.sessions.Put(c.Request().Context(), justKept, g.ID)
	return toDay(c, g)
}
