package web

import (
	"errors"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/giveaway"
)

// toPlace leads back to the place's page.
func toPlace(c echo.Context, g giveaway.Giveaway, p claims.Place) error {
	return c.Redirect(http.StatusSeeOther, placePath(g.ID, p.N))
}

// postCopied notes that the letter was copied. Twice is once.
func (d *desk) postCopied(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	if _, err := d.cfg.Claims.Noticed(uncut(c), now(c), g.ID, p.N); err != nil {
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

// postAskCopied notes that the letter with a question was copied.
func (d *desk) postAskCopied(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(c.Param("k"))
	if err != nil {
		return errNoSuchPage
	}
	err = d.cfg.Claims.AskNoticed(uncut(c), now(c), g.ID, p.N, n)
	switch {
	case errors.Is(err, claims.ErrOver):
		return d.showPlace(c, http.StatusConflict, g, p, "Nobody waits for an answer to that question any more. Nothing was changed.", false)
	case err != nil:
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

// postNewLink makes the winner's old link open nothing.
func (d *desk) postNewLink(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	if _, err := d.cfg.Claims.NewLink(uncut(c), now(c), g.ID, p.N); err != nil {
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

func (d *desk) postConfirm(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	if _, err := d.cfg.Claims.Confirm(uncut(c), now(c), g.ID, p.N); err != nil {
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

func (d *desk) postSkip(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	if p.Confirmed != nil && p.Shipping.Sent() && c.FormValue("sent") == "" {
		return d.showPlace(c, http.StatusUnprocessableEntity, g, p, "The parcel is on its way already. Tick that you know it, if you want to skip this place all the same. Nothing was changed.", false)
	}
	pass := giveaway.Passing{
		Place: p.N, Reason: c.FormValue("reason"), Early: c.FormValue("early") != "", GivenBack: c.FormValue("given_back") != "",
	}
	if _, err := d.cfg.Claims.Pass(uncut(c), now(c), g.ID, pass); err != nil {
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

// notDone says why a button did nothing, on the place's page as it stands now.
func (d *desk) notDone(c echo.Context, g giveaway.Giveaway, p claims.Place, err error) error {
	words, status, early := "", http.StatusConflict, false
	var soon giveaway.ErrTooEarly
	switch {
	case errors.As(err, &soon):
		early = true
		words = "There is still time to answer, until " + stamp("", soon.Until, g.Terms.Event.Zone).Words + ". Nothing was changed."
	case errors.Is(err, giveaway.ErrReason):
		words, status = "Choose why this place is skipped.", http.StatusUnprocessableEntity
	case errors.Is(err, giveaway.ErrTaken):
		words = "Somebody else settled this place a moment ago; this page shows how it stands now. Your press changed nothing."
	case errors.Is(err, claims.ErrAnswered):
		words = "An answer came meanwhile, so this place can’t be skipped for no answer. Nothing was changed."
	case errors.Is(err, claims.ErrNoAnswer):
		words = "There is no answer to confirm yet. Write it down first if it came another way."
	case errors.Is(err, claims.ErrSkill):
		words = "This place can’t be confirmed yet: your rules put a skill question to a winner who lives in Canada, and it was not answered rightly. Ask it, and write down that the answer was right."
	case errors.Is(err, claims.ErrOver):
		words = "This place was skipped meanwhile. Nothing was changed."
	case errors.Is(err, giveaway.ErrNoTurn):
		words = "This place doesn’t have its turn. Nothing was changed."
	case errors.Is(err, claims.ErrRace), errors.Is(err, giveaway.ErrState):
		words = "Something else came first; this page shows how it stands now. Your press changed nothing."
	default:
		return err
	}
	p, err = d.cfg.Claims.Place(c.Request().Context(), now(c), g.ID, p.N)
	if err != nil {
		return err
	}
	return d.showPlace(c, status, g, p, words, early)
}

// An answerPage writes down an answer that came by chat or phone, or a
// correction.
type answerPage struct {
	Frame
	Path    string
	Place   string
	Ticket  [4]string
	Email   string // whose answer it is
	Summary summary
	By      field
	Form    claimForm
	Asked   bool         // a question of the sponsor is open: this answers it too
	Skill   *spokenSkill // nil: there is none to put
}

func (d *desk) getAnswer(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	if p.Turn == nil || p.Passed != nil {
		return toPlace(c, g, p)
	}
	entry, err := d.cfg.Claims.Entries.EntryByTicket(c.Request().Context(), g.ID, p.Ticket)
	if err != nil {
		return err
	}
	f := claims.Form{Country: entry.Entry.Ship.Country, State: entry.Entry.Ship.State}
	if size := entry.Entry.Size; g.Terms.Sizes != nil {
		f.System, f.Size, f.Width = string(size.System), size.Size.String(), size.Width
	}
	if p.Answer != nil && !p.Answer.Declined {
		f = formOfAnswer(*p.Answer)
	}
	return d.showAnswer(c, http.StatusOK, g, p, f, "", nil)
}

// formOfAnswer fills the form with an answer that stands, to correct it.
func formOfAnswer(a claims.Answer) claims.Form {
	f := claims.Form{
		System: string(a.Size.System), Size: a.Size.Size.String(), Width: a.Size.Width, Name: a.Name, CareOf: a.CareOf,
		City: a.Address.City, State: a.Address.State, Postal: a.Address.Postal, Country: a.Address.Country, Phone: a.Typed.Phone,
		Adult: a.Typed.Adult, Eligible: a.Typed.Eligible, Skill: a.Typed.Skill,
	}
	lines := []*string{&f.Line1, &f.Line2, &f.Line3}
	for i, line := range a.Address.Lines[:min(len(lines), len(a.Address.Lines))] {
		*lines[i] = line
	}
	if a.Size.IsZero() {
		f.System, f.Size, f.Width = "", "", ""
	}
	return f
}

func (d *desk) showAnswer(c echo.Context, status int, g giveaway.Giveaway, p claims.Place, f claims.Form, by string, problems []claims.Problem) error {
	entry, err := d.cfg.Claims.Entries.EntryByTicket(c.Request().Context(), g.ID, p.Ticket)
	if err != nil {
		return err
	}
	st := claimState(problems, len(problems) > 0)
	page := answerPage{
		Frame: d.frame(g, "An answer by chat or phone", now(c)), Path: placePath(g.ID, p.N),
		Place: placeWords(p.N, g.Opening.Winners), Ticket: ticketGroups(p.Ticket), Email: entry.Entry.Typed,
		Asked: len(p.OpenAsks()) > 0, Summary: summarize(st), Form: claimFormOf(g.Terms, f, st), Skill: spokenOf(p, f, st), By: st.text("by", "How it came", "", by, ""),
	}
	page.Form.Before = seenSent(c.Request().PostForm)
	page.By.Groups = options(by, option{claims.ByChat, "by chat, mail or message", false}, option{claims.ByPhone, "by phone", false})
	return d.render(c, status, "desk_winner_answer", page)
}

func (d *desk) postAnswer(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	f, _, err := decodeClaim(c.Request())
	if err != nil {
		return err
	}
	by := c.FormValue("by")
	_, err = d.cfg.Claims.Record(uncut(c), now(c), g.ID, p.N, by, f)
	var no *claims.Rejected
	switch {
	case errors.As(err, &no):
		return d.showAnswer(c, http.StatusUnprocessableEntity, g, p, no.Form, by, no.Fields)
	case err != nil:
		return d.notDone(c, g, p, err)
	}
	return toPlace(c, g, p)
}

// A sponsorLinkPage makes, shows and closes the sponsor's page.
type sponsorLinkPage struct {
	Frame
	G      giveaway.Giveaway
	Head   string
	Link   string
	Closed Stamp // zero: there is one, or never was
	Visits []Stamp
	Count  string
}

// maxVisits is how many of the newest visits are listed.
const maxVisits = 20

func (d *desk) getSponsorLink(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateDraft {
		return toDay(c, g)
	}
	if !g.Erased.IsZero() {
		return d.gone(c, g, "The sponsor’s page", g.Erased)
	}
	ctx := c.Request().Context()
	p := sponsorLinkPage{Frame: d.frame(g, "The sponsor’s page", now(c)), G: g, Head: "The sponsor has no page yet."}
	if p.Link, err = d.cfg.Claims.LiveSponsorLink(ctx, g.ID); err != nil {
		return err
	}
	if p.Link != "" {
		p.Head = "The sponsor’s page is open."
	}
	visits, err := d.cfg.Claims.Visits(ctx, g.ID)
	if err != nil {
		return err
	}
	if closed, err := d.cfg.Claims.SponsorClosed(ctx, g.ID); err != nil {
		return err
	} else if p.Link == "" && !closed.IsZero() {
		p.Head, p.Closed = "The sponsor’s page is closed.", stamp("You closed it on", closed, g.Terms.Event.Zone)
	}
	p.Count = capitalized(many(int64(len(visits)), "visit", "visits")) + " so far."
	for i := len(visits) - 1; i >= 0 && len(p.Visits) < maxVisits; i-- {
		p.Visits = append(p.Visits, stamp("", visits[i], g.Terms.Event.Zone))
	}
	return d.render(c, http.StatusOK, "desk_winner_sponsor", p)
}

func (d *desk) postSponsorLink(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateDraft {
		return toDay(c, g)
	}
	if _, err := d.cfg.Claims.SponsorLink(uncut(c), now(c), g.ID); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/sponsor")
}

func (d *desk) postSponsorClose(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if err := d.cfg.Claims.RevokeSponsorLink(uncut(c), now(c), g.ID); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/sponsor")
}
