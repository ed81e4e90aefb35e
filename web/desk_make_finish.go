package web

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// finish turns the form into a draft, or shows what is missing; then the form
// is kept as typed, so that nothing is lost. Whoever presses twice is led to
// the same day-book.
func (d *desk) finish(c echo.Context, m making, f termsForm, form url.Values) error {
	if m.g.ID != "" && stale(c, m.g) {
		return d.showDraft(c, http.StatusConflict, m.g, formOf(m.g.Terms), nil)
	}
	stored, err := d.cfg.Desk.Forms.Form(c.Request().Context(), m.key)
	gone := errors.Is(err, giveaway.ErrNotFound)
	if err != nil && !gone {
		return err
	}
	if stored.Version != versionOf(form) {
		if g, again := d.finished(c, m, f); gone && again {
			return d.toPosting(c, g)
		}
		return d.elsewhere(c, m, f)
	}
	f, filled, err := d.propose(c, m, f)
	if err != nil {
		return err
	}
	asked := f.askOnce(filled, now(c))
	t, problems, err := d.wrong(c, m, f)
	if err != nil {
		return err
	}
	if asked || len(problems) > 0 {
		return d.again(c, m, f, form, lookFaults)
	}
	show := func(problems giveaway.Problems) error { return d.refuse(c, m, f, form, problems) }
	err = d.save(c, t, nil, m.g, show, func(g giveaway.Giveaway) error {
		if m.g.ID == "" {
			d.sessions.Put(c.Request().Context(), madeKey(m), g.ID)
		}
		if err := d.cfg.Desk.Forms.DropForm(uncut(c), m.key); err != nil {
			return err
		}
		return d.toPosting(c, g)
	})
	if errors.Is(err, giveaway.ErrStale) { // another window finished first
		g, err := d.find(c)
		if err != nil {
			return err
		}
		return d.showDraft(c, http.StatusConflict, g, formOf(g.Terms), nil)
	}
	return err
}

// finished finds the draft that this very form became.
func (d *desk) finished(c echo.Context, m making, f termsForm) (giveaway.Giveaway, bool) {
	g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), f.Draw)
	t, problems := f.starting().onto(m.g.Terms)
	return g, err == nil && len(problems) == 0 && pressedTwice(g, t)
}

// What the form's page is to look at; its address says so, so that it can be
// loaded again and come back to.
const (
	lookFaults = "faults" // all that is wrong or asked
	lookTable  = "table"  // the table of sizes alone
)

// again keeps the form and leads to its page, which says what is wrong.
func (d *desk) again(c echo.Context, m making, f termsForm, form url.Values, look string) error {
	return d.keepAnd(c, m, f, form, m.path+"?look="+look)
}

// refuse is again for what only saving has shown; what the page can't find by
// itself is said at once.
func (d *desk) refuse(c echo.Context, m making, f termsForm, form url.Values, problems giveaway.Problems) error {
	if _, found, err := d.wrong(c, m, f); err != nil || len(found) > 0 {
		if err != nil {
			return err
		}
		return d.again(c, m, f, form, lookFaults)
	}
	typed, err := d.keepForm(c, m, f, form)
	switch {
	case errors.Is(err, giveaway.ErrState):
		return d.elsewhere(c, m, f)
	case err != nil:
		return err
	}
	p := d.makePage(c, m, f, typed)
	p.Faults = faultsOf(problems)
	return d.render(c, http.StatusUnprocessableEntity, "desk_terms", p)
}

// wrong reads the form and returns its terms with all that is wrong: what can't
// be read comes before what the terms say of the same field.
func (d *desk) wrong(c echo.Context, m making, f termsForm) (giveaway.Terms, giveaway.Problems, error) {
	t, problems := f.starting().onto(m.g.Terms)
	problems = append(problems, f.tableFaults()...)
	if f.sizesMissing() {
		problems = append(problems, giveaway.Problem{Field: "run_0_from", Text: "The prize is in somebody’s size, and no sizes stand here. Write them, or leave the size out of the prize’s words."})
	}
	if !t.Event.UTC.IsZero() && !t.Closes.UTC.IsZero() && !t.Event.UTC.After(t.Closes.UTC) {
		problems = append(problems, giveaway.Problem{Field: "event", Text: "The draw would be before entries close. Close them earlier, or draw later."})
	}
	if m.g.ID == "" && draw.ValidID(t.Draw) {
		switch g, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), t.Draw); {
		case errors.Is(err, giveaway.ErrNotFound):
		case err != nil:
			return t, nil, err
		case len(problems) > 0 || !pressedTwice(g, t):
			problems = append(problems, nameTaken)
		}
	}
	return t, f.withoutProposed(merge(problems, f.ownRows(onForm(t, t.Validate())))), nil
}

// withoutProposed leaves out what is wrong only because something else is: the
// heading and the short name may stay empty, they are proposed from the prize,
// and so may the start, which needs the zone.
func (f termsForm) withoutProposed(problems giveaway.Problems) giveaway.Problems {
	noZone := len(problems.Of("zone")) > 0
	return slices.DeleteFunc(problems, func(p giveaway.Problem) bool {
		named := f.Prize == "" && (p.Field == "title" && f.Title == "" || p.Field == "draw" && f.Draw == "")
		return named || noZone && p.Field == "opens" && f.Opens == ""
	})
}

