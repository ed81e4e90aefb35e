package web

import (
	"net/http"

	"github.com/labstack/echo/v4"
)

// getHealth answers while the process runs.
func (s *Site) getHealth(c echo.Context) error { return c.String(http.StatusOK, "ok\n") }

// getReady answers 200 while the database answers too, so that a proxy may
// send requests here.
func (s *Site) getReady(c echo.Context) error {
	if s.cfg.Ready != nil {
		if err := s.cfg.Ready(c.Request().Context()); err != nil {
			c.Set(keyError, err)
			return c.String(http.StatusServiceUnavailable, "not ready\n")
		}
	}
	return c.String(http.StatusOK, "ready\n")
}
