package web

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/show"
)

// How a stream keeps alive, and how long one write to a reader may take. Common
// practice, no source, but for the form of a comment and of retry (HTML Living
// Standard, 9.2, "Server-sent events"). A stream that broke is opened anew after
// retryLeast, by viewers up to retrySpread later: not all in the same instant.
const (
	heartbeat     = 15 * time.Second
	writePatience = 10 * time.Second
	retryLeast    = 2 * time.Second
	retrySpread   = 4 * time.Second
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
	rise, ok := s.hub.seating.take(c.RealIP())
	if !ok {
		return errFull
	}
	defer rise()
	return s.stream(c.Request().Context(), c, g.ID, viewers)
}

// stream sends pictures until the context ends, which the reader's leaving
// does, or the server stops.
func (s *Site) stream(ctx context.Context, c echo.Context, id string, who audience) error {
	retry, err := s.retry(who)
	if err != nil {
		return err
	}
	seat, leave := s.hub.sit(id, who)
	defer leave()
	w := newLiveWriter(c)
	if err := w.write(retry); err != nil {
		return nil // the reader is gone; nothing can be told
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		var err error
		select {
		case <-ctx.Done():
			return nil
		case <-s.cfg.Event.Ends:
			return nil
		case <-seat.wake:
			err = w.write(seat.newest.Load().text)
		case <-beat.C:
			err = w.write([]byte(":\n\n"))
		}
		if err != nil {
			return nil
		}
	}
}

// retry tells the reader's browser how long to wait when the stream breaks.
func (s *Site) retry(who audience) ([]byte, error) {
	wait := retryLeast
	if who == viewers {
		var b [2]byte
		if _, err := io.ReadFull(s.cfg.Rand, b[:]); err != nil {
			return nil, fmt.Errorf("spread streams that break: %w", err)
		}
		wait += time.Duration(binary.BigEndian.Uint16(b[:])) * retrySpread >> 16
	}
	return fmt.Appendf(nil, "retry: %d\n\n", wait.Milliseconds()), nil
}

// streamBy streams to whoever has a key that stands, until it has gone or the
// context ends.
func (s *Site) streamBy(ctx context.Context, c echo.Context, kind, secret, id string, who audience) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	go s.attend(ctx, end, kind, secret)
	return s.stream(ctx, c, id, who)
}

// attend notes with each heartbeat that a screen is there, and ends its stream
// once its key has gone. It runs beside the stream, so that a database which is
// busy with something long holds up no picture.
func (s *Site) attend(ctx context.Context, end func(), kind, secret string) {
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		if errors.Is(s.note(ctx, kind, secret), show.ErrNoKey) {
			end()
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-beat.C:
		}
	}
}

// note notes that a screen is there; [show.ErrNoKey] if its key has gone.
func (s *Site) note(ctx context.Context, kind, secret string) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), heartbeat)
	defer cancel()
	if _, err := s.cfg.Event.Keys.Key(ctx, kind, secret); err != nil {
		return err
	}
	return s.cfg.Event.Keys.KeySeen(ctx, kind, secret, s.cfg.Now().UTC())
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
