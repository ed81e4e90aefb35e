package web

import (
	"html/template"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A rulesPage is the rules, as they were posted or as they would be.
type rulesPage struct {
	Frame
	Know
	Name, Back string
	Draft      bool // only the desk sees it
	ID         string
	Dated      Stamp // when this text was posted
	Moved      []string
	Rules      template.HTML
	Own        template.HTML // of a draft: what only its creator chose; "": all of it
	Print      string        // fingerprint of the text
	File       string        // address of the exact text
	Kept       []fileRow     // earlier rules
}

// getRules shows the rules that stand: our own text, written from Markdown.
func (s *Site) getRules(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	know, _, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	p := rulesPage{Frame: frame(g, now(c), "Rules"), Know: know, ID: g.ID, Name: g.Terms.Title, Back: homeURL(g.ID),
		Rules: rulesHTML(g.Terms.Rules), Print: g.Opening.Rules.String(), File: s.link(fairURL(g.ID) + draw.RulesFile)}
	p.Changes = nil // said in the page's own words
	p.date(g, append(s.openings(g), g.Opening))
	for _, f := range s.files(g, now(c)) {
		if f.stem == draw.RulesFile && f.Name != draw.RulesFile {
			p.Kept = append(p.Kept, f)
		}
	}
	return s.render(c, http.StatusOK, "rules", p)
}

// date says since when the text stands, and which times were moved after it
// was written. All are the posted terms by revision, the last one those that
// stand.
func (p *rulesPage) date(g giveaway.Giveaway, all []draw.Opening) {
	zone := g.Terms.Event.Zone
	p.Dated = stamp("Posted on", g.Opened, zone)
	since := 0 // index of the first that had this text
	for i := range all {
		if i > 0 && all[i].Rules != all[i-1].Rules {
			since = i
			p.Dated = stamp("Posted on", all[i].Revised, zone)
		}
	}
	was, is := all[since], all[len(all)-1]
	if !is.Closes.Equal(was.Closes) {
		p.Moved = append(p.Moved, stamp("entries close on", is.Closes, zone).Text())
	}
	if !is.Event.Equal(was.Event) {
		p.Moved = append(p.Moved, stamp("the draw is on", is.Event, zone).Text())
	}
}

// getDeskRules shows how the rules of a draft will read. Those that are posted
// stand on the public page.
func (d *desk) getDeskRules(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDraft {
		return c.Redirect(http.StatusSeeOther, rulesURL(g.ID))
	}
	p := rulesPage{Frame: d.frame(g, "The rules", now(c)), ID: g.ID, Draft: true, Name: g.Terms.Title, Rules: rulesHTML(g.Terms.AsPosted(now(c)).Rules)}
	if own := g.Terms.AsPosted(now(c)).OwnRules(); own != "" {
		p.Own = rulesHTML(own)
	}
	return d.render(c, http.StatusOK, "rules", p)
}
