package web

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"regexp"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A Door lets entries in that did not come by the form; [entries.Door] is one.
type Door interface {
	// Plan says what would become of each row of a file; nothing is stored.
	Plan(ctx context.Context, drawID string, file entries.Imported) ([]entries.Planned, error)
	// Bring carries a plan out and counts the rows that this call has stored.
	// Done again it finishes what was left over. Errors: entries.ErrLocked.
	Bring(ctx context.Context, now time.Time, g giveaway.Giveaway, plan []entries.Planned) (fresh int64, err error)
	// Paper takes a card that came at a time. Errors are those of
	// [Intake.Enter], and entries.ErrLocked.
	Paper(ctx context.Context, now, came time.Time, g giveaway.Giveaway, f entries.Form) (entries.Entered, error)
	// Find reads what came through the door; entries.ErrNoSuchLink.
	Find(ctx context.Context, drawID string, t draw.Ticket) (entries.Entered, error)
	// Link is the private link's secret of a ticket that came through it.
	Link(drawID string, t draw.Ticket) string
}

// Uploads keep files sealed for a day, each under its giveaway, a key and a
// name. What is not there, or no longer, is giveaway.ErrNotFound.
type Uploads interface {
	SaveUpload(ctx context.Context, now time.Time, drawID, key, name string, content []byte) error
	Upload(ctx context.Context, now time.Time, drawID, key, name string) ([]byte, error)
	DropUpload(ctx context.Context, drawID, key string) error
}

// The names under which an upload's parts are kept.
const (
	uploadFile   = "file"
	uploadChoice = "choice" // what its columns mean
)

// maxUpload is the most bytes of a file that is brought in, and maxUploadRows
// the most rows.
const (
	maxUpload     = 32 << 20
	maxUploadRows = 200_000
)

// doorRoutes are the addresses of entries that did not come by the form.
func (d *desk) doorRoutes(in *echo.Group) {
	if d.cfg.Desk.Door == nil {
		return
	}
	form := body(maxEntry, typeForm)
	in.GET("/g/:id/import", d.getImport)
	in.POST("/g/:id/import", d.postImport)
	in.GET("/g/:id/import/:key", d.getColumns)
	in.POST("/g/:id/import/:key", d.postColumns, form)
	in.GET("/g/:id/import/:key/try", d.getTry)
	in.GET("/g/:id/import/:key/rows.csv", d.getRowsFile)
	in.POST("/g/:id/import/:key/go", d.postBring, form)
	in.GET("/g/:id/import/:key/done", d.getBrought)
	in.GET("/g/:id/import/:key/tickets.csv", d.getTicketsFile)
	in.POST("/g/:id/import/:key/drop", d.postDropFile, form)
	in.GET("/g/:id/paper", d.getPaper)
	in.POST("/g/:id/paper", d.postPaper, form)
	in.GET("/g/:id/paper/:ticket", d.getSlip)
}

// An importPage takes a file.
type importPage struct {
	Frame
	ID      string
	Problem string // what is wrong with the file, or ""
	Comma   string // as chosen
	Most    string // rows
	Late    bool   // entries have closed; it can still be done
}

func (d *desk) getImport(c echo.Context) error {
	g, err := d.openDoor(c)
	if err != nil {
		return err
	}
	return d.showImport(c, http.StatusOK, g, "", "")
}

func (d *desk) showImport(c echo.Context, status int, g giveaway.Giveaway, comma, problem string) error {
	return d.render(c, status, "desk_import", importPage{
		Frame: d.frame(g, "Bring entries from a file", now(c)), ID: g.ID, Problem: problem, Comma: comma,
		Most: number(maxUploadRows), Late: g.Phase(now(c)) == giveaway.PhaseClosed,
	})
}

// openDoor finds a giveaway that still takes entries from elsewhere: posted,
// and not locked.
func (d *desk) openDoor(c echo.Context) (giveaway.Giveaway, error) {
	g, err := d.find(c)
	switch {
	case err != nil:
		return g, err
	case g.State == giveaway.StateDraft:
		return g, entries.ErrNotOpen
	case g.State != giveaway.StateOpen:
		return g, entries.ErrLocked
	}
	return g, nil
}

