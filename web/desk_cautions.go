package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
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
	Stops   []cautionRow // that are unread; each is read alone
	Rest    []cautionRow // that are unread; one press reads those that stand there
	Known   []cautionRow // that were read, or of terms that are posted
	Unread  int
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

	Ready string       // a paragraph for the rules that this caution asks for, or ""
	Fill  *cautionFill // the field that it asks for; nil: none
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
		rows[i].Fill, rows[i].Ready = fillFor(g.Terms, one.Code), readyFor(g.Terms, one.Code)
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
	p := cautionsPage{Frame: d.frame(g, "What to look at", now(c)), G: g, Problem: problem, Unread: countUnread(rows), Draft: g.State == giveaway.StateDraft}
	for _, r := range rows {
		switch {
		case r.Read || !p.Draft:
			p.Known = append(p.Known, r)
		case r.Stop:
			p.Stops = append(p.Stops, r)
		default:
			p.Rest = append(p.Rest, r)
		}
	}
	p.Head, p.Lead = cautionWords(len(rows), p.Unread, p.Draft)
	return d.render(c, status, "desk_cautions", p)
}

// cautionWords are the heading and the sentence under it.
func cautionWords(all, unread int, draft bool) (head, lead string) {
	const lawyer = "This list comes from your terms and from published sources, and can miss things. " + cautions.Lawyer
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
	if c.FormValue("do") == "paragraph" {
		return d.addReady(c, g, rows)
	}
	return d.readThese(c, g, rows)
}

// readThese marks what stood on the page, as its form says: one stop with the
// reason to go on, or all the others at once, with what was filled in for them.
// A mark of another text, because the terms were changed meanwhile, marks
// nothing.
func (d *desk) readThese(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read what was read: %w", errMalformed)
	}
	these, err := marked(rows, form["mark"])
	switch {
	case err != nil:
		return err
	case these == nil:
		return d.showCautions(c, http.StatusConflict, g, rows, wordCautionsMoved)
	case !whysSaid(rows, these, form):
		return d.showCautions(c, http.StatusUnprocessableEntity, g, rows, "")
	}
	if typed := fillIn(rows, form); typed != nil {
		return d.fillCautions(c, g, rows, these, typed)
	}
	return d.markRead(c, g, rows, these)
}

// marked are the rows that a form has marked, by their place; nil where one of
// the marks is not there any more.
func marked(rows []cautionRow, marks []string) (these []int, err error) {
	if len(marks) == 0 {
		return nil, errMalformed
	}
	for _, text := range marks {
		mark, err := draw.ParseDigest(text)
		if err != nil {
			return nil, errMalformed
		}
		i := slices.IndexFunc(rows, func(r cautionRow) bool { return r.Caution.Mark == mark })
		if i < 0 {
			return nil, nil
		}
		these = append(these, i)
	}
	return these, nil
}

// whysSaid takes the reason for the stop that was marked, and reports whether
// it will do. A form holds one stop, and marks nothing beside it.
func whysSaid(rows []cautionRow, these []int, form url.Values) bool {
	good := true
	for _, i := range these {
		if r := &rows[i]; r.Stop && !r.Read {
			r.Typed = strings.TrimSpace(form.Get("why"))
			if r.Fault = whyFault(r.Typed); len(these) > 1 {
				r.Fault = "This one is read alone. " + r.Fault
			}
			good = good && r.Fault == ""
		}
	}
	return good
}

// markRead marks rows and leads on.
func (d *desk) markRead(c echo.Context, g giveaway.Giveaway, rows []cautionRow, these []int) error {
	for _, i := range these {
		r := &rows[i]
		if r.Read {
			continue // pressed twice
		}
		why := ""
		if r.Stop {
			why = r.Typed
		}
		if err := d.cfg.Host.ReadCaution(uncut(c), now(c), g.ID, r.Caution.Mark, r.Code, why); err != nil {
			return err
		}
		r.Read = true
	}
	return toUnread(c, g, rows)
}

// toUnread leads to the first caution that is unread, at its place on the page;
// after the last one, to what is posted.
func toUnread(c echo.Context, g giveaway.Giveaway, rows []cautionRow) error {
	at := "/desk/g/" + g.ID + "/post"
	if i := slices.IndexFunc(rows, func(r cautionRow) bool { return !r.Read }); i >= 0 {
		at = "/desk/g/" + g.ID + "/cautions#c-" + rows[i].Mark
	}
	return c.Redirect(http.StatusSeeOther, at)
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
