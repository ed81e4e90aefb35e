package web

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A privatePage is what one entrant sees of their own entry.
type privatePage struct {
	Frame
	Know
	Head      string
	Lead      []string
	Next      []string // what comes next for a winner and those next in line
	Must      bool     // the ticket must be on the list
	Done      string   // what was just done
	Ticket    [4]string
	Wins      bool
	Check     string // the check page with the proof of entry; once the list is locked
	TicketURL string // what to show to anyone
	URL       string // of this page
	Address   string
	CountsAs  string   // the address as it counts, where that differs
	Why       []string // what makes it differ
	Rows      []pair
	Noted     Stamp
	Came      string // how it came, where not by the form
	CanFix    bool   // entries are open: withdraw and enter again
	CanChange bool   // the list is not locked
	Again     string
	Off       *offPart    // nil: it was not called off
	News      string      // what became of the drawn place, or ""
	Name      *field      // nil: no name can be given any more
	Size      *sizeFields // nil: no sizes, or no change any more
	Summary   summary
	ID        string
	CanKeep   bool        // the phone may remember the ticket: it is not withdrawn
	Figure    *lineFigure // nil: before the draw, or it is not on the list
}

// A pair is one thing that was entered.
type pair struct{ Name, Value string }

// mine finds the private page of the address.
func (s *Site) mine(c echo.Context) (giveaway.Giveaway, entries.Private, string, error) {
	g, err := s.giveaway(c)
	if errors.Is(err, giveaway.ErrNotFound) {
		err = entries.ErrNoSuchLink
	}
	if err != nil {
		return g, entries.Private{}, "", err
	}
	link := c.Param("secret")
	p, err := s.cfg.Intake.Mine(c.Request().Context(), g.ID, link)
	return g, p, link, err
}

// getPrivate shows the private page. It changes nothing.
func (s *Site) getPrivate(c echo.Context) error {
	g, mine, link, err := s.mine(c)
	if err != nil {
		return err
	}
	return s.showPrivate(c, http.StatusOK, g, mine, link, formState{Done: doneWords[c.QueryParam("done")]})
}

// doneWords say what was just done, by the word in the address.
var doneWords = map[string]string{
	"size":   "The new size is noted. Your ticket stayed the same; the proof of entry is a new one.",
	"same":   "That is the size that was noted already. Nothing has changed.",
	"name":   "The name is noted. The host looks at each before the show.",
	"noname": "No name will be said. If your ticket is drawn, the show says its last four characters.",
	"fixed":  "The new address is noted, with this new ticket. The old ticket is withdrawn.",
}

func (s *Site) showPrivate(c echo.Context, status int, g giveaway.Giveaway, mine entries.Private, link string, st formState) error {
	if !mine.Erased.IsZero() {
		return s.showErased(c, status, g, mine, link)
	}
	know, report, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	standing, err := entries.Look(s.public(g, now(c)), mine.Ticket)
	if err != nil {
		return err
	}
	p := privatePage{
		Frame: frame(g, now(c), "Your ticket"), Know: know, Done: st.Done, Ticket: ticketGroups(mine.Ticket), Wins: standing.Wins,
		TicketURL: s.link(ticketURL(g.ID, mine.Ticket)), URL: privateURL(g.ID, link), Address: mine.Entry.Typed,
		ID: g.ID, Rows: enteredRows(g, mine.Entry), Noted: stamp("", mine.Stamp.Entered, g.Terms.Event.Zone), Came: cameWords(mine.Origin, g.Terms.Channel),
	}
	if standing.Locked {
		p.Check = checkLink(g.ID, mine.Receipt)
	}
	if p.Off, err = s.off(c, g); err != nil {
		return err
	}
	place, err := s.drawnPlace(c, g, mine.Ticket)
	if err != nil {
		return err
	}
	p.News = news(g, place)
	if p.Figure, err = s.figureOf(c, mine.Ticket, standing, "yours"); err != nil {
		return err
	}
	rank, err := s.rankOf(g, mine.Ticket, standing, report)
	if err != nil {
		return err
	}
	p.Head, p.Lead = privateTicketWords(g, mine, standing, rank, report)
	if p.Next, err = s.chatWords(c, g, mine.Ticket, standing, report); err != nil {
		return err
	}
	p.Follow = s.follow(g, false)
	p.Next, p.Must = append(p.Next, nextWords(g, mine, standing, report, standsAt(g, mine, place, report != nil && report.Record != nil && lineLeft(report), now(c)))...), !mine.Withdrawn
	if p.CanKeep = !mine.Withdrawn; mine.Withdrawn {
		p.Calendar = "" // nothing is left to come to
	}
	if a, err := entries.Fold(mine.Entry.Typed); err == nil && a.Key != a.Typed {
		p.CountsAs, p.Why = a.Key, a.Steps
	}
	open := g.State == giveaway.StateOpen && !mine.Withdrawn
	p.CanChange, p.CanFix = open, open && g.Phase(now(c)) == giveaway.PhaseTaking
	if mine.Withdrawn && g.Phase(now(c)) == giveaway.PhaseTaking {
		p.Again = homeURL(g.ID)
	}
	if s.mayName(g, mine) {
		p.Name, p.Summary = nameField(mine, st), summarize(st)
	}
	if open && g.Terms.Sizes != nil {
		if !st.Sent || st.Named {
			st.Form = formFrom(mine.Entry)
		}
		p.Size, p.Summary = sizeOf(g.Terms, st), summarize(st)
	}
	return s.render(c, status, "private", p)
}

