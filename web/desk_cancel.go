package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/labstack/echo/v4"
	"golang.org/x/text/unicode/norm"

	"evenhand/draw"
	"evenhand/giveaway"
)

// secondDeskRoutes are the desk's addresses of the lock and of calling off.
func (d *desk) secondDeskRoutes(in *echo.Group) {
	in.GET("/g/:id/lock", d.getLock)
	in.POST("/g/:id/lock", d.postLock)
	in.GET("/g/:id/cancel", d.getCancel)
	in.GET("/g/:id/cancel/sure", d.getSure)
	in.POST("/g/:id/cancel", d.postCancel, body(maxEntry, typeForm))
}

// A cancelPage asks why a giveaway is called off and what comes instead, and
// then whether that is sure.
type cancelPage struct {
	Frame
	G       giveaway.Giveaway
	Head    string
	Trust   []string // what calling off means now
	Problem string
	Faults  []fault
	Reasons []offChoice
	Reason  string // chosen: a code, or "other"
	Other   string // the reason in own words, as typed
	Others  []offChoice
	Instead string // chosen: a giveaway's short name, or ""

	Code    string // the reason as it is published
	Why     string // in words
	Comes   string // what comes instead, in words; "" for nothing
	Seen    string // the stage that is shown; see [offStage]
	Outside bool   // the draw could be made: a better way out
}

// An offChoice is one that can be chosen.
type offChoice struct{ Value, Text string }

const reasonOther = "other"

// reasonsOff are the reasons that are offered, in the order of the page.
var reasonsOff = []offChoice{
	{"prize-withdrawn", "The prize is no longer there."},
	{"postponed", "It is put off: another giveaway takes its place later."},
	{"secret-lost", "Its secret number was lost, so the draw can’t be made."},
	{reasonOther, "Something else"},
}

// Of returns what is wrong with a field.
func (p cancelPage) Of(field string) []string {
	var texts []string
	for _, f := range p.Faults {
		if f.Field == field {
			texts = append(texts, f.Text)
		}
	}
	return texts
}

// mayCancel reports whether a giveaway can be called off.
func mayCancel(g giveaway.Giveaway) bool {
	return g.State.May(giveaway.StateCancelled) || g.State == giveaway.StateFreezing
}

func (d *desk) getCancel(c echo.Context) error {
	return d.showCancel(c, http.StatusOK, "desk_cancel", false)
}

// getSure asks once more. It changes nothing, so that Back and reload do no harm.
func (d *desk) getSure(c echo.Context) error {
	return d.showCancel(c, http.StatusOK, "desk_cancel_sure", true)
}

// showCancel shows the form, or the question whether it is sure; the form
// again if something in it is wrong.
func (d *desk) showCancel(c echo.Context, status int, page string, chosen bool) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if !mayCancel(g) {
		return toDay(c, g)
	}
	p, err := d.cancelPage(c, g)
	if err != nil {
		return err
	}
	if chosen {
		p.choose()
	}
	if len(p.Faults) > 0 {
		status, page = http.StatusUnprocessableEntity, "desk_cancel"
	}
	return d.render(c, status, page, p)
}

// cancelPage is filled from the request.
func (d *desk) cancelPage(c echo.Context, g giveaway.Giveaway) (cancelPage, error) {
	at := now(c)
	p := cancelPage{
		Frame: d.frame(g, "Call it off", at), G: g, Head: "Calling it off ends this giveaway for good.",
		Trust: offTrust(g, at), Reasons: reasonsOff, Seen: offStage(g, at), Outside: g.State == giveaway.StateFrozen && !at.Before(g.DrawAt()),
		Reason: c.FormValue("reason"), Other: strings.TrimSpace(c.FormValue("other")), Instead: strings.TrimSpace(c.FormValue("successor")),
	}
	all, err := d.cfg.Host.Store.Giveaways(c.Request().Context())
	for _, one := range all {
		if one.ID != g.ID && one.State != giveaway.StateCancelled && one.State != giveaway.StateDrawn {
			text := one.ID + ": " + one.Terms.Title
			if one.State == giveaway.StateDraft {
				text += " (not posted yet)"
			}
			p.Others = append(p.Others, offChoice{one.ID, text})
		}
	}
	return p, err
}

