package web

import (
	"bytes"
	"fmt"
	"net/http"
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
	Live    string   // address of the stream
	Line    string   // address of the line's numbers
	Now     string   // the server's clock, RFC 3339
	Overlay bool     // on nothing, for a streaming program
	Tall    bool
	Sample  bool
}

func stageURL(id, key string) string { return "/g/" + id + "/stage?key=" + key }

// stageRoutes are the stage's addresses; its key stands in the query, which no
// log line has.
func (s *Site) stageRoutes(e *echo.Echo) {
	read := []echo.MiddlewareFunc{keepPrivate, limited(s.private)}
	e.GET("/g/:id/stage", s.getStage, read...)
	e.GET("/g/:id/stage/live", s.getStageLive, read...)
	e.GET("/g/:id/stage/line.bin", s.getStageLine, read...)
}

// staged finds the giveaway, as it is, whose stage the request's key opens.
func (s *Site) staged(c echo.Context) (giveaway.Giveaway, error) {
	k, err := s.cfg.Event.Keys.Key(c.Request().Context(), show.KeyStage, c.QueryParam("key"))
	if err != nil || k.Draw != c.Param("id") {
		return giveaway.Giveaway{}, show.ErrNoKey
	}
	return s.liveGiveaway(c, k.Draw)
}

// getStage shows the stage as it stands.
func (s *Site) getStage(c echo.Context) error {
	g, err := s.staged(c)
	if err != nil {
		return err
	}
	v, err := s.stageView(c, g.ID)
	if err != nil {
		return err
	}
	key := c.QueryParam("key")
	p := stagePage{View: v.View, Groups: splitTicket(v.Ticket), Live: "/g/" + g.ID + "/stage/live?key=" + key, Line: "/g/" + g.ID + "/stage/line.bin?key=" + key,
		Now: s.cfg.Now().UTC().Format(time.RFC3339Nano), Sample: g.Sample, Overlay: c.QueryParam("overlay") != "", Tall: c.QueryParam("tall") != ""}
	return s.renderWhole(c, http.StatusOK, "stage", p)
}

// splitTicket gives the four groups of a ticket; none of "".
func splitTicket(grouped string) []string {
	if len(grouped) != 19 {
		return nil
	}
	return []string{grouped[:4], grouped[5:9], grouped[10:14], grouped[15:]}
}

// stageView reads what the stage shows now.
func (s *Site) stageView(c echo.Context, id string) (liveView, error) {
	ctx, at := c.Request().Context(), s.cfg.Now().UTC()
	st, err := s.cfg.Event.Show.State(ctx, id)
	if err != nil {
		return liveView{}, err
	}
	f, err := s.cfg.Event.Show.Facts(ctx, st, true)
	if err != nil {
		return liveView{}, err
	}
	return liveView{f.View(st, at), f.Button(st), f.Coming(st, at)}, nil
}

// getStageLive streams the stage without delay, until its key is revoked.
func (s *Site) getStageLive(c echo.Context) error {
	g, err := s.staged(c)
	if err != nil {
		return err
	}
	return s.stream(c, g.ID, false, func() error { _, err := s.staged(c); return err })
}

// getStageLine serves the numbers of all tickets, which name none, once the
// stage shows the line.
func (s *Site) getStageLine(c echo.Context) error {
	g, err := s.staged(c)
	if err != nil {
		return err
	}
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

// renderWhole writes a page that has no layout: its template is named as it is.
func (s *Site) renderWhole(c echo.Context, status int, name string, page any) error {
	t := s.pages[name]
	if t == nil {
		return fmt.Errorf("render page: no template %q", name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, name, page); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	return c.HTMLBlob(status, b.Bytes())
}

// liveGiveaway reads a giveaway as it is, for whoever holds a key of its show.
func (s *Site) liveGiveaway(c echo.Context, id string) (giveaway.Giveaway, error) {
	g, err := s.cfg.Host.Store.Giveaway(c.Request().Context(), id)
	if err == nil {
		c.Set(keyDraw, g.ID)
	}
	return g, err
}
