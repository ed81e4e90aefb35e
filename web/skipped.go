package web

import (
	"github.com/labstack/echo/v4"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
)

// What the published reason "ineligible" stands for, on pages that can know:
// the rules leave the winner out, or the sponsor can't supply a size.
const (
	notAllowedWords = "the rules don’t allow it"
	sizeGoneWords   = "the sponsor can’t supply the size, as the rules have it"
)

// skippedWhy says why a place was skipped, to those who may know more than is
// published.
func skippedWhy(p claims.Place) string {
	switch {
	case p.Passed.Reason != draw.Ineligible || !p.Erased.IsZero():
		return wordOr(passWords, p.Passed.Reason)
	case p.SizeGone():
		return sizeGoneWords
	}
	return notAllowedWords
}

// skippedPage tells whose place was skipped why and since when. Who declined
// needs no comfort.
func (s *Site) skippedPage(c echo.Context, g giveaway.Giveaway, stand giveaway.Stand) overPage {
	page := overPage{
		Frame: frame(g, now(c), "Skipped"), Head: "This prize is not yours any more.", Back: homeURL(g.ID),
		At: stamp("This place was skipped on", stand.Passed.At, g.Terms.Event.Zone),
	}
	lost := "Nothing that you send now can bring the prize back; if you think that this is a mistake, write to " + hostOr(g.Terms) + "."
	if stand.Passed.Reason == draw.Declined {
		page.Head, page.Lead = "The prize was declined.", []string{"It goes to the ticket that is next in line, if there is one. " + lost}
		return page
	}
	why := wordOr(passWords, stand.Passed.Reason) // all that is published, where no more can be read
	if p, err := s.cfg.Claims.Place(c.Request().Context(), now(c), g.ID, stand.N); err == nil && p.Passed != nil {
		why = skippedWhy(p)
	}
	page.Lead = []string{"The reason: " + why + ".", "We are sorry. " + lost}
	return page
}

// skipReason is a reason as the desk offers it. Where the size can't be had it
// takes the place of the other that is published under the same word: pages
// could not tell the two apart.
func skipReason(p claims.Place, reason string) string {
	switch {
	case reason != draw.Ineligible:
		return passWords[reason]
	case p.Confirmed != nil && p.SizeGone():
		return "The size can’t be had"
	}
	return notAllowedWords
}

// publishedAs is what everybody sees of the reason.
func publishedAs(p claims.Place) string {
	if why := skippedWhy(p); why != wordOr(passWords, p.Passed.Reason) {
		return "“" + wordOr(passWords, p.Passed.Reason) + "”"
	}
	return "it"
}

// noneGiven reports whether no prize can be given any more. What can't be read
// is no reason to say so.
func (s *Site) noneGiven(c echo.Context, g giveaway.Giveaway) bool {
	if g.State != giveaway.StateDrawn {
		return false
	}
	stand, err := s.cfg.Host.Outcome(c.Request().Context(), g.ID)
	return err == nil && stand.Ungiven() == stand.Winners && len(stand.Places) > 0
}
