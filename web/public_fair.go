package web

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A fairPage is the publication with its check in words.
type fairPage struct {
	Frame
	Know
	Head, Lead string
	Verdict    string // the file's word
	Files      []fileRow
	Zip        string    // all of them as one file
	Wrong      []finding // faults and remarks
	Fit        []finding // what is all right
	Statement  []string
	Won        []placeRow // by place; none before the draw
	Report     draw.Report
	Print      string // fingerprint of the list
	Command    string // how to check without this page
	Find       string
}

// A fileRow is one published file.
type fileRow struct {
	Name, URL, What string
	stem            string
}

// fileName is the form of a publication's names: a stem, and a number where a
// later file replaced it.
var fileName = regexp.MustCompile(`^([a-z]{4,9})(?:\.([1-9][0-9]{0,8}))?\.txt$`)

// stemOf returns the name without its number, "" for what is no file of a
// publication.
func stemOf(name string) (stem, number string) {
	m := fileName.FindStringSubmatch(name)
	if m == nil || fileWords[m[1]+".txt"] == "" {
		return "", ""
	}
	return m[1] + ".txt", m[2]
}

// files lists what anybody may read, in the order in which it appeared.
func (s *Site) files(g giveaway.Giveaway, at time.Time) []fileRow {
	list, err := fs.ReadDir(s.public(g, at), ".")
	if err != nil {
		return nil
	}
	var rows []fileRow
	for _, f := range list {
		stem, n := stemOf(f.Name())
		if stem == "" {
			continue
		}
		what := fileWords[stem]
		if n != "" {
			i, _ := strconv.ParseInt(n, 10, 64) // digits, by the pattern
			what += ", before the " + ordinal(i) + " change"
		}
		rows = append(rows, fileRow{Name: f.Name(), URL: fairURL(g.ID) + f.Name(), What: capitalized(what), stem: stem})
	}
	slices.SortStableFunc(rows, func(a, b fileRow) int {
		return slices.Index(fileOrder, a.stem) - slices.Index(fileOrder, b.stem)
	})
	return rows
}

// getFair shows the files and what their check says.
func (s *Site) getFair(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	r, err := s.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	p := fairPage{Frame: frame(g, now(c), "The check"), Files: s.files(g, now(c)), Zip: zipURL(g.ID), Report: r, Verdict: r.Verdict,
		Know: Know{Weak: weakReport(r, g.Terms), Drawn: r.Record != nil, FairURL: s.link(fairURL(g.ID))}, Command: "draw verify " + s.link(fairURL(g.ID))}
	if p.Seconds, err = s.seconds(c.Request().Context(), g, &r); err != nil {
		return err
	}
	p.Head, p.Lead = fairWords(r, g)
	p.Wrong, p.Fit = findings(r, g.Terms.Event.Zone)
	for _, said := range r.Statement {
		p.Statement = append(p.Statement, onPages(said))
	}
	brought, err := s.broughtIn(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	if brought != "" {
		p.Statement = append(p.Statement, brought)
	}
	if r.Record != nil {
		p.Won = placeRows(g, &r)
	}
	if r.FreezeAt != nil {
		p.Print, p.Find = r.FreezeAt.String(), homeURL(g.ID)+"/t/"
	}
	return s.render(c, http.StatusOK, "fair", p)
}

// fairWords say the verdict in a heading and a sentence.
func fairWords(r draw.Report, g giveaway.Giveaway) (head, lead string) {
	switch r.Status {
	case draw.StatusFault:
		return "The check finds a fault.", "Something in these files does not fit together. What it is stands below; ask " + g.Terms.Channel + " about it."
	case draw.StatusNotRead:
		return "The check could not be finished.", "Something could not be read or checked just now. What it is stands below."
	}
	one := ", with one thing to know."
	if len(weakReport(r, g.Terms)) > 1 {
		one = ", with some things to know."
	}
	switch {
	case r.Cancelled != nil:
		return "This draw was called off.", "The files fit together; there will be no result."
	case r.Record != nil && r.Weak:
		return "The draw holds" + one, "Every number was worked out again and fits. What there is to know stands first."
	case r.Record != nil:
		return "The draw checks out.", "Every number was worked out again here, and all of it fits."
	case r.Weak:
		return "So far everything fits" + one, "The draw is not made yet. What there is to know stands first."
	}
	return "So far everything fits.", "The draw is not made yet. The files that there are fit together."
}

// getFile serves exactly the published bytes, with their hash as the tag.
func (s *Site) getFile(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	name := c.Param("file")
	if stem, _ := stemOf(name); stem == "" {
		return errNoSuchPage
	}
	f, err := s.public(g, now(c)).Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return errNoSuchPage
	}
	if err != nil {
		return err
	}
	defer f.Close()
	content, tag, err := seekable(f)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("ETag", `"`+tag.String()+`"`)
	if strings.Contains(c.QueryString(), "download") {
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	}
	http.ServeContent(c.Response(), oneRange(c.Request()), "", time.Time{}, content)
	return nil
}

// seekable gives a file's content and hash. A store's files seek and know
// their hash; any other is read.
func seekable(f fs.File) (io.ReadSeeker, draw.Digest, error) {
	known, ok := f.(interface {
		io.ReadSeeker
		Digest() draw.Digest
	})
	if ok {
		return known, known.Digest(), nil
	}
	b, err := io.ReadAll(f)
	return bytes.NewReader(b), draw.Hash(b), err
}

// singleRange is one part of a file (RFC 9110, section 14.1.2).
var singleRange = regexp.MustCompile(`^bytes=([0-9]{1,15}-[0-9]{0,15}|-[0-9]{1,15})$`)

// oneRange drops a request for many parts at once: a long list of small ones
// costs the server time and no honest reader sends it. The whole file is the
// answer then, as RFC 9110 allows.
func oneRange(r *http.Request) *http.Request {
	asked := r.Header.Values("Range")
	if len(asked) == 0 || len(asked) == 1 && singleRange.MatchString(asked[0]) {
		return r
	}
	r = r.Clone(r.Context())
	r.Header.Del("Range")
	return r
}
