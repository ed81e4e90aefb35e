package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/claims"
)

// marked sets the cookie for some seconds, or takes it away (-1).
func (s *Site) marked(c echo.Context, seconds int) {
	c.SetCookie(&http.Cookie{
		Name: markedCookie, Value: s.markedValue(c.Param("secret"), now(c)), Path: claims.SponsorPath(c.Param("secret")), MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.cfg.PublicURL.Scheme == "https",
	})
}

// markedValue shows that a mark was answered at a time: the time in Unix
// seconds, and HMAC-SHA-256 (RFC 2104) of the page's secret and it.
func (s *Site) markedValue(secret string, at time.Time) string {
	text := strconv.FormatInt(at.Unix(), 10)
	mac := hmac.New(sha256.New, s.cfg.MarkedKey[:])
	io.WriteString(mac, "evenhand parcel marked\n"+secret+"\n"+text)
	return text + "." + base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// markedNow reports whether a cookie was made for this page a moment ago.
func (s *Site) markedNow(c echo.Context, value string) bool {
	text, _, _ := strings.Cut(value, ".")
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || s.cfg.MarkedKey == [32]byte{} {
		return false
	}
	at := time.Unix(n, 0)
	age := now(c).Sub(at)
	return -time.Second < age && age <= markedTime && hmac.Equal([]byte(value), []byte(s.markedValue(c.Param("secret"), at)))
}

// A markState is a mark that was sent and has something to put right.
type markState struct {
	place    int
	mark     claims.Mark
	problems []claims.Problem
	changed  bool // the press was about what doesn't stand any more
}

// postMark takes what the sponsor says of a parcel.
func (s *Site) postMark(c echo.Context) error {
	place, err := strconv.Atoi(c.Param("place"))
	if err != nil {
		return errNoSuchPage
	}
	form, err := c.FormParams()
	if err != nil {
		return errMalformed
	}
	m := claims.Mark{Kind: form.Get("mark"), Words: form.Get("words"), Carrier: form.Get("carrier"), Number: form.Get("number"), None: form.Get("none") != "", Saw: form.Get("saw")}
	for _, text := range form["offer"] {
		size, ok := readPick(text)
		if !ok {
			return errMalformed // the page's own boxes can all be read
		}
		m.Offers = append(m.Offers, size)
	}
	secret := c.Param("secret")
	_, err = s.cfg.Claims.Mark(uncut(c), now(c), secret, place, m)
	var no *claims.Rejected
	switch {
	case errors.As(err, &no):
		return s.showMarked(c, http.StatusUnprocessableEntity, markState{place: place, mark: m, problems: no.Fields})
	case errors.Is(err, claims.ErrChanged), errors.Is(err, claims.ErrRace):
		return s.showMarked(c, http.StatusConflict, markState{place: place, mark: m, changed: true})
	case err != nil:
		return err
	}
	s.marked(c, int(markedTime/time.Second))
	return c.Redirect(http.StatusSeeOther, claims.SponsorPath(secret))
}

// showMarked shows the page as it stands now, with what is to say of a press.
func (s *Site) showMarked(c echo.Context, status int, st markState) error {
	v, err := s.cfg.Claims.Look(c.Request().Context(), now(c), c.Param("secret"))
	if err != nil {
		return err
	}
	return s.showSponsor(c, status, v, st)
}

// markSummary links to the fields of the parcel whose mark has something to
// put right.
func markSummary(st markState) summary {
	sum := summarize(claimState(st.problems, len(st.problems) > 0))
	for i, p := range st.problems {
		if i < len(sum.Links) {
			sum.Links[i].Href = "#" + field{Name: markField(st, p.Field)}.ID()
		}
	}
	return sum
}

// markField is the name of a field in the page: several forms stand on it.
func markField(st markState, name string) string {
	if name == "words" && st.mark.Kind == claims.MarkCantHave {
		name = "cant"
	}
	return name + "-" + strconv.Itoa(st.place)
}
