package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
)

// Errors that only the web knows.
var (
	errCrossOrigin = errors.New("request from another origin")
	errTooMany     = errors.New("too many requests from this network")
	errTooLong     = errors.New("body too long")
	errContentType = errors.New("content type not taken here")
	errMalformed   = errors.New("body not readable")
	errNoSuchPage  = errors.New("no such page")
	errNothingYet  = errors.New("no giveaway was opened yet")
	errNoTicket    = errors.New("not a ticket")
	errNoPlace     = errors.New("a ticket on no list")
	errUploadGone  = errors.New("no such upload, or no longer")
	errFull        = errors.New("no seat is left for a viewer")
)

// A trouble is what an error means to those who met it.
type trouble struct {
	status int
	code   string // for programs
	head   string // a heading that says what is so
	next   string // what to do now
}

// table maps errors to troubles; the first that fits counts. Whatever is not
// in it is the service's own fault: 503, logged.
var table = []struct {
	err error
	trouble
}{
	{giveaway.ErrNotFound, trouble{404, "not-found", "There is no such giveaway.", "Check the address: it ends in the giveaway’s name."}},
	{errNoSuchPage, trouble{404, "not-found", "There is no such page.", "Check the address, or go back to where you came from."}},
	{show.ErrNoKey, trouble{404, "not-found", "This page does not exist.", "Check that the whole address was copied; its last part is long. The creator may also have made a newer one."}},
	{errNothingYet, trouble{404, "not-found", "There is no giveaway here yet.", "Come back later."}},
	{errNoTicket, trouble{404, "not-a-ticket", "That is not a ticket.", "A ticket has 16 letters and digits, such as K7QF-2M9X-4RTB-W8ZC; there is no U in it."}},
	{errNoPlace, trouble{404, "not-on-a-list", "This ticket is on no list here.", "Check each letter and digit. While entries are open, and until the list is locked, only the page that came with the ticket knows it."}},
	{errUploadGone, trouble{404, "file-gone", "This file is not here, or no longer.", "A file that is brought in is kept for a day. Go back to the giveaway’s day-book and choose it once more; what was brought in already stays, and is not brought in twice."}},
	{entries.ErrNoSuchLink, trouble{404, "not-found", "This private page does not exist.", "Check that the whole link was copied; its last part is long."}},
	{entries.ErrAlreadyIn, trouble{409, "already-in", "This address is already in.", "Nothing has changed, and the entry is safe. A second one wouldn’t add a chance. To change it, use the private page that came with it."}},
	{entries.ErrClosed, trouble{410, "closed", "Entries have closed.", "This form came in after that, so it couldn’t be taken."}},
	{entries.ErrNotOpen, trouble{425, "not-yet-open", "Entries are not open yet.", "Come back when they open."}},
	{entries.ErrLocked, trouble{410, "locked", "The list is locked.", "Nothing on it can be changed any more, by anybody."}},
	{entries.ErrWithdrawn, trouble{409, "withdrawn", "This ticket was withdrawn.", "It can’t be changed. While entries are open you can enter again."}},
	{claims.ErrNoSuchLink, trouble{404, "not-found", "This page does not exist.", "Check that the whole link was copied; its last part is long. It may also have been replaced by a newer one."}},
	{claims.ErrClosed, trouble{410, "closed-link", "This link was closed.", "The creator of the giveaway closed it, and nothing can be seen or marked here any more. If you send the prize, ask the creator who gave it to you for a new link."}},
	{entries.ErrErased, trouble{410, "deleted", "This was made of personal data that was deleted.", "If you have a copy, keep it. The proof of entry is still to be had on the ticket’s private page."}},
	{claims.ErrErased, trouble{410, "deleted", "The personal data of this giveaway was deleted.", "It has ended, so names, addresses and phone numbers are no longer kept. What was published stays, and names nobody."}},
	{claims.ErrOver, trouble{410, "over", "The time for this is over.", "Nothing was changed."}},
	{claims.ErrAnswered, trouble{409, "answered", "This was answered already.", "Nothing was changed."}},
	{claims.ErrNotConfirmed, trouble{409, "not-confirmed", "This winner is not confirmed.", "Nothing was changed. Open the page again to see how it stands."}},
	{claims.ErrRace, trouble{409, "race", "Something else came first.", "Nothing was changed. Open the page again to see how it stands."}},
	{giveaway.ErrNoTurn, trouble{404, "not-found", "There is no such page.", "Check the address, or go back to where you came from."}},
	{errBusy, trouble{429, "busy", "Many are signing in at once.", "Wait a minute and try again."}},
	{entries.ErrTooSoon, trouble{429, "too-soon", "That was very quick.", "It was changed a moment ago. Wait a second and send it again; nothing is lost."}},
	{giveaway.ErrState, trouble{409, "state", "That can’t be done now.", "The giveaway has moved on; look at its page again."}},
	{errCrossOrigin, trouble{403, "cross-origin", "This came from another site.", "Open the page here and send the form again."}},
	{errTooMany, trouble{429, "too-many", "That was a lot at once.", "Many requests came from your network. Wait a minute and try again; nothing is lost."}},
	{errFull, trouble{503, "full", "Very many are watching just now.", "The giveaway’s own pages work without this. Load them again to see how it stands."}},
	{errTooLong, trouble{413, "too-long", "That was too much to read.", "Shorten what you typed and send it again."}},
	{errContentType, trouble{415, "content-type", "This can’t be read here.", "Send a form, or JSON with Content-Type: application/json."}},
	{errMalformed, trouble{400, "malformed", "What was sent can’t be read.", "Open the page again and send the form from there."}},
}

