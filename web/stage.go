package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A stagePage is the full page for the broadcast. It needs no person: what it
// shows comes by its stream.
type stagePage struct {
	View    show.View
	Groups  []string // the ticket's
	Path    string   // what the addresses of stream, line and code begin with
	Key     string
	Now     string // the server's clock, RFC 3339
	Overlay bool   // on nothing, for a streaming program
	Tall    bool
	Mark    bool // it is a rehearsal
}

// Long reports whether the sentence needs smaller letters: beside ticket and
// line there is less room. The page's script does the same.
func (p stagePage) Long() bool {
	return len(p.View.Sentence) > 110 || p.View.Step == show.First && len(p.View.Sentence) > 60
}

func stageURL(id, key string) string { return "/g/" + id + "/stage?key=" + key }

// A stage's key opens the evening's stage, and with it the shows of others, from
// eveningBegins before its own show until eveningLasts after it, or after it was
// made. Shows whose event is further away than eveningBegins are no part of the
// evening either, whoever moves them. Our own choice.
const (
	eveningBegins = 12 * time.Hour
	eveningLasts  = 36 * time.Hour
)

// eveningURL is the stage that goes to whichever show was moved last. The key
// of any stage opens it, until its own evening is over; not that of a rehearsal.
func eveningURL(key string) string { return "/stage?key=" + key }

// stageRoutes are the stage's addresses; its key stands in the query, which no
// log line has. Nobody guesses one of 128 bits, and whoever has it is not held
// up in the middle of a show: there is no limit here.
func (s *Site) stageRoutes(e *echo.Echo) {
	for _, path := range []string{"/stage", "/g/:id/stage"} {
		e.GET(path, s.getStage, keepPrivate)
		e.GET(path+"/live", s.getStageLive, keepPrivate)
		e.GET(path+"/line.bin", s.getStageLine, keepPrivate)
		e.GET(path+"/code.svg", s.getStageCode, keepPrivate)
	}
}

// A stagedShow is what a key of a stage opens.
type stagedShow struct {
	room  string            // whose pictures it gets; "": of whichever show was moved last
	until time.Time         // when that changes; zero: when the key is revoked
	g     giveaway.Giveaway // as it is; without ID while no show of the evening has begun
}

// staged finds what the request's key opens.
func (s *Site) staged(c echo.Context) (on stagedShow, err error) {
	k, err := s.cfg.Event.Keys.Key(c.Request().Context(), show.KeyStage, c.QueryParam("key"))
	if err != nil || c.Param("id") != "" && k.Draw != c.Param("id") {
		return on, show.ErrNoKey
	}
	on.room = k.Draw
	if c.Param("id") == "" {
		if on, err = s.evening(c, k); err != nil {
			return on, err
		}
	}
	id := on.room
	if id == "" {
		if id, err = s.cfg.Event.Show.Store.Newest(c.Request().Context(), s.cfg.Now().Add(eveningBegins)); err != nil || id == "" {
			return on, err
		}
	}
	on.g, err = s.liveGiveaway(c, id)
	return on, err
}

// evening is what a key opens at the evening's address: before its own evening
// its own show alone, so that the address can be put in place early;
// [show.ErrNoKey] when that evening is over.
func (s *Site) evening(c echo.Context, k show.Key) (on stagedShow, err error) {
	if giveaway.IsRehearsal(k.Draw) {
		return on, show.ErrNoKey
	}
	own, err := s.cfg.Host.Store.Giveaway(c.Request().Context(), k.Draw)
	if err != nil {
		return on, err
	}
	from, until := eveningOf(own, k)
	switch at := s.cfg.Now(); {
	case at.Before(from):
		return stagedShow{room: k.Draw, until: from}, nil
	case at.Before(until):
		return stagedShow{until: until}, nil
	}
	return on, show.ErrNoKey
}

// eveningOf is from when until when a key of a giveaway's stage opens the
// evening's stage.
func eveningOf(own giveaway.Giveaway, k show.Key) (from, until time.Time) {
	at := own.DrawAt()
	from, until = at.Add(-eveningBegins), at
	if until.Before(k.Made) {
		until = k.Made
	}
	return from, until.Add(eveningLasts)
}

// liveGiveaway reads a giveaway as it is, for whoever holds a key of its show.
func (s *Site) liveGiveaway(c echo.Context, id string) (giveaway.Giveaway, error) {
	g, err := s.cfg.Host.Store.Giveaway(c.Request().Context(), id)
	if err == nil {
		c.Set(keyDraw, g.ID)
	}
	return g, err
}

// getStage shows the stage as it stands.
func (s *Site) getStage(c echo.Context) error {
	on, err := s.staged(c)
	if err != nil {
		return err
	}
	g := on.g
	p := stagePage{Path: strings.TrimSuffix(c.Request().URL.Path, "/"), Key: c.QueryParam("key"), Now: s.cfg.Now().UTC().Format(time.RFC3339Nano),
		Mark: giveaway.IsRehearsal(g.ID), Overlay: c.QueryParam("overlay") != "", Tall: c.QueryParam("tall") != ""}
	if g.ID != "" {
		v, err := s.stageView(c, g.ID)
		if err != nil {
			return err
		}
		p.View, p.Groups = v.View, splitTicket(v.Ticket)
	}
	return s.renderAs(c, http.StatusOK, "stage", "whole", p)
}

// splitTicket gives the four groups of a ticket; none of "".
func splitTicket(grouped string) []string {
	if len(grouped) != 19 {
		return nil
	}
	return []string{grouped[:4], grouped[5:9], grouped[10:14], grouped[15:]}
}

// stageView reads what stage and remote show now.
func (s *Site) stageView(c echo.Context, id string) (liveView, error) {
	ctx := c.Request().Context()
	st, err := s.cfg.Event.Show.State(ctx, id)
	if err != nil {
		return liveView{}, err
	}
	return s.hub.view(ctx, st, true, s.hub.numberFor(id), s.cfg.Now().UTC())
}

// getStageLive streams the stage without delay, until its key is revoked, and
// the evening's until that begins or is over: then it is opened anew.
func (s *Site) getStageLive(c echo.Context) error {
	on, err := s.staged(c)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	if !on.until.IsZero() {
		within, end := context.WithTimeout(ctx, on.until.Sub(s.cfg.Now()))
		defer end()
		ctx = within
	}
	return s.streamBy(ctx, c, show.KeyStage, c.QueryParam("key"), on.room, stages)
}

// getStageLine serves the numbers of all tickets, which name none, once the
// stage shows the line.
func (s *Site) getStageLine(c echo.Context) error {
	on, err := s.staged(c)
	if err != nil {
		return err
	}
	g := on.g
	st, err := s.cfg.Event.Show.State(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDrawn || st.Step < show.Line {
		return errNoSuchPage
	}
	r, err := s.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	if r.Record == nil || r.Seed == nil {
		return errNoSuchPage
	}
	order, err := s.ranks.order(s.known(g), *r.Seed)
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "application/octet-stream", lineBytes(order))
}

// getStageCode is the code that viewers scan: of the giveaway's page, where the
// whole fingerprint stands, and once what to do now is shown of its check.
func (s *Site) getStageCode(c echo.Context) error {
	on, err := s.staged(c)
	if err == nil && on.g.ID == "" {
		err = errNoSuchPage
	}
	if err != nil {
		return err
	}
	g := on.g
	to := homeURL(g.ID)
	if c.QueryParam("to") == "check" {
		to = checkURL(g.ID)
	}
	q, err := qrOf(s.link(to))
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "image/svg+xml", q.svg("QR code of the page "+s.link(to)))
}
