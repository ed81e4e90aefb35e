package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// winnerRoutes are the desk's pages about one drawn place and about the
// sponsor's page. The first look at a place that has its turn makes the
// winner's link; everything else that changes is a POST.
func (d *desk) winnerRoutes(in *echo.Group) {
	if d.cfg.Claims == nil {
		return
	}
	in.GET("/g/:id/place/:n", d.getPlace, d.placeKept)
	in.GET("/g/:id/place/:n/answer", d.getAnswer, d.placeKept)
	in.GET("/g/:id/sponsor", d.getSponsorLink)
	small := body(maxEntry, typeForm)
	for path, press := range map[string]echo.HandlerFunc{
		"place/:n/copied": d.postCopied, "place/:n/ask/:k/copied": d.postAskCopied, "place/:n/link": d.postNewLink,
		"place/:n/sum": d.postSumAgain, "place/:n/confirm": d.postConfirm, "place/:n/skip": d.postSkip, "place/:n/answer": d.postAnswer,
		"sponsor": d.postSponsorLink, "sponsor/close": d.postSponsorClose,
	} {
		if strings.HasPrefix(path, "place/") {
			press = d.placeKept(press)
		}
		in.POST("/g/:id/"+path, press, small)
	}
}

func placePath(id string, n int) string { return "/desk/g/" + id + "/place/" + strconv.Itoa(n) }

// A winnerPage is one drawn place: letter, answer, confirmation, parcel.
type winnerPage struct {
	Frame
	G        giveaway.Giveaway
	Path     string
	Place    string
	Ticket   [4]string
	Head     string
	Lead     string
	When     Stamp
	Problem  string
	Email    string
	Said     string // the name to be said on the show
	Asked    []fact // the creator's own questions, as they were answered with the entry
	Letter   *letterWords
	Press    string      // which button is filled: copied, ask, again, confirm, skip; "" none of them
	Skill    *skillShown // nil: the rules put no skill question
	Answer   *shownAnswer
	Came     []Stamp // how the answer came, and when
	Declined bool
	CanNote  bool // an answer by chat or phone may be written down
	Skip     *skipForm
	Asks     []letterWords
	Shipping string
	Next     step // a link that is filled in place of a button; zero: none
	Cautions []claims.Reminder
}

// letterWords are a letter ready to copy.
type letterWords struct {
	ID            string
	Path          string // what says that it was copied
	Subject, Text string
	Until, UTC    Stamp
	Copied        Stamp
	Over          bool // the time to answer has ended
}

// A skipForm skips a place.
type skipForm struct {
	Reasons []option
	Early   bool // it was refused as too early: ask
	Given   bool // the place is confirmed: the prize comes back
	Sent    bool // the parcel is on its way or there: ask once more
	Open    bool // it is one of two ways on, and stands there unfolded
}

// place finds the place of the address.
func (d *desk) place(c echo.Context) (giveaway.Giveaway, claims.Place, error) {
	g, err := d.find(c)
	if err != nil {
		return g, claims.Place{}, err
	}
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil || strconv.Itoa(n) != c.Param("n") {
		return g, claims.Place{}, errNoSuchPage
	}
	p, err := d.cfg.Claims.Place(c.Request().Context(), now(c), g.ID, n)
	if errors.Is(err, giveaway.ErrNoTurn) || errors.Is(err, giveaway.ErrState) {
		err = errNoSuchPage
	}
	return g, p, err
}

func (d *desk) getPlace(c echo.Context) error {
	g, p, err := d.place(c)
	if err != nil {
		return err
	}
	return d.showPlace(c, http.StatusOK, g, p, "", false)
}

