package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/draw/relay"
	"evenhand/giveaway"
	"evenhand/web/check"
)

// checkScript is the name of the script of the check page among the assets.
const checkScript = "check.js"

// A checkPage is the frame around the check in the viewer's own browser.
type checkPage struct {
	Frame
	Fair    string // where the files are
	Command string // how to check without this page
	Copy    string // the check as one file
	Relays  string // only where they are not those that the script knows
}

func checkURL(id string) string { return "/g/" + id + "/check" }

// checkLink leads to the check page with a proof of entry after "#", which a
// browser sends to nobody; the page takes it out of the address.
func checkLink(id string, receipt []byte) string {
	return checkURL(id) + "#receipt=" + base64.URLEncoding.EncodeToString(receipt)
}

// checkRoutes are the check page and its copy, which stands beside the files
// and works from disk as well.
func (s *Site) checkRoutes(get func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc)) {
	get("/g/:id/check", s.getCheck)
	get("/g/:id/fair/check.html", s.getCheckCopy)
}

// checkPolicy is the policy of the check page and of its worker: the only ones
// that may ask another host, the relays of the public number.
func (s *Site) checkPolicy() string {
	relays := s.cfg.CheckRelays
	if relays == nil {
		relays = relay.Default()
	}
	return strings.Replace(policy, "connect-src 'self'", "connect-src 'self' "+strings.Join(relays, " ")+"; worker-src 'self'", 1)
}

// getCheck shows the frame; the script fills it.
func (s *Site) getCheck(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Security-Policy", s.checkPolicy())
	p := s.checkFrame(c, g)
	p.Follow = s.follow(g, true)
	return s.render(c, http.StatusOK, "check", p)
}

func (s *Site) checkFrame(c echo.Context, g giveaway.Giveaway) checkPage {
	return checkPage{Frame: frame(g, now(c), "Check it yourself"), Fair: fairURL(g.ID), Command: "draw verify " + s.link(fairURL(g.ID)),
		Copy: fairURL(g.ID) + "check.html", Relays: strings.Join(s.cfg.CheckRelays, " ")}
}

// A checkCopy is the check as one document, with what is sent beside it.
type checkCopy struct {
	bytes       []byte
	tag, policy string
}

// theCopy is made once: it is the same for every giveaway.
var theCopy = sync.OnceValue(func() checkCopy {
	all := loadAssets()
	page := check.Copy(slices.Concat(all["style.css"].bytes, all["check.css"].bytes, all["line.css"].bytes), all["line.js"].bytes, all["linepage.js"].bytes)
	policy := "default-src 'none'; script-src " + inlineHash(page.Script) + "; style-src " + inlineHash(page.Style) + "; worker-src blob:; img-src data:; connect-src 'self' " +
		strings.Join(relay.Default(), " ") + "; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
	return checkCopy{page.Document, `"` + draw.Hash(page.Document).String() + `"`, policy}
})

// getCheckCopy is the same check as one document that needs no other.
func (s *Site) getCheckCopy(c echo.Context) error {
	if _, err := s.giveaway(c); err != nil {
		return err
	}
	one, h := theCopy(), c.Response().Header()
	h.Set("Content-Security-Policy", one.policy)
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("ETag", one.tag)
	http.ServeContent(c.Response(), oneRange(c.Request()), "", time.Time{}, bytes.NewReader(one.bytes))
	return nil
}

// inlineHash names an inline script or style in a policy (Content Security
// Policy Level 3, section 2.3.1).
func inlineHash(text []byte) string {
	h := sha256.Sum256(text)
	return "'sha256-" + base64.StdEncoding.EncodeToString(h[:]) + "'"
}