// faultsAt are what the page of a form says, by its address.
func (d *desk) faultsAt(c echo.Context, m making, f termsForm) ([]fault, error) {
	switch c.QueryParam("look") {
	case lookFaults:
		_, problems, err := d.wrong(c, m, f)
		return faultsOf(append(problems, f.askedNow(now(c))...)), err
	case lookTable:
		return faultsOf(f.tableFaults()), nil
	}
	return faultsOf(f.placeFaults()), nil
}

// tableFaults are what is wrong with a pasted table that was not read yet.
func (f termsForm) tableFaults() giveaway.Problems {
	r := formReader{}
	if blankText(f.Table) {
		return nil
	}
	_, faults := readSizeTable(f.Table)
	for _, text := range faults {
		r.add("table", "%s", text)
	}
	return r.problems
}

// propose fills in what follows from the rest: the short name, the widths, and the sizes of a table that was pasted but not read.
// What was filled in and has to be looked at is named.
func (d *desk) propose(c echo.Context, m making, f termsForm) (termsForm, []string, error) {
	var filled []string
	if name := shortName(f.Heading()); m.g.ID == "" && name != "" && f.nameFollows(name) {
		free, err := d.freeName(c, name)
		if err != nil {
			return f, nil, err
		}
		f.Draw, f.DrawProposed = free, free
		filled = append(filled, askName)
	}
	if blankText(f.Table) {
		f.Table = ""
	} else if read, faults := readSizeTable(f.Table); len(faults) == 0 {
		f.Ranges, f.Table = read.onto(f.Ranges), ""
		filled = append(filled, askTable)
	}
	for i, row := range f.Ranges {
		f.Ranges[i].Widths = orText(row.Widths, usualWidth(row.System))
	}
	return f, filled, nil
}

// Heading is the one that is typed, or else made from the prize.
func (f termsForm) Heading() string { return orText(f.Title, headingOf(f.Prize)) }

// nameFollows reports whether the short name is still to be proposed: it is
// empty, or was proposed from another heading than the one that stands now.
func (f termsForm) nameFollows(name string) bool {
	rest, same := strings.CutPrefix(f.DrawProposed, name)
	same = same && (rest == "" || numberEnd.MatchString(rest))
	return f.Draw == "" || f.Draw == f.DrawProposed && !same
}

// numberEnd is the end of a short name that was taken.
var numberEnd = regexp.MustCompile(`^-\d+$`)

// starting fills in the start where it was left empty: entries then start with
// the posting.
func (f termsForm) starting() termsForm {
	if at, err := giveaway.AtPosting(f.zoneOf("opens")); f.Opens == "" && err == nil {
		f.Opens = at.Local
	}
	return f
}

// headingOf makes a heading of a prize: "Win a pair of hiking boots."
func headingOf(prize string) string {
	if prize == "" {
		return ""
	}
	if article, rest, ok := strings.Cut(prize, " "); ok && slices.Contains([]string{"A", "An", "The", "One"}, article) {
		prize = strings.ToLower(article) + " " + rest
	} else if first, _ := utf8.DecodeRuneInString(prize); unicode.IsUpper(first) {
		prize = ": " + prize
	}
	return strings.Replace("Win "+strings.TrimRight(prize, ".")+".", "Win : ", "Win: ", 1)
}

// usualWidth is the width of a row that names none: the medium one.
func usualWidth(system string) string {
	w, err := sizing.ParseWidth(sizing.System(system), "medium")
	if err != nil {
		return ""
	}
	return w
}

// freeName finds a short name that no giveaway has: boots, boots-2, boots-3 …
func (d *desk) freeName(c echo.Context, name string) (string, error) {
	free := name
	for n := 2; ; n++ {
		_, err := d.cfg.Host.Store.Giveaway(c.Request().Context(), free)
		if errors.Is(err, giveaway.ErrNotFound) {
			return free, nil
		}
		if err != nil {
			return "", fmt.Errorf("look for a free name: %w", err)
		}
		free = name + "-" + strconv.Itoa(n)
	}
}

// readTable puts the sizes of a pasted table into the rows of the form.
func (d *desk) readTable(c echo.Context, m making, f termsForm, form url.Values) error {
	read, faults := readSizeTable(f.Table)
	if len(faults) > 0 {
		return d.again(c, m, f, form, lookTable)
	}
	f.Ranges, f.Table = read.onto(f.Ranges), ""
	return d.keepAnd(c, m, f, form, m.path+"?"+read.told()+"#sizes")
}

// newKey makes the key of a new form: 128 random bits, 26 characters.
func newKey(source io.Reader) (string, error) {
	if source == nil {
		source = rand.Reader
	}
	var b [16]byte
	if _, err := io.ReadFull(source, b[:]); err != nil {
		return "", fmt.Errorf("make the key of a form: %w", err)
	}
	return keyText.EncodeToString(b[:]), nil
}
