package web

import (
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// secondPage is the page on which a second holder makes a secret. It is one
// file with nothing outside it, so that a saved copy works without a network.
// Words in square brackets are filled in when it is served; none of them
// stands in its style or its script, whose hashes the policy names.
//
//go:embed second/make.html
var secondPage string

// secondPolicy lets this page's own style and script run, and nothing else
// (Content Security Policy Level 3, section 2.3.1, hash sources). It asks no
// address for anything, not even its own.
var secondPolicy = "default-src 'none'; script-src " + sourceHash("script") + "; style-src " + sourceHash("style") + "; form-action 'none'; base-uri 'none'"

// sourceHash is the hash source of the page's one element of a name.
func sourceHash(element string) string {
	_, rest, _ := strings.Cut(secondPage, "<"+element+">")
	text, _, ok := strings.Cut(rest, "</"+element+">")
	if !ok || strings.Contains(rest, "<"+element+">") {
		panic("web: second/make.html: want one " + element)
	}
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// secondRoutes are the addresses of second holders: making a secret number,
// and handing it in.
func (s *Site) secondRoutes(e *echo.Echo) {
	e.GET("/second", s.getMakeSecond)
	e.HEAD("/second", s.getMakeSecond)
	e.GET("/g/:id/second/:role", s.getHandSecond, keepPrivate)
	e.HEAD("/g/:id/second/:role", s.getHandSecond, keepPrivate)
	e.POST("/g/:id/second/:role", s.postHandSecond, keepPrivate, limited(s.posts), body(maxEntry, typeForm))
}

// getMakeSecond serves the page on which a secret is made, with what the
// address says of giveaway and part filled in; ?copy is the same page as a file
// to keep. Whose giveaways these are the address does not say: a number made
// for another host would be of no use here, and its link would lead there.
func (s *Site) getMakeSecond(c echo.Context) error {
	host := s.cfg.PublicURL.Hostname()
	if signer, err := s.cfg.Host.Keys.Signer(c.Request().Context()); err == nil {
		host = signer.Name()
	}
	fill := func(name, otherwise string, valid func(string) bool) string {
		if v := c.QueryParam(name); valid(v) {
			return v
		}
		return otherwise
	}
	id, role := fill("draw", "", draw.ValidID), fill("role", "", validSecond)
	query := url.Values{"copy": {""}, "draw": {id}, "role": {role}}
	h := c.Response().Header()
	h.Set("Content-Security-Policy", secondPolicy+"; frame-ancestors 'none'")
	h.Set("Referrer-Policy", "no-referrer")
	if c.QueryParams().Has("copy") {
		h.Set("Content-Disposition", `attachment; filename="secret-number.html"`)
	}
	// The values are those of the protocol's alphabets, which mean nothing in
	// HTML; the address is escaped.
	return c.HTML(http.StatusOK, strings.NewReplacer(
		"[policy]", secondPolicy, "[home]", html.EscapeString(s.cfg.PublicURL.String()), "[host]", host,
		"[copy]", html.EscapeString("/second?"+query.Encode()), "[draw]", id, "[signer]", host, "[role]", role,
		"[draw-or]", cmp.Or(id, "NAME"), "[signer-or]", host, "[role-or]", cmp.Or(role, "PART"),
	).Replace(secondPage))
}

// validSecond reports whether a role may be a second holder's.
func validSecond(role string) bool { return draw.ValidRole(role) && role != giveaway.HostRole }
