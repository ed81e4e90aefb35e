package web

import (
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/cautions"
	"evenhand/giveaway"
)

// A laterForm is what a revision may change, as typed.
type laterForm struct {
	Closes, ClosesWhich string
	Event, EventWhich   string
	Words               string // the rules' own paragraphs, or the whole text
}

// A laterPage moves closing or the draw to a later time, or changes the rules.
type laterPage struct {
	Frame
	F       laterForm
	G       giveaway.Giveaway
	Faults  []fault
	Twice   map[string]bool // times of which it is asked which one is meant
	Over    bool            // the draw's time has come without a lock
	Written bool            // the rules are written from the terms; only paragraphs are typed
	ClosesZ string          // zones in page words
	EventZ  string
	Note    string // a sentence about what was just tried, or ""
}

// Of returns what is wrong with a field.
func (p laterPage) Of(field string) []string { return termsPage{Faults: p.Faults}.Of(field) }

// A surePage shows a change, old beside new, before it is posted.
type surePage struct {
	Frame
	G     giveaway.Giveaway
	F     laterForm
	Note  string
	Lines []changedLine
	Rules template.HTML // the new text; "": not changed
	Costs []string
	Look  []cautions.Caution // what the change raises
	Stop  bool               // one of these is a stop, so a reason is asked for
	Why   string             // as typed
	Fault string             // what is wrong with it
	Seen  string             // the costs that are shown; see [costMark]
}

// A changedLine is one thing that changes.
type changedLine struct{ Name, Old, New string }

const wordStale = "These terms were changed in another window; look again."

func (d *desk) getLater(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateOpen {
		return toDay(c, g)
	}
	return d.showLater(c, http.StatusOK, g, laterOf(g.Terms), nil, "")
}

// laterOf fills the form with what stands.
func laterOf(t giveaway.Terms) laterForm {
	f := laterForm{Closes: t.Closes.Local, ClosesWhich: whichOf(t.Closes), Event: t.Event.Local, EventWhich: whichOf(t.Event), Words: t.Rules}
	if t.RulesWritten {
		f.Words = t.Paragraphs
	}
	return f
}

func (d *desk) showLater(c echo.Context, status int, g giveaway.Giveaway, f laterForm, problems giveaway.Problems, note string) error {
	p := laterPage{
		Frame: d.frame(g, "Change something", now(c)), F: f, G: g, Faults: faultsOf(problems), Note: note, Written: g.Terms.RulesWritten,
		ClosesZ: zoneWords(g.Terms.Closes.Zone), EventZ: zoneWords(g.Terms.Event.Zone), Over: !now(c).Before(g.Opening.Event),
	}
	p.Twice = map[string]bool{"closes": comesTwice(f.Closes, g.Terms.Closes.Zone), "event": comesTwice(f.Event, g.Terms.Event.Zone)}
	return d.render(c, status, "desk_later", p)
}

// comesTwice reports whether it has to be asked which of two equal wall times
// is meant.
func comesTwice(typed, zone string) bool {
	var repeated giveaway.RepeatedError
	_, err := giveaway.ParseMoment(typed, zone, 0)
	return errors.As(err, &repeated)
}

// postLater shows the change, old beside new; pressed on that page, it posts
// it.
func (d *desk) postLater(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateOpen {
		return toDay(c, g)
	}
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read change form: %w", errMalformed)
	}
	f := readLater(form)
	change, problems := f.change(g.Terms)
	switch {
	case form.Get("revision") == strconv.Itoa(g.Revision):
	case len(problems) == 0 && change == (giveaway.Change{}):
		return toDay(c, g) // pressed twice
	default:
		// what was typed began with terms that no longer stand: it would
		// bring the old ones back
		return d.showLater(c, http.StatusConflict, g, laterOf(g.Terms), nil, wordStale)
	}
	if len(problems) > 0 || form.Get("back") != "" {
		return d.showLater(c, statusOf(problems), g, f, problems, "")
	}
	return d.changing(c, g, f, change, form.Get("sure"))
}

// wouldBe is about when a change would be posted: never before the last one.
func wouldBe(at time.Time, g giveaway.Giveaway) time.Time {
	at = at.UTC().Truncate(time.Second)
	if at.After(g.Opening.Revised) {
		return at
	}
	return g.Opening.Revised.Add(time.Second)
}

