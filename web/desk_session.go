package web

import (
	"context"
	"fmt"
	"net/http"
	"path"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"
)

const (
	sessionDays  = 7
	sessionKey   = "signed-in" // in the session: bool
	leastPhrase  = 12          // characters of a passphrase
	mostPhrase   = 200
	hashesAtOnce = 2 // each takes 64 MiB (argon2id's default parameters)
	strangers    = 6 // who may wait behind those
)

// sessionManager sets the cookie: no script reads it, no other site sends it,
// and it is sent only to the desk.
func (s *Site) sessionManager() *scs.SessionManager {
	m := scs.New()
	m.Store = s.cfg.Desk.Sessions
	m.Lifetime = sessionDays * 24 * time.Hour
	m.Cookie.Name = "desk"
	m.Cookie.Path = "/desk"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = s.cfg.PublicURL.Scheme == "https"
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		if hungUp(r, err) {
			w.WriteHeader(statusHungUp) // for the log; nobody reads it
			return
		}
		s.cfg.Log.ErrorContext(r.Context(), "session failed", "err", err)
		http.Error(w, "The desk can’t tell who is signed in at the moment. Try again in a minute.", http.StatusServiceUnavailable)
	}
	return m
}

// isIn reports whether the request's sender is signed in.
func (d *desk) isIn(c echo.Context) bool {
	return d.sessions.GetBool(c.Request().Context(), sessionKey)
}

// enter signs in. The session's token is a new one: who planted the old one
// gains nothing (session fixation).
func (d *desk) enter(c echo.Context) error {
	ctx := c.Request().Context()
	if err := d.sessions.RenewToken(ctx); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	d.sessions.Put(ctx, sessionKey, true)
	d.typedPhrase(c)
	return d.getToKnow(c)
}

// signedIn lets only those through who are signed in; the others get the
// sign-in page, which leads back here.
func (d *desk) signedIn(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		switch {
		case d.isIn(c):
			return next(c)
		case c.Request().Method == http.MethodGet:
			return d.askWho(c, http.StatusUnauthorized, signInPage{Next: c.Request().URL.Path})
		case strings.HasSuffix(c.Path(), "/keep"): // by the page's script, which says what to do
			return writeJSON(c, http.StatusUnauthorized, typeJSON, map[string]string{"error": "signed-out"})
		}
		return c.Redirect(http.StatusSeeOther, "/desk")
	}
}

// A signInPage asks for the passphrase.
type signInPage struct {
	Frame
	Note    string // a sentence above the form, or ""
	Problem string // under the field, or ""
	Next    string // where to go then, a path of the desk
}

// askWho shows the sign-in page, or the first start where there is no
// passphrase yet.
func (d *desk) askWho(c echo.Context, status int, p signInPage) error {
	hash, err := d.cfg.Desk.Store.DeskHash(c.Request().Context())
	if err != nil {
		return err
	}
	if hash == "" {
		return d.askFirst(c, status, firstPage{})
	}
	p.Frame = Frame{Title: "Sign in to your desk", Left: "Your desk"}
	return d.render(c, status, "desk_sign_in", p)
}

func (d *desk) postIn(c echo.Context) error {
	p := signInPage{Next: deskPath(c.FormValue("next"))}
	hash, err := d.cfg.Desk.Store.DeskHash(c.Request().Context())
	if err != nil {
		return err
	}
	if hash == "" {
		return c.Redirect(http.StatusSeeOther, "/desk")
	}
	ok, wait, err := d.tryPhrase(c, hash)
	switch {
	case err != nil:
		return err
	case wait > 0:
		p.Problem = waitWords(wait)
		return d.slowDown(c, wait, func() error { return d.askWho(c, http.StatusTooManyRequests, p) })
	case !ok:
		p.Problem = wordWrongPhrase
		return d.askWho(c, http.StatusUnprocessableEntity, p)
	}
	if err := d.enter(c); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, p.Next)
}

const wordWrongPhrase = "This is not the desk’s passphrase. Check capital letters and blanks, and type it again."

// tryPhrase checks the passphrase of a form against its hash. Wrong ones slow
// down the next, wherever they are typed: then wait is how long.
func (d *desk) tryPhrase(c echo.Context, hash string) (ok bool, wait time.Duration, err error) {
	return d.phrases.try(d.guessKey(c), now(c), func() (bool, error) {
		door := d.hashing
		if d.knownBrowser(c) != "" {
			door = d.hashingKnown
		}
		return phraseFits(c.Request().Context(), door, c.FormValue("passphrase"), hash)
	})
}

// postOut signs out. Who is not signed in has no session to touch.
func (d *desk) postOut(c echo.Context) error {
	if !d.isIn(c) {
		return c.Redirect(http.StatusSeeOther, "/desk")
	}
	if err := d.sessions.Destroy(c.Request().Context()); err != nil {
		return fmt.Errorf("sign out: %w", err)
	}
	return c.Redirect(http.StatusSeeOther, "/desk")
}

// deskPath keeps a path that leads back into the desk; anything else becomes
// the desk itself, so that nobody is sent to another site, or to a page of this
// one that somebody else wrote. Browsers take %2e for a dot and %2f, \ and the
// like for more than letters (WHATWG URL, "path state"), so no path has them.
func deskPath(p string) string {
	if deskPaths.MatchString(p) && path.Clean(p) == p {
		return p
	}
	return "/desk"
}

var deskPaths = regexp.MustCompile(`^/desk/[A-Za-z0-9_./-]+$`)

// slowDown says how long to wait, to programs too.
func (d *desk) slowDown(c echo.Context, wait time.Duration, show func() error) error {
	c.Response().Header().Set("Retry-After", strconv.Itoa(seconds(wait)))
	return show()
}

func seconds(wait time.Duration) int { return int((wait + time.Second - 1) / time.Second) }

func waitWords(wait time.Duration) string {
	n := seconds(wait)
	if n == 1 {
		return "There was a wrong try a moment ago. Wait a second, then try again."
	}
	return fmt.Sprintf("There were wrong tries before this one. Wait %d seconds, then try again.", n)
}

// phraseFits checks a passphrase, when there is a place in the doorway.
func phraseFits(ctx context.Context, door doorway, phrase, hash string) (bool, error) {
	if len(phrase) > 4*mostPhrase {
		return false, nil
	}
	leave, err := door.enter(ctx)
	if err != nil {
		return false, err
	}
	defer leave()
	ok, err := argon2id.ComparePasswordAndHash(phrase, hash)
	if err != nil {
		return false, fmt.Errorf("check passphrase: %w", err)
	}
	return ok, nil
}

func (d *desk) hash(ctx context.Context, phrase string) (string, error) {
	leave, err := d.hashing.enter(ctx)
	if err != nil {
		return "", err
	}
	defer leave()
	hash, err := argon2id.CreateHash(phrase, argon2id.DefaultParams)
	if err != nil {
		return "", fmt.Errorf("hash passphrase: %w", err)
	}
	return hash, nil
}
