package web

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/draw/relay"
	"evenhand/giveaway"
	"evenhand/show"
)

// A movePage is a page with one button that moves a giveaway on.
type movePage struct {
	Frame
	G       giveaway.Giveaway
	Know    []string // what will have to be known about the draw
	Head    string
	Lead    string
	When    Stamp
	Ready   bool   // the button can be pressed
	Problem string // what went wrong with the last press, or ""
	Terms   []fact // what is posted
	Print   string // a fingerprint to read out, or ""
	Value   valueWords
	Seen    string // the draft that is shown; see [seen]
	Seconds []secondRow
	Show    bool // there is a stage to draw on
}

// A fact is a line of the terms in words.
type fact struct{ Name, Text string }

// valueWords are about the public number that a draw waits for.
type valueWords struct {
	Wanted  bool
	Number  string   // which of the network's numbers it is
	From    []string // addresses that show it
	Typed   string
	Problem string
}

// move is what all moves have in common: find, try, and go to
// a page of the giveaway, "" for the day-book.
// Whoever presses second finds the same page as whoever pressed first.
func (d *desk) move(c echo.Context, to string, press func(g giveaway.Giveaway) error, again func(g giveaway.Giveaway, err error) error) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if err := press(g); err != nil {
		return again(g, err)
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+to)
}

// toDay leads to the day-book from a page whose time is over.
func toDay(c echo.Context, g giveaway.Giveaway) error {
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID)
}

func (d *desk) getDraw(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateFrozen {
		return toDay(c, g)
	}
	return d.showDraw(c, http.StatusOK, g, "", valueWords{})
}

// showDraw shows the draw page: waiting until it is time, then with its
// button.
func (d *desk) showDraw(c echo.Context, status int, g giveaway.Giveaway, problem string, v valueWords) error {
	at, until := now(c), g.DrawAt()
	p := movePage{
		Frame: d.frame(g, "The draw", at), G: g, Know: deskKnow(g), Ready: !at.Before(until), Problem: problem,
		Head: "It is time to draw.", Lead: "One press makes the draw. It can be made once only, and it stands.",
		Show: d.cfg.Event != nil,
	}
	p.Value = v.of(g)
	report, err := d.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	if report.FreezeAt != nil {
		p.Print = report.FreezeAt.String()
	}
	if p.Seconds, err = d.seconds(c.Request().Context(), g, &report); err != nil {
		return err
	}
	if !p.Ready {
		p.Head, p.Lead = "The list is locked. The draw comes next.", "Read the list’s fingerprint out at the start of the show, and put it under the video before this time."
		p.When = stamp("The draw can be made from", until, g.Terms.Event.Zone)
		if wait := until.Sub(at); wait <= 5*time.Minute {
			refresh(c, seconds(wait)+1)
		}
	}
	return d.render(c, status, "desk_draw", p)
}

// of fills in which public number the draw waits for.
func (v valueWords) of(g giveaway.Giveaway) valueWords {
	chain := beacon.Quicknet()
	if g.Opening.Beacon == nil || [32]byte(*g.Opening.Beacon) != chain.Hash {
		return v
	}
	n, err := g.Opening.FirstRound(chain)
	if err != nil {
		return v
	}
	v.Wanted, v.Number = true, number(int64(n))
	for _, from := range relay.Default() {
		v.From = append(v.From, fmt.Sprintf("%s/%s/public/%d", from, chain.HashHex(), n))
	}
	return v
}

func (d *desk) postDraw(c echo.Context) error {
	v := valueWords{Typed: c.FormValue("value")}
	return d.move(c, "/result", func(g giveaway.Giveaway) error {
		pasted, err := v.read()
		if err == nil || g.State != giveaway.StateFrozen {
			err = d.drawNow(c, g, pasted)
		}
		return err
	}, func(g giveaway.Giveaway, err error) error { return d.notDrawn(c, g, err, v) })
}

// drawNow makes the draw. Once the stage shows more than its first picture the
// result is held back, as the stage's own draw holds it: a press at the desk
// tells nobody before the stage does.
func (d *desk) drawNow(c echo.Context, g giveaway.Giveaway, pasted *draw.Beacon) error {
	live, err := d.underway(c, g.ID)
	if err != nil {
		return err
	}
	if live {
		_, err = d.cfg.Host.DrawHeld(uncut(c), now(c), g.ID, pasted)
	} else {
		_, err = d.cfg.Host.Draw(uncut(c), now(c), g.ID, pasted)
	}
	return err
}

// underway reports whether a giveaway's stage shows more than its first picture.
func (d *desk) underway(c echo.Context, id string) (bool, error) {
	if d.cfg.Event == nil {
		return false, nil
	}
	st, err := d.cfg.Event.Show.State(c.Request().Context(), id)
	return st.Step > show.Soon, err
}

// errPasted says that what was pasted can't be a value.
var errPasted = errors.New("pasted value not readable")

// read reads a pasted value; nil if nothing was pasted.
func (v valueWords) read() (*draw.Beacon, error) {
	if v.Typed == "" {
		return nil, nil
	}
	n, sig, err := relay.ParsePasted(v.Typed)
	if err != nil {
		return nil, errPasted
	}
	return &draw.Beacon{Round: n, Signature: sig}, nil
}

// notDrawn says in plain words why there is no draw yet.
func (d *desk) notDrawn(c echo.Context, g giveaway.Giveaway, err error, v valueWords) error {
	var early giveaway.ErrTooEarly
	switch {
	case errors.As(err, &early):
		return d.showDraw(c, http.StatusConflict, g, "It is not time yet. Nothing was drawn.", v)
	case errors.Is(err, errPasted):
		v.Problem = "This is not a public number of the network. Copy the whole answer, from { to }, or the 96 characters of its signature."
		return d.showDraw(c, http.StatusUnprocessableEntity, g, "", v)
	case errors.Is(err, giveaway.ErrNoBeacon) && v.Typed != "":
		v.Problem = "This is not the public number that this draw waits for, so nothing was drawn. Check that it is number " + v.of(g).Number + "."
		return d.showDraw(c, http.StatusUnprocessableEntity, g, "", v)
	case errors.Is(err, giveaway.ErrNoBeacon):
		d.cfg.Log.WarnContext(c.Request().Context(), "no beacon value", "draw", g.ID, "err", err)
		return d.showDraw(c, http.StatusServiceUnavailable, g,
			"The public number could not be fetched: none of the places that show it answered with it. Nothing was drawn. Try again, or open one of them yourself and paste what it shows.", v)
	}
	return err
}
