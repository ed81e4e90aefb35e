package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// A sponsorPage is what the sponsor sees: confirmed winners and nobody else.
type sponsorPage struct {
	Frame
	Terms    giveaway.Terms
	Head     string
	Lead     string
	Fault    bool // the draw's check finds a fault, or a fingerprint does not fit
	Summary  summary
	Stale    string // which place a press was about that has changed since; "" none
	Parcels  []parcel
	Back     []backPlace // confirmed once, skipped since
	Cautions []claims.Reminder
	Fair     string
	Verdict  string
}

// A parcel is one winner on the sponsor's page.
type parcel struct {
	ID       string // in the page and its address: the place's number
	Place    string
	Ticket   [4]string
	Entered  Stamp
	Receipt  string
	Print    string
	Fits     bool
	Item     string
	System   string // men's or women's
	Number   string
	Width    string
	Convert  string
	Answer   shownAnswer
	Phone    string
	Words    string
	Asked    []askedWords // the sponsor's open questions
	Wait     string       // why nothing may be sent yet; "" it may
	Action   string
	Offers   []group // sizes near the one asked for
	None     bool    // ticked: nothing else can be sent
	OfferBad field
	Question field
	Cant     field
	Carrier  field
	Parcel   field
	Next     string // the mark that comes next as a rule; "" none
	Filled   bool   // its button is the page's filled one
	SizeOpen bool   // the winner was asked for another size
	Done     bool   // delivered
	Stocked  bool
	Saw      string  // what the page shows of it; each press brings it back
	Changes  []Stamp // what was changed since it was confirmed
	Stale    bool    // a press was refused, since this has changed
}

// askedWords are a question of the sponsor as it stands on its own page.
type askedWords struct {
	At     Stamp
	Words  string
	Offers string // the sizes on offer; "" for a question about the address
}

// A backPlace is a place whose prize came back. Nothing else of its ticket's
// holder is shown any more.
type backPlace struct {
	Place  string
	Ticket [4]string
	Since  Stamp
}

// markedCookie goes with the answer to a mark, so that the page that the
// browser loads then is not noted as a visit of its own. It counts for the
// sponsor's page that it was made for and for markedTime: nobody who was not
// answered so looks without being noted.
const (
	markedCookie = "evenhand-marked"
	markedTime   = 30 * time.Second
)

// getSponsor shows the page, and notes the visit unless a mark led here.
func (s *Site) getSponsor(c echo.Context) error {
	look, ctx := s.cfg.Claims.Sponsor, uncut(c)
	if cookie, err := c.Cookie(markedCookie); err == nil {
		if s.markedNow(c, cookie.Value) {
			look = s.cfg.Claims.Look
		}
		s.marked(c, -1)
	}
	v, err := look(ctx, now(c), c.Param("secret"))
	if err != nil {
		return err
	}
	return s.showSponsor(c, http.StatusOK, v, markState{})
}

func (s *Site) showSponsor(c echo.Context, status int, v claims.SponsorView, st markState) error {
	g := v.Giveaway.AsPublic(now(c))
	c.Set(keyDraw, g.ID)
	if v.Giveaway.Held(now(c)) {
		v.Winners, v.Back, v.Cautions = nil, nil, nil
	}
	p := sponsorPage{Frame: frame(g, now(c), "Who gets the prize"), Terms: g.Terms, Cautions: v.Cautions, Fair: fairURL(g.ID)}
	p.Head, p.Lead = "There is nobody to send it to yet.", "As soon as "+g.Terms.Channel+" has confirmed a winner, name and address stand here. Until then this page shows nobody."
	for _, b := range v.Back {
		p.Back = append(p.Back, backPlace{placeWords(b.N, g.Opening.Winners), ticketGroups(b.Ticket), stamp("", b.Passed.At, g.Terms.Event.Zone)})
	}
	if len(v.Winners) == 0 {
		if s.noneGiven(c, g) {
			p.Head, p.Lead = wholeUngiven(g.Opening.Winners), "Every place that was drawn was skipped, and nobody is next in line any more. There is nothing to send."
		}
		return s.render(c, status, "sponsor", p)
	}
	report, err := s.check(c.Request().Context(), g)
	if err != nil {
		return err
	}
	p.Verdict = deskVerdict(report)
	p.Fault = report.Status != draw.StatusValid
	filled := false
	for _, w := range v.Winners {
		one := parcelOf(w, g, claims.SponsorPath(c.Param("secret")), st)
		one.Filled = one.Next != "" && !filled // one button of the page is
		filled = filled || one.Filled
		p.Fault = p.Fault || !one.Fits
		p.Parcels = append(p.Parcels, one)
		if one.Stale {
			p.Stale = one.ID
		}
	}
	p.Head, p.Lead = "This is the person whose ticket was drawn ✓", "Checked just now against what is published for everybody."
	if len(p.Parcels) > 1 {
		p.Head = "These are the people whose tickets were drawn ✓"
	}
	if p.Fault {
		p.Head, p.Lead = "Don’t send anything yet.", "The check of this draw finds something wrong, or could not be finished. Ask "+hostOr(g.Terms)+" first."
	}
	p.Summary = markSummary(st)
	return s.render(c, status, "sponsor", p)
}

