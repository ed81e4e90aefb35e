package web

import (
	"encoding/json"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
)

func lineURL(id string) string { return "/g/" + id + "/line" }

// lineRoutes are the line of a drawn giveaway: its page, its stills, its data;
// and the result for print.
func (s *Site) lineRoutes(get func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc)) {
	get("/g/:id/line", s.getLine)
	get("/g/:id/line.svg", s.getLineStill, unlisted)
	get("/g/:id/line.bin", s.getLineData, unlisted)
	get("/g/:id/sheet", s.getResultSheet)
	get("/t/", s.getPlaceTyped, unlisted, limited(s.private))
	get("/t/:ticket", s.getPlace, unlisted, limited(s.private))
}

// A lineFigure is the line on a page: a still that the script can set moving.
type lineFigure struct {
	Bin, Still string // addresses; a form is added to that of the still
	Labels     string // JSON: the words beside the shown marks
	Mine       int    // index of a ticket's mark; -1: none
	MineLabel  string
	Words      string // what there is to see
}

// figure is the line for a page; mine is the ticket whose mark is set apart,
// nil: none. whose is the word before its rank.
func (l drawnLine) figure(mine *draw.Ticket, whose string) *lineFigure {
	f := &lineFigure{Bin: lineURL(l.g.ID) + ".bin?v=" + l.seed.String()[:12], Still: lineURL(l.g.ID) + ".svg?", Mine: -1}
	labels, _ := json.Marshal(l.labels()) // strings always become JSON
	f.Labels, f.Words = string(labels), l.words()
	if mine != nil {
		f.Still += "ticket=" + mine.String() + "&"
		if whose == "yours" {
			f.Still += "mine&"
		}
		f.Mine, f.MineLabel = l.rankIn(*mine), l.mineLabel(*mine, whose)
	}
	f.Still += "form="
	return f
}

func (l drawnLine) mineLabel(t draw.Ticket, whose string) string {
	return whose + ": " + ordinal(int64(l.rankIn(t))+1) + " of " + number(int64(len(l.order)))
}

// labels are the words beside the marks that win.
func (l drawnLine) labels() []string {
	places := l.report.Record.Places
	places = places[:min(len(places), max(1, l.report.Opening.Winners))]
	all := make([]string, len(places))
	for i, p := range places {
		all[i] = shareOf(p.Score)
		if len(places) > 1 {
			all[i] = ordinal(int64(p.N)) + " " + all[i]
		}
	}
	return all
}

// words say what the picture shows.
func (l drawnLine) words() string {
	span, alone := lineEnd(lineScores(l.order), len(l.labels())), "the one that came first stands alone"
	if n := len(l.labels()); n > 1 {
		alone = "the first " + number(int64(n)) + " stand apart"
	}
	if lineUpper(span) < 1 {
		return "Each mark is a ticket at its own number. The smallest, at the left, came first."
	}
	return "Each mark is a ticket at its own number. The upper line has all " + number(int64(len(l.order))) + " of them; the lower one is " + lineCloser(span) + ": " + alone + "."
}

// figureOf is the line for the page of a ticket, nil where the giveaway is not
// drawn or the ticket is not on the list.
func (s *Site) figureOf(c echo.Context, t draw.Ticket, st entries.Standing, whose string) (*lineFigure, error) {
	if !st.In || !st.Drawn {
		return nil, nil
	}
	l, err := s.drawnLine(c)
	if err == errNoSuchPage {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return l.figure(&t, whose), nil
}

// A linePage has the line large, and its stills.
type linePage struct {
	Frame
	Know
	Figure *lineFigure
	ID     string
}

func (s *Site) getLine(c echo.Context) error {
	l, err := s.drawnLine(c)
	if err != nil {
		return err
	}
	know, _, err := s.know(c.Request().Context(), l.g)
	if err != nil {
		return err
	}
	return s.render(c, http.StatusOK, "line", linePage{Frame: frame(l.g, now(c), "The line"), Know: know, Figure: l.figure(nil, ""), ID: l.g.ID})
}

// getLineStill serves a still as SVG, of one of the forms.
func (s *Site) getLineStill(c echo.Context) error {
	form := c.QueryParam("form")
	if form == "" {
		form = "strip"
	}
	if _, ok := lineForms[form]; !ok {
		return errNoSuchPage
	}
	l, err := s.drawnLine(c)
	if err != nil {
		return err
	}
	p := linePicture{Scores: lineScores(l.order), Labels: l.labels(), Mine: -1}
	if err := s.ownMark(c, l, &p); err != nil {
		return err
	}
	h, file := c.Response().Header(), l.g.ID+"-line-"+form+".svg"
	if lineForms[form].head > 0 {
		p.Around = l.around()
	} else {
		h.Set("Content-Security-Policy", strings.Replace(policy, "style-src 'self'", "style-src "+inlineHash([]byte(lineDark)), 1))
	}
	if strings.Contains(c.QueryString(), "download") {
		h.Set("Content-Disposition", `attachment; filename="`+file+`"`)
	}
	return serveTagged(c, "image/svg+xml", lineSVG(p, form))
}

// ownMark sets apart the mark of the ticket of the query, if it names one.
func (s *Site) ownMark(c echo.Context, l drawnLine, p *linePicture) error {
	typed := c.QueryParam("ticket")
	if typed == "" {
		return nil
	}
	t, err := draw.ReadTicket(typed)
	if err != nil {
		return errNoTicket
	}
	st, err := entries.Look(s.known(l.g), t)
	if err != nil {
		return err
	}
	if !st.In {
		return errNoTicket
	}
	whose := "this ticket"
	if c.QueryParams().Has("mine") {
		whose = "yours"
	}
	p.Mine, p.MineLabel = l.rankIn(t), l.mineLabel(t, whose)
	return nil
}

// around is what a still for a video says besides the line.
func (l drawnLine) around() *lineAround {
	small := []string{l.g.Terms.Channel, count(int64(len(l.order)), "ticket", "tickets")}
	return &lineAround{Small: strings.Join(small, " · "), Ticket: l.report.Record.Places[0].Ticket.Grouped()}
}
