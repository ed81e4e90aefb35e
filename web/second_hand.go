package web

import (
	"encoding/hex"
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A handPage is where a second holder hands their secret number in.
type handPage struct {
	Frame
	Head    string
	Lead    []string
	When    Stamp  // the time that matters; zero: none
	Who     string // the holder, as pages name them
	Print   string // the locked list's fingerprint; "" before the lock
	File    string // where the signed fingerprint is kept from
	Promise string // the number's own fingerprint, in the posted terms
	Asks    bool   // the form is shown
	Action  string // of the form
	Typed   string
	Problem string
	Value   string // the number, once it is in
	At      Stamp
	Back    string
}

func (s *Site) getHandSecond(c echo.Context) error {
	g, role, err := s.second(c)
	if err != nil {
		return err
	}
	return s.showHand(c, http.StatusOK, g, role, "", "")
}

// second finds the giveaway and the part of the address. Nobody but a second
// holder has anything to hand in.
func (s *Site) second(c echo.Context) (g giveaway.Giveaway, role string, err error) {
	if g, err = s.giveaway(c); err != nil {
		return g, "", err
	}
	role = c.Param("role")
	if _, ok := promised(g, role); !ok {
		return g, "", errNoSuchPage
	}
	return g, role, nil
}

// promised is the fingerprint that a second holder's part has in the posted
// terms.
func promised(g giveaway.Giveaway, role string) (draw.Digest, bool) {
	for _, seal := range g.Opening.Seals {
		if seal.Role == role && role != giveaway.HostRole {
			return seal.Hash, true
		}
	}
	return draw.Digest{}, false
}

// showHand shows the page as the giveaway stands: not yet, the form, in, or
// too late.
func (s *Site) showHand(c echo.Context, status int, g giveaway.Giveaway, role, typed, problem string) error {
	_, report, err := s.know(c.Request().Context(), g)
	if err != nil {
		return err
	}
	handed, err := s.cfg.Host.Handed(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	hash, _ := promised(g, role)
	late := problem == wordLate
	if late {
		problem = ""
	}
	p := handPage{Frame: frame(g, now(c), "A second secret number"), Who: whoHolds(g.Terms, role), Promise: hash.String(),
		Action: secondURL(g.ID, role), Typed: typed, Problem: problem, Back: homeURL(g.ID)}
	if report != nil && report.FreezeAt != nil {
		p.Print, p.File = report.FreezeAt.String(), fairURL(g.ID)+draw.FreezeFile+"?download"
	}
	for _, h := range handed {
		if h.Role == role {
			p.Value, p.At = hex.EncodeToString(h.Secret[:]), stamp("Handed in on", h.At, g.Terms.Event.Zone)
		}
	}
	if p.say(g, withheld(report, role)); late && p.Asks {
		p.late()
		p.Asks, p.When = false, Stamp{}
	}
	return s.render(c, status, "second", p)
}

// say writes heading and sentences. Missed: the result was made without it.
func (p *handPage) say(g giveaway.Giveaway, missed bool) {
	zone := g.Terms.Event.Zone
	switch {
	case g.State == giveaway.StateOpen || g.State == giveaway.StateFreezing:
		p.Head = "Not yet: it opens after the list is locked."
		p.Lead = []string{"You’ll find the list’s fingerprint here then. Keep your number to yourself until that: whoever knows it before could choose a list that suits them."}
		p.When = stamp("The list locks, at the latest, on", g.LockAt(), zone)
	case g.State == giveaway.StateCancelled:
		p.Head = "This giveaway was called off."
		p.Lead = []string{"Nothing has to be handed in any more, and nothing is drawn."}
	case p.Value != "" && missed:
		p.Head = "Your number came too late for the draw."
		p.Lead = []string{"It stands on the giveaway’s page with its time, and changes nothing."}
	case p.Value != "":
		p.Head = "Your number is in."
		p.Lead = []string{"It stands on the giveaway’s page now, with its time. There is nothing left to do; whoever wants can check that it goes into the draw."}
	case g.State == giveaway.StateDrawn:
		p.late()
	default:
		p.Asks = true
		p.Head = "Hand in your secret number."
		p.Lead = []string{"First save the fingerprint of the list, below: then you can show later that the list stood before anybody knew your number. Then press the button. Your number stands on the giveaway’s page at once, for everybody to see."}
		p.When = stamp("The draw can be made from", g.DrawAt(), zone)
	}
}

// late tells whoever has the right number that the draw was made without it.
func (p *handPage) late() {
	p.Head = "Too late; nothing changes."
	p.Lead = []string{"The draw was made without your number, and its result says that it did not arrive.",
		"You can still show the file that you kept on your own site, so that everybody sees that you had the number."}
}

// What a second holder is told of what was typed.
const (
	wordNoNumber    = "This is not such a number. It has 64 characters, 0 to 9 and a to f; paste them all, or the whole text of the file that you kept."
	wordOtherNumber = "This is not the number that was locked in for this part. Look for the file of this giveaway; nothing was changed."
	wordUseless     = "This is the file that was locked in, but it was made for another giveaway, host or part, so it can’t be used here. Tell the host; the draw holds without it, with one thing to know."
	wordLate        = "It came too late; nothing changes." // in the place of the form
	wordOtherText   = "The file is of another giveaway or another part. Look for the one of this giveaway; nothing was changed."
)

func (s *Site) postHandSecond(c echo.Context) error {
	g, role, err := s.second(c)
	if err != nil {
		return err
	}
	typed := c.FormValue("secret")
	if g.State != giveaway.StateFrozen {
		return s.showHand(c, http.StatusConflict, g, role, "", "")
	}
	secret, problem := readSecret(typed, g, role)
	if problem != "" {
		return s.showHand(c, http.StatusUnprocessableEntity, g, role, typed, problem)
	}
	_, err = s.cfg.Host.HandIn(uncut(c), now(c), g.ID, role, secret)
	switch {
	case errors.Is(err, giveaway.ErrWrongSecret):
		return s.showHand(c, http.StatusUnprocessableEntity, g, role, typed, wordOtherNumber)
	case errors.Is(err, giveaway.ErrState): // drawn or called off meanwhile
		return s.cameLate(c, role)
	case err != nil:
		return err
	}
	return c.Redirect(http.StatusSeeOther, secondURL(g.ID, role))
}

// cameLate answers the right number that came after the draw. While the result
// is held back one that was in before, which everybody can read, gets what it
// got before the draw.
func (s *Site) cameLate(c echo.Context, role string) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	handed, err := s.cfg.Host.Handed(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	in := slices.ContainsFunc(handed, func(h giveaway.HandedIn) bool { return h.Role == role })
	if in && g.State == giveaway.StateFrozen {
		return c.Redirect(http.StatusSeeOther, secondURL(g.ID, role))
	}
	return s.showHand(c, http.StatusConflict, g, role, "", wordLate)
}

// readSecret reads what was pasted: the number, the file's whole text, or the
// link. A sentence says what is wrong with it.
func readSecret(typed string, g giveaway.Giveaway, role string) (secret [32]byte, problem string) {
	text := strings.TrimSpace(strings.ReplaceAll(typed, "\r\n", "\n"))
	if strings.HasPrefix(text, "evenhand/") {
		seal, err := draw.ParseSeal("pasted text", []byte(text+"\n"))
		if err != nil {
			return secret, wordNoNumber
		}
		signer, _, _ := strings.Cut(g.Opening.Signer, "+") // a verifier key begins with the signer's name
		fits := seal.Draw == g.ID && seal.Signer == signer && seal.Role == role
		switch hash, _ := promised(g, role); {
		case seal.Hash() != hash:
			return secret, wordOtherText
		case !fits:
			return secret, wordUseless
		}
		return seal.Secret, ""
	}
	if _, after, ok := strings.Cut(text, "#"); ok {
		text = after
	}
	b, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
	if err != nil || len(b) != len(secret) {
		return secret, wordNoNumber
	}
	return [32]byte(b), ""
}
