package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
	"evenhand/giveaway"
)

// A tryPage says row by row what would become of a file, or what became of it.
type tryPage struct {
	Frame
	ID, URL string
	Here    string // the page's own address, for the filter and the pages
	Head    string
	Lead    []string
	Done    bool   // something of it is in
	Bring   string // the button; "": nothing is left to bring in
	Problem string
	Filters []filterLink
	Rows    []tryRow
	Shown   string // "Rows 1 to 200 of 500"
	Earlier string // addresses; "" for none
	Later   string
	Forget  bool
	Tickets bool // there are tickets to hand out
}

type filterLink struct {
	Text, URL string
	Here      bool
}

// A tryRow is a row's fate in words.
type tryRow struct {
	Row     int
	Becomes string
	Why     string
	Notes   []string
	Ticket  string
}

// rowsAPage is how many rows stand on a page.
const rowsAPage = 200

// fateOrder is the order in which fates are told.
var fateOrder = []entries.Fate{entries.FateIn, entries.FateOut, entries.FateAgain, entries.FateThere, entries.FateUnreadable}

// plan reads the file by its choice and says what would become of it now.
func (d *desk) plan(c echo.Context) (u upload, plan []entries.Planned, err error) {
	if u, err = d.uploadChosen(c); err != nil {
		return u, nil, err
	}
	of, err := u.reading()
	if err != nil {
		return u, nil, err
	}
	file, err := d.imports.get(of, func() (entries.Imported, error) {
		b, err := d.cfg.Desk.Uploads.Upload(c.Request().Context(), now(c), u.g.ID, u.key, uploadFile)
		if err != nil {
			return entries.Imported{}, gone(err)
		}
		file, err := u.read(b)
		if err != nil {
			err = errChoice
		}
		return file, err
	})
	if err != nil {
		return u, nil, err
	}
	plan, err = d.cfg.Desk.Door.Plan(c.Request().Context(), u.g.ID, file)
	return u, plan, err
}

// errChoice says that the columns are not chosen yet.
var errChoice = errors.New("the columns are not chosen yet")

// toColumns leads back to the columns where they are not chosen.
func (d *desk) toColumns(c echo.Context, u upload, err error) error {
	if errors.Is(err, errChoice) {
		return c.Redirect(http.StatusSeeOther, u.url())
	}
	return err
}

func (d *desk) getTry(c echo.Context) error {
	u, plan, err := d.plan(c)
	if err != nil {
		return d.toColumns(c, u, err)
	}
	return d.showTry(c, http.StatusOK, u, plan, "/try", "")
}

func (d *desk) getBrought(c echo.Context) error {
	u, plan, err := d.plan(c)
	if err != nil {
		return d.toColumns(c, u, err)
	}
	return d.showTry(c, http.StatusOK, u, plan, "/done", "")
}

// postBring brings in what is left of the file. Pressed twice, or after a
// crash in the middle, it finishes.
func (d *desk) postBring(c echo.Context) error {
	u, plan, err := d.plan(c)
	if err != nil {
		return d.toColumns(c, u, err)
	}
	ctx := uncut(c)
	fresh, err := d.cfg.Desk.Door.Bring(ctx, now(c), u.g, plan)
	if fresh > 0 { // also where the rest failed; who pressed at the same time has noted theirs
		what := capitalized(many(fresh, "row of a file was", "rows of a file were")) + " brought in."
		if err := d.cfg.Host.Log(ctx, now(c), u.g.ID, what); err != nil {
			return err
		}
	}
	if errors.Is(err, entries.ErrLocked) {
		if u, plan, err = d.plan(c); err != nil {
			return err
		}
		return d.showTry(c, http.StatusConflict, u, plan, "/done", "The list was locked before all of it was in. What is in stays in; the rest can’t be brought in any more.")
	}
	if err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, u.url()+"/done")
}

// A tally counts rows by their fate.
type tally map[entries.Fate]int64

func tallyOf(plan []entries.Planned) tally {
	t := tally{}
	for _, p := range plan {
		t[p.Fate]++
	}
	return t
}

// inDraw counts the rows that were brought in and are in the draw.
func inDraw(plan []entries.Planned) (n int64) {
	for _, p := range plan {
		if p.Fate == entries.FateAgain && p.Reason == "" {
			n++
		}
	}
	return n
}

func (d *desk) showTry(c echo.Context, status int, u upload, plan []entries.Planned, here, problem string) error {
	p := tryPage{Frame: d.frame(u.g, "Row by row", now(c)), ID: u.g.ID, URL: u.url(), Here: u.url() + here, Problem: problem, Forget: here == "/done"}
	p.say(plan, u.g.State == giveaway.StateOpen)
	p.list(plan, c.QueryParam("show"), c.QueryParam("page"))
	return d.render(c, status, "desk_import_try", p)
}