// choose reads what was chosen; what can't be is a fault.
func (p *cancelPage) choose() {
	p.Code = p.Reason
	switch {
	case p.Reason == reasonOther:
		p.Code = reasonCode(p.Other)
		if wrong := reasonFault(p.Code); wrong != "" {
			p.fault("other", "Your reason", wrong)
		}
	case !slices.ContainsFunc(reasonsOff, func(r offChoice) bool { return r.Value == p.Reason }):
		p.fault("reason", "Why", "Choose why it is called off.")
	}
	p.Why = offWhy(p.Code)
	if p.Instead == "" {
		return
	}
	i := slices.IndexFunc(p.Others, func(o offChoice) bool { return o.Value == p.Instead })
	if i < 0 {
		p.fault("successor", "What comes instead", "Choose one of your other giveaways, or none.")
		return
	}
	p.Comes = p.Others[i].Text
}

func (p *cancelPage) fault(field, label, text string) {
	p.Faults = append(p.Faults, fault{Field: field, Label: label, Text: text})
}

// postCancel calls it off. What is shown must be what is so: a giveaway whose
// stage has moved on since is asked about again.
func (d *desk) postCancel(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if !mayCancel(g) {
		return toDay(c, g)
	}
	p, err := d.cancelPage(c, g)
	if err != nil {
		return err
	}
	if p.choose(); len(p.Faults) > 0 {
		return d.render(c, http.StatusUnprocessableEntity, "desk_cancel", p)
	}
	if c.FormValue("seen") != p.Seen {
		p.Problem = "Things have moved on since you looked. Read once more what calling off means now."
		return d.render(c, http.StatusConflict, "desk_cancel_sure", p)
	}
	_, err = d.cfg.Host.Cancel(uncut(c), now(c), g.ID, p.Code, p.Instead)
	switch {
	case errors.Is(err, giveaway.ErrBusy):
		p.Problem = "The list is being locked at this moment. Wait a little and try again."
		return d.render(c, http.StatusConflict, "desk_cancel_sure", p)
	case err != nil && !errors.Is(err, giveaway.ErrState): // drawn meanwhile: the day-book says so
		return err
	}
	return toDay(c, g)
}

// mostReason is how long a reason's code may be (draw protocol, cancelled.txt).
const mostReason = 32

// reasonFault says what is wrong with a reason in own words, by the code that
// was made of it; "" if nothing is.
func reasonFault(code string) string {
	switch {
	case code == "":
		return "Write the reason in a few words of the letters a to z, such as “the shop closed”."
	case len(code) > mostReason:
		return "Make the reason shorter: with its blanks it has " + number(int64(len(code))) + " characters, and " + number(mostReason) + " can be published."
	case !draw.ValidRole(code):
		return "Begin the reason with a letter, such as “two weeks too late” for “2 weeks too late”."
	}
	return ""
}

// reasonCode makes a published code of a short phrase: "The shop closed!"
// becomes "the-shop-closed". "" if nothing is left.
func reasonCode(phrase string) string {
	var code strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(phrase)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			code.WriteRune(r)
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’':
		case !strings.HasSuffix(code.String(), "-"):
			code.WriteByte('-')
		}
	}
	return strings.Trim(code.String(), "-")
}

// offWhy says a reason in words: those of the house for its own codes, and for
// any other the code read as a phrase.
func offWhy(code string) string {
	if words := cancelWords[code]; words != "" {
		return words
	}
	return strings.ReplaceAll(code, "-", " ")
}

// offStage is what calling off means now: before the lock, after it, or when
// the result could be known.
func offStage(g giveaway.Giveaway, at time.Time) string {
	switch {
	case g.Frozen.IsZero():
		return "before"
	case at.Before(g.Opening.Event):
		return "locked"
	}
	return "late"
}

// offTrust says what it costs in trust.
func offTrust(g giveaway.Giveaway, at time.Time) []string {
	rest := "Nobody is drawn here, now or later. The terms and all that was posted stay, with your reason and the time. Whoever entered keeps the proof of it."
	switch offStage(g, at) {
	case "before":
		return []string{"The list is not locked yet, so there is no result that anybody could know. It disappoints, and that is all.", rest}
	case "locked":
		return []string{"The list is locked, and stays to be seen. The draw’s time has not come, so nobody can know a result, not even you; everybody can check that.", rest}
	}
	return []string{"The list is locked and the draw’s time has come, so you could already know who would win. Everybody who checks will read: it was called off when the host could already know the result.",
		"If the draw can be made, make it: an honest draw that you would rather not have costs less than this.", rest}
}
