package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
)

// routes are the addresses of the public side. Those of the desk stand in
// deskRoutes. No proxy middleware is used.
func (s *Site) routes(e *echo.Echo) {
	get := func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc) {
		e.GET(path, h, m...)
		e.HEAD(path, h, m...)
	}
	get("/", s.getFirst)
	get("/now", s.getNow)
	get("/healthz", s.getHealth)
	get("/readyz", s.getReady)
	get("/static/:name", s.getAsset)

	get("/g/:id", s.getGiveaway)
	e.POST("/g/:id", s.postEntry, limited(s.posts), body(maxEntry, typeForm, typeJSON))
	get("/g/:id/rules", s.getRules)
	get("/g/:id/calendar.ics", s.getCalendar)
	get("/g/:id/t/", s.getTicketTyped, unlisted)
	get("/g/:id/t/:ticket", s.getTicket, unlisted)
	get("/g/:id/fair", redirectTo(fairURL))
	get("/g/:id/fair/", s.getFair)
	get("/g/:id/fair/:file", s.getFile)
	get("/g/:id/files.zip", s.getZip)
	s.checkRoutes(get)
	s.lineRoutes(get)

	read := []echo.MiddlewareFunc{keepPrivate, limited(s.private)}
	change := []echo.MiddlewareFunc{keepPrivate, limited(s.posts), body(maxEntry, typeForm)}
	get("/g/:id/r/:secret", s.getPrivate, read...)
	get("/g/:id/r/:secret/receipt", s.getReceipt, read...)
	get("/g/:id/r/:secret/entry", s.getEntryText, read...)
	get("/g/:id/r/:secret/fix", s.getFix, read...)
	e.POST("/g/:id/r/:secret/fix", s.postFix, change...)
	e.POST("/g/:id/r/:secret/size", s.postSize, change...)
	e.POST("/g/:id/r/:secret/name", s.postName, change...)
	get("/g/:id/r/:secret/withdraw", s.getWithdraw, read...)
	e.POST("/g/:id/r/:secret/withdraw", s.postWithdraw, change...)
}

// redirectTo leads to another address of the same giveaway.
func redirectTo(where func(id string) string) echo.HandlerFunc {
	return func(c echo.Context) error {
		if !draw.ValidID(c.Param("id")) {
			return errNoSuchPage
		}
		return c.Redirect(http.StatusMovedPermanently, where(c.Param("id")))
	}
}