func (d *desk) showPlace(c echo.Context, status int, g giveaway.Giveaway, p claims.Place, problem string, early bool) error {
	page := winnerPage{
		Frame: d.frame(g, "Place "+strconv.Itoa(p.N), now(c)), G: g, Path: placePath(g.ID, p.N),
		Place: placeWords(p.N, g.Opening.Winners), Ticket: ticketGroups(p.Ticket), Problem: problem,
		Shipping: p.ShippingWords(g.Terms),
	}
	link, err := d.cfg.Claims.LiveSponsorLink(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	page.say(p, link != "", now(c))
	if p.Turn != nil {
		if err := d.placeDetails(c, &page, p, early); err != nil {
			return err
		}
	}
	return d.render(c, status, "desk_winner", page)
}

// placeDetails add what only a place that had its turn has.
func (d *desk) placeDetails(c echo.Context, page *winnerPage, p claims.Place, early bool) error {
	ctx, id := c.Request().Context(), page.G.ID
	entry, err := d.cfg.Claims.Entries.EntryByTicket(ctx, id, p.Ticket)
	if err != nil {
		return err
	}
	page.Email, page.Said, page.Asked = entry.Entry.Typed, entry.Entry.Name, answersOf(page.G, entry.Entry)
	if p.Answer != nil && !p.Answer.Declined {
		shown := showAnswer(*p.Answer, page.G.Terms)
		shown.beside("Size", entry.Entry.Size.String())
		page.Answer = &shown
		page.Cautions = claims.Caution(page.G.Terms, now(c))
	}
	if p.Answer != nil {
		page.Came, page.Declined = cameHow(p, page.G.Terms.Event.Zone), p.Answer.Declined
	}
	if p.Passed != nil {
		return d.nextPlace(ctx, c, page)
	}
	page.CanNote = !p.Shipping.Sent() // then only the sponsor can change anything
	page.Skip, page.Skill = skipOf(p, early), skillOf(p, page.G.Terms, now(c))
	if p.Open() && p.Answer == nil {
		letter, err := d.cfg.Claims.Letter(uncut(c), now(c), id, p.N)
		if err != nil {
			return err
		}
		page.Letter = letterOf("letter", letter, page.G.Terms)
		page.Letter.Path, page.Letter.Over = page.Path+"/copied", timeOver(p, now(c))
		if p.Notice != nil {
			page.Letter.Copied = stamp("", p.Notice.At, page.G.Terms.Event.Zone)
		}
	}
	return d.openAsks(ctx, c, page, p)
}

// openAsks are the letters of the sponsor's questions that wait.
func (d *desk) openAsks(ctx context.Context, c echo.Context, page *winnerPage, p claims.Place) error {
	for _, a := range p.OpenAsks() {
		letter, err := d.cfg.Claims.AskLetter(ctx, now(c), page.G.ID, p.N, a.N)
		if err != nil {
			return err
		}
		n := strconv.Itoa(a.N)
		one := letterOf("ask-"+n, letter, page.G.Terms)
		one.Path = page.Path + "/ask/" + n + "/copied"
		if !a.Copied.IsZero() {
			one.Copied = stamp("", a.Copied, page.G.Terms.Event.Zone)
		}
		page.Asks = append(page.Asks, *one)
	}
	return nil
}

// nextPlace finds who has the turn in place of one that was skipped.
func (d *desk) nextPlace(ctx context.Context, c echo.Context, page *winnerPage) error {
	all, err := d.cfg.Claims.Places(ctx, now(c), page.G.ID)
	if err != nil {
		return err
	}
	for _, p := range all {
		if p.Open() {
			page.Next = step{"Go to the next in line", placePath(page.G.ID, p.N)}
			return nil
		}
	}
	return nil
}

var cameBy = map[string]string{
	claims.ByPage: "On the winner’s own page", claims.ByChat: "By chat, written down here", claims.ByPhone: "By phone, written down here",
}

// cameHow says how an answer came, and what a question of the sponsor has
// changed in it since.
func cameHow(p claims.Place, zone string) []Stamp {
	came := []Stamp{stamp(cameBy[p.Answer.By]+",", p.Answer.At, zone)}
	for _, a := range p.Asks {
		if a.Reply == nil || !a.Reply.Counts {
			continue
		}
		what := "The address anew, in answer to the sponsor’s question,"
		if a.Kind == claims.AskSize {
			what = "Another size, in answer to the sponsor’s question,"
		}
		came = append(came, stamp(what, a.Reply.At, zone))
	}
	return came
}

func letterOf(id string, l claims.Letter, t giveaway.Terms) *letterWords {
	w := &letterWords{ID: id, Subject: l.Subject, Text: l.Text}
	if !l.Until.IsZero() {
		w.Until, w.UTC = stamp("", l.Until, t.Event.Zone), stamp("", l.Until, "UTC")
	}
	return w
}

// skipOf is the form that skips a place, with the reason that is proposed. Who
// answered is not skipped for no answer: claims refuse it.
func skipOf(p claims.Place, early bool) *skipForm {
	reason := ""
	if len(p.Proposals) > 0 {
		reason = p.Proposals[0].Reason
	} else if p.Confirmed != nil && p.SizeGone() {
		reason = draw.Ineligible
	}
	s := &skipForm{Open: early || p.Answer == nil && p.Skill.Failed() || p.SizeGone(), Early: early, Given: p.Confirmed != nil, Sent: p.Confirmed != nil && p.Shipping.Sent()}
	for _, r := range []string{draw.NoReply, draw.Declined, draw.Ineligible, draw.Withdrawn} {
		if r == draw.NoReply && p.Answer != nil {
			continue
		}
		s.Reasons = append(s.Reasons, option{r, skipReason(p, r), r == reason})
	}
	return s
}

// Filled reports whether the button under question i is the filled one: that
// of the first that was not copied.
func (w winnerPage) Filled(i int) bool {
	for j, a := range w.Asks[:i+1] {
		if a.Copied.UTC == "" {
			return w.Press == "ask" && j == i
		}
	}
	return false
}
