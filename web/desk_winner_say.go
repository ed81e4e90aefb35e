package web

import (
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// say writes what is so, and which button comes next. Sponsor says whether the
// sponsor has a page.
func (w *winnerPage) say(p claims.Place, sponsor bool, at time.Time) {
	zone := w.G.Terms.Event.Zone
	switch {
	case p.Passed != nil:
		w.Head, w.Lead = "This place was skipped.", "The reason: "+skippedWhy(p)+". Everybody who checks the draw sees "+publishedAs(p)+"."
		w.When = stamp("Since", p.Passed.At, zone)
	case p.Turn == nil:
		w.Head, w.Lead = "This ticket is next in line.", "It has its turn only if places before it are skipped. There is nothing to do."
	case p.Confirmed != nil:
		w.sayConfirmed(p, sponsor)
	case w.saySkill(p, at):
	case p.Answer != nil && p.Answer.Declined:
		w.Head, w.Lead, w.Press = "The winner would rather not have it.", "Skip this place, and the next in line, if there is one, has its turn.", "skip"
	case p.Answer != nil:
		w.Head, w.Lead, w.Press = "The answer is here.", "Read it, then confirm. Everybody sees then which ticket gets the prize, and nothing of the answer.", "confirm"
	case len(p.Proposals) > 0:
		w.Head, w.Lead, w.Press = "No answer came in time.", "If you heard from the winner another way, write it down. If not, skip this place; the next in line, if there is one, has its turn then.", "skip"
		w.When = stamp("The time to answer ended on", p.Notice.Until, zone)
	case p.Notice != nil:
		w.Head, w.Lead = "The letter is out.", "Nothing to do until an answer comes."
		w.When = stamp("There is time to answer until", p.Notice.Until, zone)
	case p.Lapsed != nil:
		w.Head, w.Lead, w.Press = "The letter to the winner is ready.", "It has to be sent again: you made a new link, and the one in the letter that was sent opens nothing any more. Copy the letter anew and send it to the address below. Once it is sent, press the button: the time to answer runs from then.", "copied"
	default:
		w.Head, w.Lead, w.Press = "The letter to the winner is ready.", "Copy it and send it to the address below. Once it is sent, press the button: the time to answer runs from then.", "copied"
	}
}

// sayConfirmed says what a confirmed prize waits for.
func (w *winnerPage) sayConfirmed(p claims.Place, sponsor bool) {
	t := w.G.Terms
	agree := "Agree with both on something else: " + t.Sponsor + " can offer sizes on its page, and what you hear from the winner you write down here. If nothing can be sent, skip this place; the prize goes to the next in line then, if there is one."
	switch wait := p.Waits(); {
	case wait == claims.WaitWinner && toCopy(p):
		w.Head, w.Lead, w.Press = t.Sponsor+" has a question for the winner.", "Copy the letter and send it to the address below it. Once it is sent, press the button. The parcel waits for the answer.", "ask"
	case wait == claims.WaitWinner:
		w.Head, w.Lead = "The letter with the sponsor’s question is out.", "Nothing to do until the winner answers."
	case wait == claims.WaitOffer:
		w.Head, w.Lead = t.Sponsor+" can’t get this size, and has no other to offer.", agree
		w.Next = step{"Write down what was agreed", w.Path + "/answer"}
	case wait == claims.WaitSuits:
		w.Head, w.Lead = "Nothing that "+t.Sponsor+" offered suits the winner.", agree
		w.Next = step{"Write down what was agreed", w.Path + "/answer"}
	default:
		w.Head, w.When = "This ticket gets the prize.", stamp("Confirmed on", p.Confirmed.At, t.Event.Zone)
		if !sponsor && !p.Shipping.Sent() {
			w.Lead = t.Sponsor + " needs a page that shows where to send it."
			w.Next = step{"Open the sponsor’s page", "/desk/g/" + w.G.ID + "/sponsor"}
		}
	}
}

// toCopy reports whether the letter of an open question was not copied yet.
func toCopy(p claims.Place) bool {
	for _, a := range p.OpenAsks() {
		if a.Copied.IsZero() {
			return true
		}
	}
	return false
}

// overdue says in the day-book which drawn places wait for the creator.
func (d *desk) overdue(c echo.Context, p *dayPage) error {
	if d.cfg.Claims == nil || p.G.State != giveaway.StateDrawn {
		return nil
	}
	ctx, id := c.Request().Context(), p.G.ID
	all, err := d.cfg.Claims.Places(ctx, now(c), id)
	if err != nil {
		return err
	}
	p.placed(all, p.log, confirmedTimes(d.cfg.Host.Store.Publication(id), all))
	if !p.G.Erased.IsZero() {
		p.Head, p.Lead = "This giveaway is finished.", "Personal data was deleted. The result stands for everybody to see and to check."
		return nil
	}
	link, err := d.cfg.Claims.LiveSponsorLink(ctx, id)
	if err != nil {
		return err
	}
	p.sayTurn(turnNow(p.G, all, link != "", now(c)), now(c))
	return nil
}

// waitsForYou is what the creator can do now for a place; zero: nothing.
func waitsForYou(p claims.Place, id string, sponsor bool) step {
	path := placePath(id, p.N)
	switch wait := p.Waits(); {
	case p.Open() && len(p.Proposals) > 0:
		return step{"Decide about this place", path}
	case p.Open() && p.Answer != nil:
		return step{"Look at the answer", path}
	case p.Open() && p.Notice == nil:
		return step{"Write to the winner", path}
	case wait == claims.WaitWinner && toCopy(p):
		return step{"Go to the letter with the sponsor’s question", path}
	case wait == claims.WaitOffer, wait == claims.WaitSuits:
		return step{"Go to this place", path}
	case p.Confirmed != nil && !sponsor && !p.Shipping.Sent():
		return step{"Open the sponsor’s page", "/desk/g/" + id + "/sponsor"}
	}
	return step{}
}

// standWords say in a few words how a drawn place stands, for the list of
// places.
func standWords(p claims.Place) string {
	switch {
	case p.Passed != nil:
		return "skipped: " + skippedWhy(p)
	case p.Confirmed != nil:
		return "gets the prize" + parcelWords(p)
	case p.Turn == nil:
		return ""
	case p.Answer == nil && p.Skill.Failed():
		return skillWords(p.Skill)
	case len(p.Proposals) > 0 && p.Proposals[0].Reason == draw.NoReply:
		return "no answer came in time"
	case p.Answer != nil && p.Answer.Declined:
		return "the winner would rather not have the prize"
	case p.Answer != nil:
		return "the answer is here"
	case p.Notice != nil:
		return "the letter is out"
	case p.Lapsed != nil:
		return "the letter has to be sent again"
	}
	return "the letter is ready"
}

func parcelWords(p claims.Place) string {
	switch p.Waits() {
	case claims.WaitWinner:
		return "; the sponsor has a question for the winner"
	case claims.WaitOffer, claims.WaitSuits:
		return "; the size can’t be had"
	}
	switch last, _ := p.Shipping.Latest(); last.Kind {
	case claims.MarkDelivered:
		return "; delivered"
	case claims.MarkShipped:
		return "; shipped"
	}
	return ""
}
