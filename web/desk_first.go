package web

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/sample"
)

// A firstPage is the first start: the code from the terminal, and a passphrase.
type firstPage struct {
	Frame
	Code          string // as typed
	CodeProblem   string
	PhraseProblem string
	AgainProblem  string
	Least         int
}

// Bad reports whether something is to be put right.
func (p firstPage) Bad() bool { return p.CodeProblem+p.PhraseProblem+p.AgainProblem != "" }

// Faults are for the summary.
func (p firstPage) Faults() []fault {
	all := []fault{{"code", "Code", p.CodeProblem}, {"passphrase", "Passphrase", p.PhraseProblem}, {"again", "The same again", p.AgainProblem}}
	return slices.DeleteFunc(all, func(f fault) bool { return f.Text == "" })
}

func (d *desk) askFirst(c echo.Context, status int, p firstPage) error {
	if status == http.StatusUnauthorized {
		status = http.StatusOK
	}
	p.Frame = Frame{Title: "Set up your desk", Left: "Your desk"}
	p.Least = leastPhrase
	return d.render(c, status, "desk_first", p)
}

// postClaim sets the passphrase, once. Of two browsers that send at once one
// wins; the other is asked to sign in with what the first has set.
//
// Wrong codes slow down, by network and over all. The right one is never made
// to wait: otherwise a stranger's wrong ones would keep the host out. It has 60
// random bits, so nobody finds it by trying.
func (d *desk) postClaim(c echo.Context) error {
	ctx := c.Request().Context()
	if set, err := d.cfg.Desk.Store.DeskHash(ctx); err != nil || set != "" {
		return d.tooLate(c, err)
	}
	p := firstPage{Code: strings.TrimSpace(c.FormValue("code"))}
	if !d.codeFits(p.Code) {
		if wait := d.codes.wrong(now(c), "", site(c.RealIP()).String()); wait > 0 {
			p.CodeProblem = waitWords(wait)
			return d.slowDown(c, wait, func() error { return d.askFirst(c, http.StatusTooManyRequests, p) })
		}
		p.CodeProblem = "This is not the code. Copy it from the terminal where the server was started."
	}
	p.checkPhrase(c.FormValue("passphrase"), c.FormValue("again"))
	if p.Bad() {
		return d.askFirst(c, http.StatusUnprocessableEntity, p)
	}
	hash, err := d.hash(ctx, c.FormValue("passphrase"))
	if err != nil {
		return err
	}
	if err := d.cfg.Desk.Store.ClaimDesk(ctx, hash); err != nil {
		return d.lost(c, err)
	}
	if err := d.enter(c); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk")
}

func (p *firstPage) checkPhrase(phrase, again string) {
	n := utf8.RuneCountInString(phrase)
	switch {
	case n < leastPhrase:
		p.PhraseProblem = fmt.Sprintf("Use at least %d characters. A few words in a row are easy to keep in mind.", leastPhrase)
	case easyPhrase(phrase):
		p.PhraseProblem = "That is among the first that a stranger would try. Take a few words in a row that don’t belong together."
	case n > mostPhrase || !utf8.ValidString(phrase):
		p.PhraseProblem = fmt.Sprintf("Use %d characters at most.", mostPhrase)
	case phrase != again:
		p.AgainProblem = "The two are not the same. Type the passphrase again in both fields."
	}
}

// codeFits compares in constant time, whatever was typed. Case, blanks and
// hyphens don't matter.
func (d *desk) codeFits(typed string) bool {
	tidy := strings.NewReplacer("-", "", " ", "", "O", "0", "I", "1", "L", "1")
	got := sha256.Sum256([]byte(tidy.Replace(strings.ToUpper(typed))))
	want := sha256.Sum256([]byte(tidy.Replace(d.cfg.Desk.Code)))
	return d.cfg.Desk.Code != "" && subtle.ConstantTimeCompare(got[:], want[:]) == 1
}

// lost tells whether a claim failed because another one was faster.
func (d *desk) lost(c echo.Context, cause error) error {
	if set, err := d.cfg.Desk.Store.DeskHash(c.Request().Context()); err != nil || set == "" {
		return errors.Join(cause, err)
	}
	return d.tooLate(c, nil)
}

func (d *desk) tooLate(c echo.Context, err error) error {
	if err != nil {
		return err
	}
	return d.askWho(c, http.StatusConflict, signInPage{
		Next: "/desk",
		Note: "The desk has its passphrase already; it was set from another browser. Nothing has changed. Sign in with that passphrase.",
	})
}

// postSample loads the invented giveaways. Pressed twice, the second finds
// them there.
func (d *desk) postSample(c echo.Context) error {
	if d.cfg.Desk.Sample == nil {
		return errNoSuchPage
	}
	d.loading.Lock()
	defer d.loading.Unlock()
	err := d.cfg.Desk.Sample(uncut(c))
	if errors.Is(err, sample.ErrReal) {
		return d.list(c, http.StatusConflict, "The sample was not loaded, because there is a giveaway of your own here. Start the server with another data folder to try the sample.")
	}
	if err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk")
}