// postImport takes the file. It is read in memory alone: nothing of it is
// written to a disk in the clear.
func (d *desk) postImport(c echo.Context) error {
	g, err := d.openDoor(c)
	if err != nil {
		return err
	}
	file, comma, err := readUpload(c)
	readClock(c)
	switch {
	case errors.Is(err, errTooLong):
		c.Response().Header().Set("Connection", "close") // the rest is not read
		return d.showImport(c, http.StatusRequestEntityTooLarge, g, comma, "The file is too large; 32 megabytes can be read. Part it into several files.")
	case err != nil:
		return err
	}
	typed := comma
	if comma == "" {
		comma = guessComma(file)
	}
	if problem := uploadProblem(file, comma); problem != "" {
		return d.showImport(c, http.StatusUnprocessableEntity, g, typed, problem)
	}
	key, err := newUploadKey(d.cfg.Rand)
	if err != nil {
		return err
	}
	choice, err := json.Marshal(guessChoice(g.Terms, file, comma))
	if err != nil {
		return err
	}
	ctx := uncut(c)
	if err := d.cfg.Desk.Uploads.SaveUpload(ctx, now(c), g.ID, key, uploadFile, file); err != nil {
		return err
	}
	if err := d.cfg.Desk.Uploads.SaveUpload(ctx, now(c), g.ID, key, uploadChoice, choice); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, importURL(g.ID, key))
}

// readUpload reads the form with the file. [errTooLong] for one that is too
// long, [errContentType] for another kind of form.
func readUpload(c echo.Context) (file []byte, comma string, err error) {
	const around = 64 << 10 // the form's own bytes
	r := c.Request()
	if contentType(r) != typeFile {
		return nil, "", errContentType
	}
	if r.ContentLength > maxUpload+around {
		return nil, "", errTooLong
	}
	r.Body = http.MaxBytesReader(c.Response(), r.Body, maxUpload+around)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, "", errMalformed
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, comma, unreadable(err)
		}
		if err := readPart(part, &file, &comma); err != nil {
			return nil, comma, err
		}
	}
	if len(file) > maxUpload {
		return nil, comma, errTooLong
	}
	return file, comma, nil
}

func readPart(part *multipart.Part, file *[]byte, comma *string) error {
	b, err := io.ReadAll(part)
	switch {
	case err != nil:
		return unreadable(err)
	case part.FormName() == "file" && len(b) > 0:
		*file = b
	case part.FormName() == "comma" && commaNames[string(b)] != "":
		*comma = string(b)
	}
	return nil
}

// newUploadKey names an upload in addresses: 128 random bits.
func newUploadKey(rand io.Reader) (string, error) {
	b := make([]byte, 16)
	if _, err := io.ReadFull(rand, b); err != nil {
		return "", fmt.Errorf("name an upload: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

var uploadKey = regexp.MustCompile(`^[A-Za-z0-9_-]{22}$`)

func importURL(id, key string) string { return "/desk/g/" + id + "/import/" + key }

// An upload is a file on its way in.
type upload struct {
	g      giveaway.Giveaway
	key    string
	file   []byte
	choice importChoice
}

func (u upload) url() string { return importURL(u.g.ID, u.key) }

// upload finds the file of the address. Where it is gone the way leads back to
// the page that takes one.
func (d *desk) upload(c echo.Context) (u upload, err error) {
	if u, err = d.uploadChosen(c); err != nil {
		return u, err
	}
	u.file, err = d.cfg.Desk.Uploads.Upload(c.Request().Context(), now(c), u.g.ID, u.key, uploadFile)
	return u, gone(err)
}

// uploadChosen is upload without the file itself.
func (d *desk) uploadChosen(c echo.Context) (u upload, err error) {
	if u.g, err = d.find(c); err != nil {
		return u, err
	}
	u.key = c.Param("key")
	if !uploadKey.MatchString(u.key) {
		return u, errUploadGone
	}
	ctx := c.Request().Context()
	choice, err := d.cfg.Desk.Uploads.Upload(ctx, now(c), u.g.ID, u.key, uploadChoice)
	if err != nil {
		return u, gone(err)
	}
	if json.Unmarshal(choice, &u.choice) != nil {
		return u, errUploadGone
	}
	return u, nil
}

// gone tells an upload that is no longer there from other errors.
func gone(err error) error {
	if errors.Is(err, giveaway.ErrNotFound) {
		return errUploadGone
	}
	return err
}

// postDropFile forgets the file before its day is over.
func (d *desk) postDropFile(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	d.imports.clear()
	if err := d.cfg.Desk.Uploads.DropUpload(uncut(c), g.ID, c.Param("key")); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/entries")
}
