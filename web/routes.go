package web

import "github.com/labstack/echo/v4"

// routes are the addresses of the public side. Those of the desk stand in
// deskRoutes. No proxy middleware is used.
func (s *Site) routes(e *echo.Echo) {
	get := func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc) {
		e.GET(path, h, m...)
		e.HEAD(path, h, m...)
	}
	get("/healthz", s.getHealth)
	get("/readyz", s.getReady)
	get("/static/:name", s.getAsset)
}
