package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

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
	in.GET("/g/:id/place/:n", d.getPlace)
	in.POST("/g/:id/place/:n/copied", d.postCopied)
	in.POST("/g/:id/place/:n/link", d.postNewLink)
	in.POST("/g/:id/place/:n/confirm", d.postConfirm)
	in.POST("/g/:id/place/:n/skip", d.postSkip, body(maxEntry, typeForm))
	in.GET("/g/:id/place/:n/answer", d.getAnswer)
	in.POST("/g/:id/place/:n/answer", d.postAnswer, body(maxEntry, typeForm))
	in.GET("/g/:id/sponsor", d.getSponsorLink)
	in.POST("/g/:id/sponsor", d.postSponsorLink)
	in.POST("/g/:id/sponsor/close", d.postSponsorClose)
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
	Letter   *letterWords
	Press    string // which button is filled: copied, confirm, skip; "" none
	Answer   *shownAnswer
	Came     string // how the answer came, and when
	CameAt   Stamp
	Declined bool
	CanNote  bool // an answer by chat or phone may be written down
	Skip     *skipForm
	Asks     []letterWords
	Shipping string
	Next     string // page of the next place that has its turn
	Cautions []claims.Reminder
}

// letterWords are a letter ready to copy.
type letterWords struct {
	ID            string
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
	page.say(p)
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
	page.Email, page.Said = entry.Entry.Typed, entry.Entry.Name
	if p.Answer != nil && !p.Answer.Declined {
		shown := showAnswer(*p.Answer, page.G.Terms)
		page.Answer = &shown
		page.Cautions = claims.Caution(page.G.Terms, now(c))
	}
	if p.Answer != nil {
		page.Came, page.CameAt, page.Declined = cameBy[p.Answer.By], stamp("", p.Answer.At, page.G.Terms.Event.Zone), p.Answer.Declined
	}
	if p.Passed != nil {
		return d.nextPlace(ctx, c, page)
	}
	page.CanNote = true
	page.Skip = skipOf(p, early)
	if p.Open() && p.Answer == nil {
		letter, err := d.cfg.Claims.Letter(ctx, now(c), id, p.N)
		if err != nil {
			return err
		}
		page.Letter = letterOf("letter", letter, page.G.Terms, p.Notice)
		page.Letter.Over = len(p.Proposals) > 0
	}
	return d.openAsks(ctx, c, page, p)
}

// openAsks are the letters of the sponsor's questions that wait.
func (d *desk) openAsks(ctx context.Context, c echo.Context, page *winnerPage, p claims.Place) error {
	for _, a := range p.Asks {
		if !a.Open() {
			continue
		}
		letter, err := d.cfg.Claims.AskLetter(ctx, now(c), page.G.ID, p.N, a.N)
		if err != nil {
			return err
		}
		page.Asks = append(page.Asks, *letterOf("ask-"+strconv.Itoa(a.N), letter, page.G.Terms, nil))
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
			page.Next = placePath(page.G.ID, p.N)
			return nil
		}
	}
	return nil
}

// overdue says in the day-book which drawn places wait for the creator.
func (d *desk) overdue(c echo.Context, p *dayPage) error {
	if d.cfg.Claims == nil || p.G.State != giveaway.StateDrawn {
		return nil
	}
	all, err := d.cfg.Claims.Places(c.Request().Context(), now(c), p.G.ID)
	if err != nil {
		return err
	}
	for _, one := range all {
		what := standWords(one)
		switch {
		case one.Open() && (len(one.Proposals) > 0 || one.Answer != nil || one.Notice == nil):
			p.Lead = placeWords(one.N, p.G.Opening.Winners) + ": " + what + "."
			p.Next = step{"Go to this place", placePath(p.G.ID, one.N)}
			p.More = append([]step{{"See the result", p.path("result")}}, p.More...)
			return nil
		case one.Confirmed != nil:
			p.Lead = placeWords(one.N, p.G.Opening.Winners) + ": " + one.ShippingWords(p.G.Terms)
		}
	}
	return nil
}

var cameBy = map[string]string{
	claims.ByPage: "On the winner’s own page", claims.ByChat: "By chat, written down here", claims.ByPhone: "By phone, written down here",
}

func letterOf(id string, l claims.Letter, t giveaway.Terms, n *claims.Notice) *letterWords {
	w := &letterWords{ID: id, Subject: l.Subject, Text: l.Text}
	if !l.Until.IsZero() {
		w.Until, w.UTC = stamp("", l.Until, t.Event.Zone), stamp("", l.Until, "UTC")
	}
	if n != nil {
		w.Copied = stamp("", n.At, t.Event.Zone)
	}
	return w
}

// skipOf is the form that skips a place, with the reason that is proposed.
func skipOf(p claims.Place, early bool) *skipForm {
	reason := ""
	if len(p.Proposals) > 0 {
		reason = p.Proposals[0].Reason
	}
	s := &skipForm{Early: early, Given: p.Confirmed != nil}
	for _, r := range []string{draw.NoReply, draw.Declined, draw.Ineligible, draw.Withdrawn} {
		s.Reasons = append(s.Reasons, option{r, passWords[r], r == reason})
	}
	return s
}

// say writes what is so, and which button comes next.
func (w *winnerPage) say(p claims.Place) {
	zone := w.G.Terms.Event.Zone
	switch {
	case p.Passed != nil:
		w.Head, w.Lead = "This place was skipped.", "The reason: "+wordOr(passWords, p.Passed.Reason)+". Everybody who checks the draw sees it."
		w.When = stamp("Since", p.Passed.At, zone)
	case p.Turn == nil:
		w.Head, w.Lead = "This ticket is next in line.", "It has its turn only if places before it are skipped. There is nothing to do."
	case p.Confirmed != nil:
		w.Head, w.When = "This ticket gets the prize.", stamp("Confirmed on", p.Confirmed.At, zone)
	case p.Answer != nil && p.Answer.Declined:
		w.Head, w.Lead, w.Press = "The winner would rather not have it.", "Skip this place, and the next one in line has its turn.", "skip"
	case p.Answer != nil:
		w.Head, w.Lead, w.Press = "The answer is here.", "Read it, then confirm. Everybody sees then which ticket gets the prize, and nothing of the answer.", "confirm"
	case len(p.Proposals) > 0:
		w.Head, w.Lead, w.Press = "No answer came in time.", "If you heard from the winner another way, write it down. If not, skip this place; the next one in line has its turn then.", "skip"
		w.When = stamp("The time to answer ended on", p.Notice.Until, zone)
	case p.Notice != nil:
		w.Head, w.Lead = "The letter is out.", "Nothing to do until an answer comes."
		w.When = stamp("There is time to answer until", p.Notice.Until, zone)
	default:
		w.Head, w.Lead, w.Press = "The letter to the winner is ready.", "Copy it, send it to the address below, then press the button. The time to answer runs from that press.", "copied"
	}
}
