package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
)

// A browser that has signed in once is known from then on: it bears a cookie
// of ours. That lets nobody in. It only gives the host's browser a place and
// waiting times of its own, so that strangers who try passphrases can't keep
// the host out.
const (
	knownCookie = "desk-known"
	knownTime   = 400 * 24 * time.Hour // the longest that browsers keep one (RFC 6265bis, section 5.5)
	idBytes     = 16
)

// knownBrowser is the id of a known browser, "" for a stranger's.
func (d *desk) knownBrowser(c echo.Context) string {
	cookie, err := c.Cookie(knownCookie)
	if err != nil || d.cfg.Desk.KnownKey == [32]byte{} {
		return ""
	}
	id, mark, _ := strings.Cut(cookie.Value, ".")
	if !hmac.Equal([]byte(mark), []byte(d.knownMark(id))) {
		return ""
	}
	return id
}

// knownMark shows that an id is ours: HMAC-SHA-256 (RFC 2104).
func (d *desk) knownMark(id string) string {
	mac := hmac.New(sha256.New, d.cfg.Desk.KnownKey[:])
	io.WriteString(mac, "evenhand browser known at the desk\n"+id)
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// getToKnow makes the browser a known one.
func (d *desk) getToKnow(c echo.Context) error {
	if d.knownBrowser(c) != "" || d.cfg.Desk.KnownKey == [32]byte{} {
		return nil
	}
	b := make([]byte, idBytes)
	if _, err := io.ReadFull(d.cfg.Rand, b); err != nil {
		return fmt.Errorf("sign in: make a browser's id: %w", err)
	}
	id := base64.RawURLEncoding.EncodeToString(b)
	c.SetCookie(&http.Cookie{
		Name: knownCookie, Value: id + "." + d.knownMark(id), Path: "/desk", MaxAge: int(knownTime / time.Second),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: d.cfg.PublicURL.Scheme == "https",
	})
	return nil
}

// guessKey is whose wrong passphrases slow this one down.
func (d *desk) guessKey(c echo.Context) string {
	if id := d.knownBrowser(c); id != "" {
		return "browser " + id
	}
	return site(c.RealIP()).String()
}

// A doorway is where passphrases wait to be checked: a few at a time, since
// each takes 64 MiB, and no long queue.
type doorway struct {
	places  chan struct{} // one for each check under way
	waiting chan struct{} // one for each in the doorway, those under way too
}

func newDoorway(atOnce, waiting int) doorway {
	return doorway{make(chan struct{}, atOnce), make(chan struct{}, atOnce+waiting)}
}

// errBusy says that too many wait to be checked.
var errBusy = errors.New("too many passphrases wait to be checked")

// enter waits for a free place; [errBusy] where too many do.
func (w doorway) enter(ctx context.Context) (leave func(), err error) {
	select {
	case w.waiting <- struct{}{}:
	default:
		return nil, errBusy
	}
	select {
	case w.places <- struct{}{}:
		return func() { <-w.places; <-w.waiting }, nil
	case <-ctx.Done():
		<-w.waiting
		return nil, fmt.Errorf("wait to check a passphrase: %w", ctx.Err())
	}
}