func statusOf(problems giveaway.Problems) int {
	if len(problems) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

func readLater(v url.Values) laterForm {
	get := func(name string) string { return strings.TrimSpace(v.Get(name)) }
	return laterForm{get("closes"), get("closes_which"), get("event"), get("event_which"), strings.ReplaceAll(v.Get("rules"), "\r\n", "\n")}
}

// change is what differs from the terms as they stand.
func (f laterForm) change(t giveaway.Terms) (giveaway.Change, giveaway.Problems) {
	r := formReader{}
	closes := r.moment("closes", f.Closes, t.Closes.Zone, f.ClosesWhich)
	event := r.moment("event", f.Event, t.Event.Zone, f.EventWhich)
	var change giveaway.Change
	if !closes.UTC.Equal(t.Closes.UTC) {
		change.Closes = &closes
	}
	if !event.UTC.Equal(t.Event.UTC) {
		change.Event = &event
	}
	if strings.TrimSpace(f.Words) != strings.TrimSpace(laterOf(t).Words) {
		if t.RulesWritten {
			change.Paragraphs = &f.Words
		} else {
			change.Rules = &f.Words
		}
	}
	return change, r.problems
}

// changing asks whether the change is meant; sure is the mark of what was
// shown. Where that costs more by now, because a time has come meanwhile, it
// asks again.
func (d *desk) changing(c echo.Context, g giveaway.Giveaway, f laterForm, change giveaway.Change, sure string) error {
	t, o, err := giveaway.Revision(g.Terms, g.Opening, change, wouldBe(now(c), g))
	var problems giveaway.Problems
	if errors.As(err, &problems) {
		return d.showLater(c, http.StatusUnprocessableEntity, g, f, problems, "")
	}
	if err != nil {
		return err
	}
	p := surePage{Frame: d.frame(g, "Post the change?", now(c)), G: g, F: f, Lines: changedLines(g.Terms, t), Costs: costsOf(g.Opening, o, g.Terms.Event.Zone)}
	p.Look = cautions.Changing(g.Terms, t, now(c))
	if o.Rules != g.Opening.Rules {
		p.Rules = rulesHTML(t.Rules)
	}
	p.Stop = slices.ContainsFunc(p.Look, func(one cautions.Caution) bool { return one.Level == cautions.LevelStop })
	p.Seen, p.Why = costMark(p), strings.TrimSpace(c.FormValue("why"))
	switch sure {
	case p.Seen:
		if p.Fault = whyFault(p.Why); p.Stop && p.Fault != "" {
			return d.render(c, http.StatusUnprocessableEntity, "desk_sure", p)
		}
		if err := d.readChange(c, p); err != nil {
			return err
		}
		return d.revise(c, g, f, change)
	case "":
		return d.render(c, http.StatusOK, "desk_sure", p)
	}
	p.Note = "A time has come while you were reading. Look again at what the change costs now."
	return d.render(c, http.StatusConflict, "desk_sure", p)
}

// readChange keeps that what the change raises was read, and why the creator
// goes on past a stop.
func (d *desk) readChange(c echo.Context, p surePage) error {
	for _, one := range p.Look {
		why := ""
		if one.Level == cautions.LevelStop {
			why = p.Why
		}
		if err := d.cfg.Host.ReadCaution(uncut(c), now(c), p.G.ID, one.Mark, one.Code, why); err != nil {
			return err
		}
	}
	return nil
}

// revise posts the change.
func (d *desk) revise(c echo.Context, g giveaway.Giveaway, f laterForm, change giveaway.Change) error {
	_, err := d.cfg.Host.Revise(uncut(c), now(c), g.ID, change)
	var problems giveaway.Problems
	switch {
	case err == nil:
		return toDay(c, g)
	case errors.As(err, &problems):
		return d.showLater(c, http.StatusUnprocessableEntity, g, f, problems, "")
	case !errors.Is(err, giveaway.ErrState):
		return err
	}
	if g, err = d.find(c); err == nil && g.State == giveaway.StateOpen {
		return d.showLater(c, http.StatusConflict, g, laterOf(g.Terms), nil, wordStale) // another change came between
	}
	if err != nil {
		return err
	}
	return toDay(c, g)
}

// twiceOf says of which times of the terms it has to be asked which one is
// meant.
func twiceOf(f termsForm) map[string]bool {
	twice := map[string]bool{}
	for field, typed := range map[string]string{"opens": f.Opens, "closes": f.Closes, "event": f.Event} {
		twice[field] = comesTwice(typed, f.Zone)
	}
	return twice
}
