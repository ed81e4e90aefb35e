package web

import (
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/show"
)

// How a stream keeps alive, and how long one write to a reader may take. Common
// practice, no source, but for the form of a comment and of retry (HTML Living
// Standard, 9.2, "Server-sent events").
const (
	heartbeat     = 15 * time.Second
	writePatience = 10 * time.Second
	retryAfter    = "retry: 2000\n\n"
)

// liveRoutes are the streams.
func (s *Site) liveRoutes(e *echo.Echo) {
	if s.cfg.Event == nil {
		return
	}
	e.GET("/g/:id/live", s.getLive)
	s.stageRoutes(e)
	s.remoteRoutes(e)
}

// getLive streams to viewers what they may see, by the show's delay.
func (s *Site) getLive(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	return s.stream(c, g.ID, viewers, nil)
}

// stream sends pictures until the reader leaves, the server stops, or still
// says that the reader's key has gone; still is asked with each heartbeat.
func (s *Site) stream(c echo.Context, id string, who audience, still func() error) error {
	seat, leave := s.hub.sit(id, who)
	defer leave()
	w := newLiveWriter(c)
	if err := w.write([]byte(retryAfter)); err != nil {
		return nil // the reader is gone; nothing can be told
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		var err error
		select {
		case <-c.Request().Context().Done():
			return nil
		case <-s.cfg.Event.Ends:
			return nil
		case <-seat.wake:
			err = w.write(seat.newest.Load().text)
		case <-beat.C:
			if still != nil && errors.Is(still(), show.ErrNoKey) {
				return nil
			}
			err = w.write([]byte(":\n\n"))
		}
		if err != nil {
			return nil
		}
	}
}

// streamBy streams to whoever has a key, and notes that a screen is there.
func (s *Site) streamBy(c echo.Context, kind, secret, id string, who audience) error {
	keys := s.cfg.Event.Keys
	still := func() error {
		if _, err := keys.Key(c.Request().Context(), kind, secret); err != nil {
			return err
		}
		return keys.KeySeen(uncut(c), kind, secret, s.cfg.Now().UTC())
	}
	if err := still(); err != nil {
		return err
	}
	return s.stream(c, id, who, still)
}

// A liveWriter writes to a reader who may be slow.
type liveWriter struct {
	http.ResponseWriter
	control *http.ResponseController
}

// newLiveWriter begins a stream.
func newLiveWriter(c echo.Context) liveWriter {
	h := c.Response().Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // a proxy in front passes each event on at once
	w := liveWriter{c.Response(), http.NewResponseController(c.Response())}
	// The server's own limit is for answers that end.
	_ = w.control.SetWriteDeadline(time.Time{}) // where it can't be lifted the stream ends, and begins anew
	c.Response().WriteHeader(http.StatusOK)
	return w
}

// write sends at once. A reader who takes nothing for writePatience is let go:
// a deadline that is long past ends the write that waits.
func (w liveWriter) write(b []byte) error {
	late := time.AfterFunc(writePatience, func() { _ = w.control.SetWriteDeadline(time.Unix(1, 0)) })
	defer late.Stop()
	if _, err := w.Write(b); err != nil {
		return err
	}
	return w.control.Flush()
}
