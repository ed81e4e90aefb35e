package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// A spreadPage is what is told to the world once the terms are posted.
type spreadPage struct {
	Frame
	G      giveaway.Giveaway
	Text   string // to paste under the video
	Public string // the entry link
	Say    string // the sentence to be said aloud, or ""
}

func (d *desk) getSpread(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateDraft {
		return toDay(c, g)
	}
	p := spreadPage{Frame: d.frame(g, "Tell the world", now(c)), G: g, Public: d.link(homeURL(g.ID)), Say: g.Terms.Disclosure}
	p.Text = spreadText(g, p.Public, d.link(fairURL(g.ID)), d.vkey(c))
	return d.render(c, http.StatusOK, "desk_spread", p)
}

// spreadText is the block to paste under the video: where to enter, what is
// fixed, how to check it, and how to tell a real message from a false one.
func spreadText(g giveaway.Giveaway, entry, fair, key string) string {
	t := g.Terms
	lines := []string{
		t.Title, "Enter here, free: " + entry, "",
	}
	if t.Disclosure != "" {
		lines = append(lines, t.Disclosure, "")
	}
	lines = append(lines,
		"Fixed before the first entry:",
		"– entries close "+timeWords(t.Closes),
		"– the draw is live, "+timeWords(t.Event),
		"– "+winnersWords(t),
		"The two times can only be moved to a later one, in public, and the old ones stay visible.", "",
		"Anybody can check the draw: "+fair,
		"The key that everything is signed with: "+key,
		"Fingerprint of the posted terms: "+g.OpeningHash.String(), "",
		officialWords(t),
	)
	return strings.Join(lines, "\n") + "\n"
}

// winnersWords: "1 winner, with 3 next in line".
func winnersWords(t giveaway.Terms) string {
	words := count(int64(t.Winners), "winner", "winners")
	if t.Alternates > 0 {
		words += ", with " + number(int64(t.Alternates)) + " next in line"
	}
	return words
}

// officialWords tell viewers how to know a false message.
func officialWords(t giveaway.Terms) string {
	words := "A real message from me about this giveaway never asks for money, a password or a card number."
	if t.Host != "" {
		words = "A real message from me about this giveaway comes from " + t.Host + " and never asks for money, a password or a card number."
	}
	return words + " Nobody has to pay to win, and there is no second sign-up."
}