// near is how many sizes the sponsor can choose offers from.
const near = 8

func parcelOf(w claims.Parcel, g giveaway.Giveaway, path string, st markState) parcel {
	n := strconv.Itoa(w.Stand.N)
	p := parcel{
		Asked: askedOf(w.Asks, g.Terms), Stocked: w.Stocked, Wait: holdWords[w.Waits], None: st.place == w.Stand.N && st.mark.None,
		ID: n, Place: placeWords(w.Stand.N, g.Opening.Winners), Ticket: ticketGroups(w.Stand.Ticket),
		Entered: stamp("", w.Entered, g.Terms.Event.Zone), Receipt: string(w.Receipt), Print: w.Commitment.String(), Fits: w.Fits,
		Item: g.Terms.Prize, Answer: showAnswer(w.Answer, g.Terms), Phone: w.Phone, Words: w.Words, Action: path + "/" + n,
	}
	p.Answer.Rows, p.Saw, p.Changes = nil, w.Saw.String(), changesOf(w, g.Terms.Event.Zone)
	p.Stale = st.changed && st.place == w.Stand.N
	if !w.Answer.Size.IsZero() {
		p.System, p.Number, p.Width = capitalized(w.Answer.Size.System.Shown()), w.Answer.Size.Size.Shown(), w.Answer.Size.Width
		p.Convert = w.Conversion
	}
	p.next(w)
	for _, a := range p.Asked {
		p.SizeOpen = p.SizeOpen || a.Offers != ""
	}
	if st.place != w.Stand.N {
		st = markState{}
	}
	text := func(name, label, value string) field {
		f := field{Name: name + "-" + n, Label: label, Value: value}
		for _, one := range st.problems {
			if markField(st, one.Field) == f.Name {
				f.Faults = append(f.Faults, one)
			}
		}
		return f
	}
	words := map[string]string{st.mark.Kind: st.mark.Words}
	p.Question = text("words", "What do you want to know about the address?", words[claims.MarkAskAddress])
	p.Cant = text("cant", "A word to the winner, if you like", words[claims.MarkCantHave])
	p.OfferBad = text("offers", "Sizes", "")
	p.Carrier = text("carrier", "Carrier", st.mark.Carrier)
	p.Parcel = text("number", "The parcel’s number", st.mark.Number)
	if g.Terms.Sizes != nil {
		p.Offers = offersNear(w.Answer.Size, g.Terms, st.mark.Offers)
	}
	return p
}

// changesOf say what was changed since the sponsor could see it.
func changesOf(w claims.Parcel, zone string) []Stamp {
	var all []Stamp
	for _, c := range w.Changes {
		var what []string
		for _, one := range []struct {
			is   bool
			name string
		}{{c.Size, "the size"}, {c.Address, "the address"}, {c.Name, "the name"}, {c.Phone, "the phone number"}} {
			if one.is {
				what = append(what, one.name)
			}
		}
		words := capitalized(strings.Join(what, " and "))
		if !c.Was.IsZero() {
			words += " (the size was " + c.Was.String() + ")"
		}
		all = append(all, stamp(words+":", c.At, zone))
	}
	return all
}

// next says which mark comes next as a rule: none while something is open.
func (p *parcel) next(w claims.Parcel) {
	last, _ := w.Shipping.Latest()
	switch {
	case last.Kind == claims.MarkDelivered:
		p.Done = true
	case last.Kind == claims.MarkShipped:
		p.Next = claims.MarkDelivered
	case w.Waits == claims.WaitNone:
		p.Next = claims.MarkShipped
	}
}

// holdWords say why nothing may be sent yet, on the page and on its print.
var holdWords = map[claims.Wait]string{
	claims.WaitWinner: "Wait: a question to the winner is open.",
	claims.WaitOffer:  "Wait: this size can’t be had, and nothing else is agreed.",
	claims.WaitSuits:  "Wait: this size can’t be had, and nothing on offer suits the winner.",
}

// askedOf are the open questions.
func askedOf(asks []claims.Ask, t giveaway.Terms) []askedWords {
	var open []askedWords
	for _, a := range asks {
		if !a.Open() {
			continue
		}
		one := askedWords{At: stamp("", a.At, t.Event.Zone), Words: a.Words}
		var sizes []string
		for _, s := range a.Offers {
			sizes = append(sizes, s.String())
		}
		one.Offers = strings.Join(sizes, ", ")
		open = append(open, one)
	}
	return open
}

// offersNear are the sizes next to one, without itself.
func offersNear(want sizing.Size, t giveaway.Terms, chosen []sizing.Size) []group {
	var list []option
	for _, s := range t.Sizes.Run.Nearest(want, t.Sizes.Scale, near+1) {
		if s == want {
			continue
		}
		on := false
		for _, c := range chosen {
			on = on || c == s
		}
		list = append(list, option{pickOf(s), s.String(), on})
	}
	return []group{{Options: list}}
}
