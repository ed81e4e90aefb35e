package web

import (
	"net/http"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/cautions"
	"evenhand/draw"
	"evenhand/giveaway"
)

// A cautionsPage is what there is to look at before the terms are posted.
type cautionsPage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Lead    string
	Problem string
	Rows    []cautionRow
	Unread  int
	AtOnce  bool // some that are no stops can be marked by one press
	Draft   bool // they can still be marked
}

// A cautionRow is one caution with what became of it.
type cautionRow struct {
	cautions.Caution
	Name  string // of its level, in words
	Stop  bool
	Mark  string // for the form
	Read  bool
	At    Stamp
	Said  string // why the creator goes on
	Typed string
	Fault string

	Ready    string // a paragraph for the rules that this caution asks for, or ""
	HasReady bool   // the terms have it
}

// levelNames say in the margin how much a caution weighs.
var levelNames = map[cautions.Level]string{
	cautions.LevelStop:    "Stop here first",
	cautions.LevelCaution: "Look at this",
	cautions.LevelMissing: "Something is missing",
	cautions.LevelAsk:     "To ask about",
	cautions.LevelNote:    "Good to know",
}

// leastWhy and mostWhy bound the sentence of why somebody goes on, in
// characters; the store keeps one line of 500.
const leastWhy, mostWhy = 8, 400

// allRead is the value of the button that marks all but the stops.
const allRead = "all"

// cautionRows are the cautions of the terms as they stand, stops first.
func (d *desk) cautionRows(c echo.Context, g giveaway.Giveaway) ([]cautionRow, error) {
	found := cautions.For(g.Terms, now(c))
	read, err := d.cfg.Host.CautionsRead(c.Request().Context(), g.ID)
	if err != nil {
		return nil, err
	}
	rows := make([]cautionRow, len(found))
	for i, one := range found {
		rows[i] = cautionRow{Caution: one, Name: levelNames[one.Level], Stop: one.Level == cautions.LevelStop, Mark: one.Mark.String()}
		if rows[i].Ready, rows[i].HasReady = readyFor(g.Terms, one.Code); rows[i].HasReady {
			rows[i].Typed = readyWhy
		}
		if r, ok := read[one.Mark]; ok {
			rows[i].Read, rows[i].Said, rows[i].At = true, r.Why, stamp("You read this on", r.At, g.Terms.Event.Zone)
		}
	}
	return rows, nil
}

// unread counts the cautions of a draft that nobody has marked as read.
func (d *desk) unread(c echo.Context, g giveaway.Giveaway) (int, error) {
	rows, err := d.cautionRows(c, g)
	return countUnread(rows), err
}

func countUnread(rows []cautionRow) (n int) {
	for _, r := range rows {
		if !r.Read {
			n++
		}
	}
	return n
}

func (d *desk) getCautions(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	rows, err := d.cautionRows(c, g)
	if err != nil {
		return err
	}
	return d.showCautions(c, http.StatusOK, g, rows, "")
}

func (d *desk) showCautions(c echo.Context, status int, g giveaway.Giveaway, rows []cautionRow, problem string) error {
	p := cautionsPage{Frame: d.frame(g, "What to look at", now(c)), G: g, Rows: rows, Problem: problem, Unread: countUnread(rows), Draft: g.State == giveaway.StateDraft}
	quick := 0
	for _, r := range rows {
		if !r.Read && !r.Stop {
			quick++
		}
	}
	p.AtOnce = quick > 1
	p.Head, p.Lead = cautionWords(len(rows), p.Unread, p.Draft)
	return d.render(c, status, "desk_cautions", p)
}

// cautionWords are the heading and the sentence under it.
func cautionWords(all, unread int, draft bool) (head, lead string) {
	const lawyer = "This list comes from your terms and from published sources. It can miss things. " + cautions.Lawyer
	switch {
	case all == 0:
		return "Nothing here catches the eye.", "That doesn’t mean that nothing is wrong. " + lawyer
	case !draft:
		return "This is what there was to look at.", lawyer
	case unread == 0:
		return "You have read what there is to look at.", lawyer
	}
	return capitalized(many(int64(unread), "thing", "things")) + " to look at before you post.", lawyer
}

func (d *desk) postCautions(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDraft {
		return toDay(c, g)
	}
	rows, err := d.cautionRows(c, g)
	if err != nil {
		return err
	}
	switch {
	case c.FormValue("do") == "paragraph":
		return d.addReady(c, g, rows)
	case c.FormValue("mark") == allRead:
		return d.readAll(c, g, rows)
	}
	return d.readOne(c, g, rows)
}

// readAll marks everything that is unread and no stop.
func (d *desk) readAll(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	for _, r := range rows {
		if r.Read || r.Stop {
			continue
		}
		if err := d.cfg.Host.ReadCaution(uncut(c), now(c), g.ID, r.Caution.Mark, r.Code, ""); err != nil {
			return err
		}
	}
	return toCautions(c, g)
}

// readOne marks one. A mark of another text, because the terms were changed
// meanwhile, marks nothing.
func (d *desk) readOne(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	mark, err := draw.ParseDigest(c.FormValue("mark"))
	if err != nil {
		return errMalformed
	}
	for i, r := range rows {
		switch {
		case r.Caution.Mark != mark:
			continue
		case r.Read:
			return toCautions(c, g) // pressed twice
		}
		why := strings.TrimSpace(c.FormValue("why"))
		if r.Stop {
			rows[i].Typed, rows[i].Fault = why, whyFault(why)
			if rows[i].Fault != "" {
				return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, "")
			}
		} else {
			why = ""
		}
		if err := d.cfg.Host.ReadCaution(uncut(c), now(c), g.ID, mark, r.Code, why); err != nil {
			return err
		}
		return toCautions(c, g)
	}
	return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
}

// whyFault says what is wrong with the reason for going on, or "".
func whyFault(why string) string {
	switch n := utf8.RuneCountInString(why); {
	case n < leastWhy:
		return "Write in a sentence why you go on."
	case n > mostWhy:
		return "Say it in " + number(mostWhy) + " characters at most; these are " + number(int64(n)) + "."
	}
	return ""
}

func toCautions(c echo.Context, g giveaway.Giveaway) error {
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/cautions")
}
