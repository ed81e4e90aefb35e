package web

import (
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
)

// What a request carries with it.
const (
	keyNow      = "now"      // time.Time: the clock when the request had come, its body too
	keyClock    = "clock"    // func() time.Time
	keyDraw     = "draw"     // string: the draw id, once the giveaway was found
	keyGiveaway = "giveaway" // giveaway.Giveaway: the one of the address, once found
	keyRequest  = "request"  // string: random, for log and error page
	keyError    = "error"    // error: what the log line says beside a status of 500 and more
)

// now is the time of the request, UTC, whole seconds.
func now(c echo.Context) time.Time { return c.Get(keyNow).(time.Time) }

// readClock gives the request the time as it is now.
func readClock(c echo.Context) {
	clock := c.Get(keyClock).(func() time.Time)
	c.Set(keyNow, clock().UTC().Truncate(time.Second))
}

// requestID is the id that log line and answer share.
func requestID(c echo.Context) string { id, _ := c.Get(keyRequest).(string); return id }

// identify gives the request its time and its id. An id that the client sends
// is not taken over: it would stand in the log.
func (s *Site) identify(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		var id [8]byte
		if _, err := io.ReadFull(s.cfg.Rand, id[:]); err != nil {
			return fmt.Errorf("make a request id: %w", err)
		}
		c.Set(keyRequest, hex.EncodeToString(id[:]))
		c.Set(keyClock, s.cfg.Now)
		readClock(c)
		c.Response().Header().Set("X-Request-Id", requestID(c))
		return next(c)
	}
}

// log writes one line for each request: the route's pattern and never the
// path, which may hold a private link.
func (s *Site) log(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := next(c); err != nil {
			c.Error(err)
		}
		args := []any{"method", knownMethod(c.Request().Method), "route", c.Path(), "status", c.Response().Status, "request", requestID(c)}
		if id, ok := c.Get(keyDraw).(string); ok {
			args = append(args, "draw", id)
		}
		ctx := c.Request().Context()
		if err, ok := c.Get(keyError).(error); ok {
			s.cfg.Log.ErrorContext(ctx, "request failed", append(args, "err", err)...)
			return nil
		}
		s.cfg.Log.InfoContext(ctx, "request", args...)
		return nil
	}
}

// knownMethod keeps a made-up method out of the log.
func knownMethod(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodDelete, http.MethodPatch, http.MethodOptions:
		return m
	}
	return "other"
}

// recover turns a panic into an answer. The value may hold anything, so only
// its type is logged.
func (s *Site) recover(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				err = panicked{fmt.Sprintf("%T", p)}
			}
		}()
		return next(c)
	}
}

// panicked is a panic as an error: a fault of the program.
type panicked struct{ kind string }

func (p panicked) Error() string { return "panic with a value of type " + p.kind }

// policy allows a page what comes from this host and nothing else; no
// inline script or style (Content Security Policy Level 3).
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// secure sets the headers of every answer. What is private says so itself; see
// [keepPrivate].
func (s *Site) secure(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-cache")
		return next(c)
	}
}

// keepPrivate marks an answer that only one person should see: it is stored
// nowhere, named to no other page and found by no search.
//
// With no-referrer a browser sends "Origin: null" with the page's forms. They
// pass [http.CrossOriginProtection] by Sec-Fetch-Site, which browsers send over
// https and to localhost; over plain http to another host they would not.
func keepPrivate(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		h.Set("X-Robots-Tag", "noindex")
		return next(c)
	}
}

// unlisted asks search engines to leave a page out.
func unlisted(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set("X-Robots-Tag", "noindex")
		return next(c)
	}
}

// sameOrigin refuses unsafe requests that a page of another origin made.
func (s *Site) sameOrigin(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := s.cross.Check(c.Request()); err != nil {
			return errCrossOrigin
		}
		return next(c)
	}
}

// slashless leads an address that was typed with a slash at its end to the one
// without it. Addresses that stand for a folder keep theirs: their pattern ends
// in one.
func slashless(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		at := r.URL.Path
		reads := r.Method == http.MethodGet || r.Method == http.MethodHead
		// A path that is not clean, such as //elsewhere.example/, would lead to
		// another host.
		if !reads || at == "/" || path.Clean(at)+"/" != at || strings.HasSuffix(c.Path(), "/") {
			return next(c)
		}
		c.Response().Header().Set("Cache-Control", "no-store")
		to := url.URL{Path: path.Clean(at), RawQuery: r.URL.RawQuery}
		return c.Redirect(http.StatusMovedPermanently, to.String())
	}
}