// troubleOf finds what an error means. Shown is false for what is not in the
// table: its cause belongs in the log.
func troubleOf(err error) (t trouble, shown bool) {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		err = errTooLong
	}
	var web *echo.HTTPError
	if errors.As(err, &web) {
		return ofHTTP(web)
	}
	for _, row := range table {
		if errors.Is(err, row.err) {
			return row.trouble, true
		}
	}
	var p panicked
	if errors.As(err, &p) {
		return trouble{500, "fault", "Something broke here.", "It’s our fault. Nothing of yours was changed by half; try once more."}, false
	}
	return trouble{503, "unavailable", "This isn’t working at the moment.", "It’s our fault. Wait a minute and try again."}, false
}

// ofHTTP is for the errors of the router.
func ofHTTP(e *echo.HTTPError) (trouble, bool) {
	switch e.Code {
	case http.StatusNotFound:
		return troubleOf(errNoSuchPage)
	case http.StatusMethodNotAllowed:
		return trouble{405, "method", "That can’t be done at this address.", "Go back and use the page’s own buttons."}, true
	case http.StatusRequestEntityTooLarge:
		return troubleOf(errTooLong)
	}
	return trouble{e.Code, "refused", "That was refused.", "Go back and try again."}, e.Code < 500
}

// fail answers a request that went wrong: a page, or a problem for programs.
func (s *Site) fail(err error, c echo.Context) {
	if hungUp(c.Request(), err) {
		c.Response().Status = statusHungUp // for the log; nobody reads an answer
		return
	}
	t, shown := troubleOf(err)
	if !shown {
		c.Set(keyError, err)
	}
	if c.Response().Committed {
		return
	}
	h := c.Response().Header()
	if t.status == http.StatusServiceUnavailable || t.status == http.StatusTooManyRequests {
		h.Set("Retry-After", "60")
	}
	if errors.Is(err, entries.ErrTooSoon) {
		h.Set("Retry-After", "1")
	}
	h.Set("Cache-Control", "no-store")
	if wantsJSON(c.Request()) {
		err = writeProblem(c, problemOf(t))
	} else {
		err = s.render(c, t.status, "trouble", s.troublePage(c, t, err))
	}
	if err != nil {
		c.Set(keyError, err)
	}
}

// statusHungUp stands in the log for a client that went away before its answer:
// no fault of anybody. The number is common practice, no source.
const statusHungUp = 499

// hungUp reports whether a request failed only because its client went away.
func hungUp(r *http.Request, err error) bool {
	return errors.Is(err, context.Canceled) && r.Context().Err() != nil
}

// wantsJSON tells programs from people: they send JSON, or accept only it.
func wantsJSON(r *http.Request) bool {
	if contentType(r) == typeJSON {
		return true
	}
	accept := r.Header.Get("Accept")
	return strings.Contains(accept, "json") && !strings.Contains(accept, "text/html")
}

// A troublePage says what went wrong and what to do now.
type troublePage struct {
	Frame
	Head, Next string
	Back       string // address of the giveaway; "": none
	Ask        string // whom to ask; "": nobody
	Desk       bool   // nothing is here yet: who comes may be who set the site up
	Request    string // shown where the fault is ours, to be quoted
}

// troublePage is the page of a trouble. Who may have lost the private page is
// told whom to ask.
func (s *Site) troublePage(c echo.Context, t trouble, err error) troublePage {
	lost := errors.Is(err, entries.ErrAlreadyIn) || errors.Is(err, entries.ErrNoSuchLink)
	p := troublePage{Frame: Frame{Title: t.head, Left: s.cfg.PublicURL.Hostname(), Home: "/"}, Head: t.head, Next: t.next,
		Desk: s.cfg.Desk.Store != nil && errors.Is(err, errNothingYet)}
	if g, ok := c.Get(keyGiveaway).(giveaway.Giveaway); ok {
		p.Frame, p.Back = frame(g, now(c), t.head), homeURL(g.ID)
		if lost {
			p.Ask = "Lost that page? " + askWords(g.Terms)
		}
	}
	if t.status >= 500 {
		p.Request = requestID(c)
	}
	return p
}

// askWords say whom to ask: what the terms name, or the channel itself.
func askWords(t giveaway.Terms) string {
	if t.Host != "" {
		return "Ask " + t.Host + "."
	}
	return "Ask " + t.Channel + ", where you found this giveaway, and have your ticket’s number at hand if you wrote it down. Never send the private link itself to anybody."
}
