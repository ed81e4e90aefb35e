package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A remotePage is what moves the stage: for a phone, a pedal or a friend.
type remotePage struct {
	Frame
	V          liveView
	Where      string
	Problem    string
	Hold, Dark pressWords
	Forward    string // the large button's words
	Filled     string // its style: what is pasted has the page's one filled button
	Mark       bool   // it is a rehearsal
	Paste      bool   // offer a field for the public number
	Value      valueWords
	Path       string
	Clock      string // the server's, RFC 3339
}

// pressPatience is how long a press may take, the draw with it: the page's script
// waits five seconds longer, so that it hears of this. Our own choice.
const pressPatience = 25 * time.Second

// pressWords are a button's move and its words.
type pressWords struct{ Move, Words string }

func remoteURL(secret string) string { return "/remote/" + secret }

// remoteRoutes are the remote's addresses. As with the stage there is no limit.
func (s *Site) remoteRoutes(e *echo.Echo) {
	e.GET("/remote/:secret", s.getRemote, keepPrivate)
	e.GET("/remote/:secret/live", s.getRemoteLive, keepPrivate)
	e.POST("/remote/:secret/:move", s.postRemote, keepPrivate, body(maxEntry, typeForm))
}

// remoted finds the giveaway, as it is, whose stage a remote moves.
func (s *Site) remoted(c echo.Context) (giveaway.Giveaway, error) {
	k, err := s.cfg.Event.Keys.Key(c.Request().Context(), show.KeyRemote, c.Param("secret"))
	if err != nil {
		return giveaway.Giveaway{}, show.ErrNoKey
	}
	return s.liveGiveaway(c, k.Draw)
}

func (s *Site) getRemote(c echo.Context) error {
	g, err := s.remoted(c)
	if err != nil {
		return err
	}
	return s.showRemote(c, http.StatusOK, g, "", false)
}

func (s *Site) showRemote(c echo.Context, status int, g giveaway.Giveaway, problem string, paste bool) error {
	v, err := s.stageView(c, g.ID)
	if err != nil {
		return err
	}
	p := remotePage{Frame: frame(g.AsPublic(now(c)), now(c), "Remote"), V: v, Problem: problem, Path: remoteURL(c.Param("secret")),
		Where: "On the stage now", Mark: giveaway.IsRehearsal(g.ID), Hold: pressWords{"hold", "Hold"}, Dark: pressWords{"dark", "Go dark"},
		Clock: s.cfg.Now().UTC().Format(time.RFC3339Nano)}
	p.Home, p.Right, p.Forward = "", Stamp{}, v.Button
	if v.Dark {
		p.Where, p.Dark = p.Where+" (dark)", pressWords{"light", "Light up"}
	}
	if v.Held {
		p.Where, p.Hold = p.Where+" (on hold)", pressWords{"go", "Let it go on"}
		p.Forward = "On hold"
	}
	p.Paste, p.Filled = paste || c.QueryParams().Has("paste"), "button"
	if p.Paste {
		p.Value, p.Filled = p.Value.of(g), "plain"
	}
	return s.render(c, status, "remote", p)
}

// getRemoteLive streams the stage to the remote, until its key is revoked.
func (s *Site) getRemoteLive(c echo.Context) error {
	g, err := s.remoted(c)
	if err != nil {
		return err
	}
	return s.streamBy(c.Request().Context(), c, show.KeyRemote, c.Param("secret"), g.ID, remotes)
}

// postRemote makes one press, which names the version that it saw.
func (s *Site) postRemote(c echo.Context) error {
	g, err := s.remoted(c)
	if err != nil {
		return err
	}
	version, err := strconv.ParseInt(c.FormValue("version"), 10, 64)
	if err != nil {
		return errMalformed
	}
	within, cancel := context.WithTimeout(uncut(c), pressPatience)
	defer cancel()
	known, err := s.press(within, s.cfg.Now().UTC(), g.ID, c.Param("move"), version, valueWords{Typed: c.FormValue("value")})
	if !known {
		return errNoSuchPage
	}
	s.hub.heard(g.ID)
	problem, status := remoteProblem(g, err)
	if err != nil && problem == "" {
		return err
	}
	if strings.Contains(c.Request().Header.Get("Accept"), "application/json") {
		v, failed := s.stageView(c, g.ID)
		if failed != nil {
			return failed
		}
		return c.JSON(status, struct {
			liveView
			Problem string `json:"problem,omitempty"`
			Paste   bool   `json:"paste,omitempty"`
		}{v, problem, wantsPaste(err)})
	}
	if problem != "" {
		return s.showRemote(c, status, g, problem, wantsPaste(err))
	}
	return c.Redirect(http.StatusSeeOther, remoteURL(c.Param("secret")))
}

// press makes the move of that word; known is false where there is none.
func (s *Site) press(ctx context.Context, at time.Time, id, move string, version int64, v valueWords) (known bool, err error) {
	sh := s.cfg.Event.Show
	switch move {
	case "forward":
		_, err = sh.Forward(ctx, at, id, version, nil)
	case "paste":
		var st show.State
		if st, err = sh.State(ctx, id); err != nil || st.Step != show.Number {
			return true, err // a value is of use at one picture only
		}
		pasted, err := v.read()
		if err != nil || pasted == nil {
			return true, errPasted
		}
		_, err = sh.Forward(ctx, at, id, version, pasted)
		return true, err
	case "back":
		_, err = sh.Back(ctx, at, id, version)
	case "hold", "go":
		_, err = sh.Hold(ctx, id, version, move == "hold")
	case "dark", "light":
		_, err = sh.Dark(ctx, id, version, move == "dark")
	case "alternates":
		_, err = sh.ShowAlternates(ctx, at, id, version)
	default:
		return false, nil
	}
	return true, err
}

func wantsPaste(err error) bool {
	return errors.Is(err, giveaway.ErrNoBeacon) || errors.Is(err, errPasted)
}

// remoteProblem says in plain words why a press moved nothing.
func remoteProblem(g giveaway.Giveaway, err error) (string, int) {
	var early giveaway.ErrTooEarly
	switch {
	case err == nil:
		return "", http.StatusOK
	case errors.Is(err, context.DeadlineExceeded):
		return "The server took too long. Press again; nothing is done twice.", http.StatusServiceUnavailable
	case errors.As(err, &early):
		return "It is not time yet: the draw can be made from " + stamp("", early.Until, g.Terms.Event.Zone).Words + ".", http.StatusConflict
	case errors.Is(err, show.ErrNotLocked):
		return "The list is not locked yet. Lock it on the desk first.", http.StatusConflict
	case errors.Is(err, errPasted):
		return "This is not a public number of the network. Copy the whole answer, from { to }, or the 96 characters of its signature.", http.StatusUnprocessableEntity
	case errors.Is(err, giveaway.ErrNoBeacon):
		return "The public number is not at hand. Nothing was drawn, and nothing is lost: it stays the same for ever. Tell your viewers so, go on with your show, and press again later, or paste it yourself.", http.StatusServiceUnavailable
	case errors.Is(err, giveaway.ErrState):
		return "This giveaway was called off, so nothing is drawn.", http.StatusConflict
	}
	return "", 0
}