// say writes the heading, the counts in sentences, and the button.
func (p *tryPage) say(plan []entries.Planned, open bool) {
	t, in := tallyOf(plan), inDraw(plan)
	all := int64(len(plan))
	left := t[entries.FateIn] + t[entries.FateOut]
	p.Done = t[entries.FateAgain] > 0
	p.Tickets = p.Done
	add := func(n int64, one, more string) {
		if n > 0 {
			p.Lead = append(p.Lead, capitalized(many(n, one, more)))
		}
	}
	switch {
	case left == 0 && !p.Done:
		p.Head = "Nothing of this file would be brought in."
	case left == 0:
		p.Head = capitalized(many(in, "row", "rows")) + " of this file’s " + number(all) + wasIn(in)
	default:
		p.Head = capitalized(numberOrNo(t[entries.FateIn])) + " of " + many(all, "row", "rows") + " would come into the draw."
		p.Lead = append(p.Lead, "Nothing of it is stored yet.")
		if p.Done {
			p.Lead[0] = "A part of this file is in already: " + many(t[entries.FateAgain], "row", "rows") + ". This is the rest."
		}
	}
	if out := t[entries.FateAgain] - in; out > 0 && left == 0 {
		add(out, "row has a ticket that is not in the draw.", "rows have tickets that are not in the draw.")
	}
	add(t[entries.FateOut], "row gets a ticket that is not in the draw; the reason stands below.", "rows get tickets that are not in the draw; the reasons stand below.")
	add(t[entries.FateThere], "row has an address that is in already by another way; that entry stands, and the row brings nothing.", "rows have addresses that are in already by another way; those entries stand, and the rows bring nothing.")
	add(t[entries.FateUnreadable], "row can’t be read and gets no ticket.", "rows can’t be read and get no ticket.")
	switch {
	case !open || left == 0:
	case t[entries.FateIn] == 0:
		p.Bring = "Note " + many(left, "ticket that is not in the draw", "tickets that are not in the draw")
	case t[entries.FateIn] == 1:
		p.Bring = "Bring one row into the draw"
	default:
		p.Bring = "Bring " + number(t[entries.FateIn]) + " rows into the draw"
	}
	if out := t[entries.FateOut]; p.Bring != "" && out > 0 && t[entries.FateIn] > 0 {
		p.Bring += ", and note " + number(out) + " that " + map[bool]string{true: "is", false: "are"}[out == 1] + " not"
	}
}

// numberOrNo is a number in words at the begin of a sentence.
func numberOrNo(n int64) string {
	switch n {
	case 0:
		return "none"
	case 1:
		return "one"
	}
	return number(n)
}

func wasIn(n int64) string {
	if n == 1 {
		return " is in the draw."
	}
	return " are in the draw."
}

// list picks the rows of one fate and of one page.
func (p *tryPage) list(plan []entries.Planned, show, page string) {
	t := tallyOf(plan)
	address := func(show string, page int) string {
		q := url.Values{}
		if show != "" {
			q.Set("show", show)
		}
		if page > 1 {
			q.Set("page", strconv.Itoa(page))
		}
		if len(q) == 0 {
			return p.Here
		}
		return p.Here + "?" + q.Encode()
	}
	if t[entries.Fate(show)] == 0 {
		show = ""
	}
	p.Filters = []filterLink{{"All " + number(int64(len(plan))), address("", 1), show == ""}}
	for _, f := range fateOrder {
		if t[f] > 0 {
			p.Filters = append(p.Filters, filterLink{fateWords[f] + ": " + number(t[f]), address(string(f), 1), show == string(f)})
		}
	}
	var picked []entries.Planned
	for _, one := range plan {
		if show == "" || string(one.Fate) == show {
			picked = append(picked, one)
		}
	}
	n, err := strconv.Atoi(page)
	last := max(1, (len(picked)+rowsAPage-1)/rowsAPage)
	if err != nil || n < 1 || n > last {
		n = 1
	}
	from, to := (n-1)*rowsAPage, min(n*rowsAPage, len(picked))
	for _, one := range picked[from:to] {
		p.Rows = append(p.Rows, rowWords(one))
	}
	if last > 1 {
		p.Shown = number(int64(from+1)) + " to " + number(int64(to)) + " of " + number(int64(len(picked)))
	}
	if n > 1 {
		p.Earlier = address(show, n-1)
	}
	if n < last {
		p.Later = address(show, n+1)
	}
}
