package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A termsPage is the page on which a giveaway is made or its draft changed.
type termsPage struct {
	Frame
	F      termsForm
	ID     string // of the draft that is changed; "": a new one
	Faults []fault
	Zones  []string
	Twice  map[string]bool // times of which it is asked which one is meant
	Seen   string          // the draft that the form was filled from; see [seen]
	Note   string          // a sentence about what went wrong, or ""
	Told   string          // a sentence about what was done, or ""
	makePart
}

// seen tells one state of a draft from another, so that nobody posts or
// overwrites what they haven't seen; "" for a new one.
func seen(g giveaway.Giveaway) string {
	if g.ID == "" {
		return ""
	}
	return g.Terms.Mark().String()
}

// stale reports whether a form was made from another state of the draft.
func stale(c echo.Context, g giveaway.Giveaway) bool {
	was := c.FormValue("seen")
	return was != "" && was != seen(g)
}

// A fault is what is wrong with one field.
type fault struct{ Field, Label, Text string }

// Of returns what is wrong with a field.
func (p termsPage) Of(field string) []string {
	var texts []string
	for _, f := range p.Faults {
		if f.Field == field {
			texts = append(texts, f.Text)
		}
	}
	return texts
}

// zones are offered as one types; any IANA name is taken.
var zones = strings.Fields(`America/New_York America/Chicago America/Denver America/Phoenix America/Los_Angeles
	America/Anchorage Pacific/Honolulu America/Puerto_Rico America/Toronto America/Winnipeg America/Edmonton
	America/Vancouver America/Halifax America/St_Johns America/Mexico_City America/Sao_Paulo Europe/London
	Europe/Dublin Europe/Paris Europe/Berlin Europe/Madrid Europe/Rome Europe/Warsaw Asia/Tokyo Asia/Kolkata
	Australia/Sydney Australia/Perth Pacific/Auckland UTC`)

var nameTaken = giveaway.Problem{Field: "draw", Text: "There is a giveaway of this short name already. Choose another one; a name is used once."}

// save saves a draft, or shows what is wrong. A new one, where old is the zero
// value, takes a name that nobody has; the change of a draft takes the place of
// old and of no other state ([giveaway.ErrStale]). What the form could not read
// comes before what the terms say of the same field. Done leads on.
func (d *desk) save(c echo.Context, t giveaway.Terms, problems giveaway.Problems, old giveaway.Giveaway, show func(giveaway.Problems) error, done func(giveaway.Giveaway) error) error {
	fresh := old.ID == ""
	if g, err := d.cfg.Host.Store.Giveaway(uncut(c), t.Draw); fresh && err == nil {
		if len(problems) == 0 && pressedTwice(g, t) {
			return done(g)
		}
		problems = append(problems, nameTaken)
	}
	if len(problems) > 0 {
		return show(merge(problems, onForm(t, t.Validate())))
	}
	g, err := d.saveTerms(c, t, old)
	var wrong giveaway.Problems
	switch {
	case errors.As(err, &wrong):
		return show(onForm(t, wrong))
	case errors.Is(err, giveaway.ErrState) && fresh: // somebody was first, perhaps this very form
		if g, err = d.cfg.Host.Store.Giveaway(uncut(c), t.Draw); err != nil || !pressedTwice(g, t) {
			return show(giveaway.Problems{nameTaken})
		}
	case errors.Is(err, giveaway.ErrState): // it was posted meanwhile
		return toDay(c, old)
	case err != nil:
		return err
	}
	return done(g)
}

// toPosting leads on from a finished draft: to what there is to look at, or,
// where all of it was read, to what is posted.
func (d *desk) toPosting(c echo.Context, g giveaway.Giveaway) error {
	rows, err := d.cautionRows(c, g)
	switch {
	case err != nil:
		return err
	case countUnread(rows) > 0:
		return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/cautions")
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/post")
}

func (d *desk) saveTerms(c echo.Context, t giveaway.Terms, old giveaway.Giveaway) (giveaway.Giveaway, error) {
	if old.ID == "" {
		return d.cfg.Host.Draft(uncut(c), now(c), t)
	}
	return d.changeDraft(c, old, t)
}

// pressedTwice reports whether terms are those of a draft that is there: the
// same button pressed twice.
func pressedTwice(g giveaway.Giveaway, t giveaway.Terms) bool {
	there, err := g.Terms.JSON()
	if err != nil || g.State != giveaway.StateDraft {
		return false
	}
	again, err := t.JSON()
	if err != nil {
		return false
	}
	full, err := giveaway.ReadTerms(bytes.NewReader(again)) // with what may be left out, as the draft has it
	if err != nil {
		return false
	}
	again, err = full.JSON()
	return err == nil && bytes.Equal(there, again)
}

// merge adds what the terms say of fields that could be read.
func merge(read, terms giveaway.Problems) giveaway.Problems {
	was := read
	for _, p := range terms {
		if len(was.Of(p.Field)) == 0 {
			read = append(read, p)
		}
	}
	return read
}

// A filePage takes a terms file, uploaded or pasted.
type filePage struct {
	Frame
	Typed  string
	Faults []string
}

func (d *desk) getFile(c echo.Context) error { return d.showFile(c, http.StatusOK, "", nil) }

func (d *desk) showFile(c echo.Context, status int, typed string, faults []string) error {
	return d.render(c, status, "desk_file", filePage{Frame: deskFrame("Terms from a file"), Typed: typed, Faults: faults})
}

func (d *desk) postFile(c echo.Context) error {
	text, err := termsText(c)
	if err != nil {
		return err
	}
	t, err := giveaway.ReadTerms(strings.NewReader(text))
	var problems giveaway.Problems
	if err != nil && !errors.As(err, &problems) {
		return d.showFile(c, http.StatusUnprocessableEntity, text, []string{fileFault(text, err)})
	}
	return d.save(c, t, problems, giveaway.Giveaway{}, func(problems giveaway.Problems) error {
		var faults []string
		for _, p := range problems {
			faults = append(faults, p.Field+": "+p.Text)
		}
		return d.showFile(c, http.StatusUnprocessableEntity, text, faults)
	}, func(g giveaway.Giveaway) error { return toDay(c, g) })
}

// termsText is the uploaded file or, without one, what was pasted.
func termsText(c echo.Context) (string, error) {
	header, err := c.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) || err == nil && header.Size == 0 {
		return c.FormValue("terms"), nil
	}
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", unreadable(err))
	}
	f, err := header.Open()
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", err)
	}
	return string(b), nil
}

// fileFault says why a text is no file of terms.
func fileFault(text string, err error) string {
	if strings.TrimSpace(text) == "" {
		return "Choose a file or paste its text."
	}
	var into any
	var syntax *json.SyntaxError
	if errors.As(json.Unmarshal([]byte(text), &into), &syntax) {
		line := 1 + strings.Count(text[:min(int(syntax.Offset), len(text))], "\n")
		return fmt.Sprintf("This is not JSON (line %d). “draw open -h” shows one.", line)
	}
	return "This is not a file of terms: " + lastCause(err) + "."
}

// lastCause drops what was being done from an error about a terms file.
func lastCause(err error) string { return strings.TrimPrefix(err.Error(), "read terms: ") }
