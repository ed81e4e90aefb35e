package web

import (
	"context"
	"io"
	"sync"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
)

// Desk is what only the creator's side needs. Without a Store there is no desk.
type Desk struct {
	Store    DeskStore
	Sessions scs.Store // keeps who is signed in
	// Code is printed in the terminal; who types it may set the passphrase,
	// while there is none.
	Code string
	// KnownKey marks the browsers that have signed in before; see
	// desk_known.go. Zero: none is known.
	KnownKey [32]byte
	// Counts counts a giveaway's entries.
	Counts func(ctx context.Context, id string) (entries.Counts, error)
	// Answers passes on what each entry in the draw answered to the creator's
	// own questions, the newest first. Nil: no page shows answers.
	Answers func(ctx context.Context, id string, see func(answers map[string]string)) error
	// Entry finds the entry behind a drawn ticket; entries.ErrNoSuchLink if it
	// is no longer there. Nil: the desk can't say who won.
	Entry func(ctx context.Context, id string, t draw.Ticket) (entries.Stored, error)
	// Door lets in entries from files and on paper, and Uploads keep such files
	// until they are in. Nil: no entry comes but by the form.
	Door    Door
	Uploads Uploads
	// Copy makes a copy of the whole database, which its reader closes. Nil: the
	// database has tools of its own for that.
	Copy func(ctx context.Context) (io.ReadSeekCloser, error)
	// Forms keeps the forms of giveaways in the making.
	Forms FormStore
	// Sample loads the invented giveaways; sample.ErrReal where there is a
	// real one. Nil: none is offered.
	Sample func(ctx context.Context) error
	// Warning is a sentence about this computer that stands on the desk's
	// first page, such as old time zone data; "" for none.
	Warning string
}

// A DeskStore keeps the desk's passphrase.
type DeskStore interface {
	// DeskHash returns the hash of the passphrase, "" while none is set.
	DeskHash(ctx context.Context) (string, error)
	// ClaimDesk sets it, once; an error if it is set already.
	ClaimDesk(ctx context.Context, hash string) error
}

// A desk is the creator's side of a site.
type desk struct {
	*Site
	sessions     *scs.SessionManager
	hashing      doorway // of strangers
	hashingKnown doorway // of browsers that signed in before
	codes        *guesses
	phrases      *guesses
	loading      sync.Mutex // held while the sample is loaded
	network      networkLook
}

// maxTermsBody is the most bytes of a form with terms: a terms file is 1 MiB
// at most, and form encoding can triple what is not a letter.
const maxTermsBody = 4 << 20

// deskRoutes are the addresses of the creator's side. Every button is a POST
// that answers with 303, so reload and back repeat nothing.
func (s *Site) deskRoutes(e *echo.Echo) {
	if s.cfg.Desk.Store == nil {
		return
	}
	d := &desk{
		Site: s, sessions: s.sessionManager(), hashing: newDoorway(hashesAtOnce, strangers), hashingKnown: newDoorway(1, strangers),
		codes: newGuesses(), phrases: newGuesses(),
	}
	session := echo.WrapMiddleware(d.sessions.LoadAndSave)
	anyone := e.Group("/desk", deskHeaders, session)
	anyone.GET("", d.getDesk)
	small := []echo.MiddlewareFunc{limited(s.posts), body(maxEntry, typeForm)}
	anyone.POST("/claim", d.postClaim, small...)
	anyone.POST("/in", d.postIn, small...)
	anyone.POST("/out", d.postOut, limited(s.posts))

	in := e.Group("/desk", deskHeaders, session, d.signedIn)
	in.POST("/sample", d.postSample)
	d.makeRoutes(in)
	in.GET("/file", d.getFile)
	in.POST("/file", d.postFile, body(maxTermsBody, typeForm, typeFile))
	in.GET("/g/:id", d.getDay)
	in.GET("/g/:id/entries", d.getEntries)
	d.secondDeskRoutes(in)
	in.GET("/g/:id/draw", d.getDraw)
	in.POST("/g/:id/draw", d.postDraw, body(maxEntry, typeForm))
	in.GET("/g/:id/result", d.getResult)
	d.openingRoutes(in)
	d.winnerRoutes(in)
	d.doorRoutes(in)
	d.eraseRoutes(in)
	d.showRoutes(in)
}

// deskHeaders: the desk's pages are stored nowhere and found by no search.
// Unlike private links their addresses are no secret.
func deskHeaders(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set("Cache-Control", "no-store")
		c.Response().Header().Set("X-Robots-Tag", "noindex")
		return next(c)
	}
}
