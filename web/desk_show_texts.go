package web

import (
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// postTexts are the texts to post before, at and after the show. What the
// public may not know yet is not in them.
func (d *desk) postTexts(c echo.Context, as giveaway.Giveaway) ([]postText, error) {
	g := as.AsPublic(now(c))
	report, err := d.check(c.Request().Context(), g)
	if err != nil {
		return nil, err
	}
	home, t := d.link(homeURL(g.ID)), g.Terms
	before := []string{t.Title, "The draw is live: " + timeWords(t.Event) + "."}
	if report.FreezeAt != nil {
		before = append(before, "The list of tickets is locked, with "+count(report.Freeze.Roll, "ticket", "tickets")+" on it. Its fingerprint: "+report.FreezeAt.String())
	}
	before = append(before, "Nobody has to be there to win. The draw in your calendar: "+d.link(calendarURL(g.ID)), home)
	all := []postText{
		{"before", "Before the show", "when, where, and the list’s fingerprint once it is locked", textOf(before)},
		{"at", "During the show", "for the chat", textOf([]string{
			"Follow the draw and check it in your own browser: " + d.link(checkURL(g.ID)), "Is it your ticket? Open the page that came with it. " + officialWords(t)})},
	}
	if g.State == giveaway.StateDrawn && report.Record != nil {
		after := append([]string{t.Title}, drawnLines(g, report, home)...)
		after = append(after, "Check it yourself: "+d.link(checkURL(g.ID)), officialWords(t))
		all = append(all, postText{"after", "After the show", "the result", textOf(after)})
	}
	return all, nil
}

func textOf(lines []string) string { return strings.Join(lines, "\n") + "\n" }