// enteredRows list what was entered besides the address.
func enteredRows(g giveaway.Giveaway, e entries.Entry) []pair {
	var rows []pair
	add := func(name, value string) {
		if value != "" {
			rows = append(rows, pair{name, value})
		}
	}
	size := e.Size.String()
	if sizes := g.Terms.Sizes; sizes != nil && size != "" && !sizes.Run.Has(e.Size) {
		size += " (" + g.Terms.Sponsor + " doesn’t make it; to be settled if you win)"
	}
	add("Size", size)
	add("Where you live", placeName(e.Live))
	ship := placeName(e.Ship)
	if e.Friend {
		ship += ", to a friend there, whom you name if you win"
	}
	add("Where to send it", ship)
	add("Name to be said", e.Name)
	for _, answer := range answersOf(g, e) {
		add(answer.Name, answer.Text)
	}
	return rows
}

// formFrom fills a form in from an entry.
func formFrom(e entries.Entry) entries.Form {
	tick := func(on bool) string {
		if on {
			return "yes"
		}
		return ""
	}
	f := entries.Form{
		Email: e.Typed, Live: e.Live.Country, State: e.Live.State, Friend: tick(e.Friend), Name: e.Name,
		Age: e.AgeRange, Rules: tick(true), Step: tick(e.Step), Answers: e.Answers,
	}
	if e.Ship != e.Live {
		f.Ship, f.ShipState = e.Ship.Country, e.Ship.State
	}
	if !e.Size.IsZero() {
		f.System, f.Size, f.Width = string(e.Size.System), e.Size.Size.Shown(), e.Size.Width
		f.SizeSeen = f.SizeTyped()
	}
	return f
}

// postSize changes the size. The ticket stays.
func (s *Site) postSize(c echo.Context) error {
	g, mine, link, err := s.mine(c)
	if err != nil {
		return err
	}
	f, err := decodeForm(c.Request())
	if err != nil {
		return err
	}
	changed, err := s.cfg.Intake.ChangeSize(uncut(c), now(c), g, link, f)
	var no *entries.Rejected
	if errors.As(err, &no) {
		return s.showPrivate(c, http.StatusUnprocessableEntity, g, mine, link, formState{Form: f, Verdict: no.Verdict, Sent: true})
	}
	if err != nil {
		return err
	}
	done := "size"
	if changed.Entry.Size == mine.Entry.Size {
		done = "same"
	}
	return c.Redirect(http.StatusSeeOther, privateURL(g.ID, link)+"?done="+done)
}

// getReceipt hands out the signed proof of entry.
func (s *Site) getReceipt(c echo.Context) error {
	return s.download(c, "receipt", func(p entries.Private) []byte { return p.Receipt })
}

// getEntryText hands out the entry's own text, with its secret part.
func (s *Site) getEntryText(c echo.Context) error {
	return s.download(c, "entry", func(p entries.Private) []byte { return p.EntryText })
}

func (s *Site) download(c echo.Context, stem string, pick func(entries.Private) []byte) error {
	_, mine, _, err := s.mine(c)
	if err != nil {
		return err
	}
	if pick(mine) == nil {
		return entries.ErrErased
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="`+fileOf(stem, mine.Ticket)+`"`)
	return c.Blob(http.StatusOK, "text/plain; charset=utf-8", pick(mine))
}

func fileOf(stem string, t draw.Ticket) string { return stem + "-" + t.String() + ".txt" }
