package web

import "github.com/labstack/echo/v4"

// Desk is what only the creator's side needs.
type Desk struct{}

// deskRoutes are the addresses of the creator's side.
func (s *Site) deskRoutes(e *echo.Echo) {}
