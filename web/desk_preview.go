package web

import (
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A previewPage is what a viewer would see after entering, for the creator
// alone.
type previewPage struct {
	Frame
	G       giveaway.Giveaway
	Address string
	Rows    []pair
	Hints   []string
}

// getPreview shows the entry page as viewers will see it.
func (d *desk) getPreview(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	return d.showPreview(c, http.StatusOK, g, formState{})
}

// showPreview renders the entry form itself, on the giveaway as it will be
// while it takes entries.
func (d *desk) showPreview(c echo.Context, status int, g giveaway.Giveaway, st formState) error {
	st.Preview, st.Back = "/desk/g/"+g.ID+"/preview", "/desk/g/"+g.ID
	shown := g
	shown.State = giveaway.StateOpen
	if g.State == giveaway.StateDraft {
		t := g.Terms
		shown.Opening = draw.Opening{Opens: t.Opens.UTC, Closes: t.Closes.UTC, Event: t.Event.UTC, Beacon: beaconOf(t)}
	}
	c.Set(keyNow, takingAt(g.Terms, now(c))) // the page's head says when entries close
	return d.showForm(c, status, shown, st)
}

// beaconOf is what the posted terms will name as the public number's source.
func beaconOf(t giveaway.Terms) *draw.Digest {
	if t.Beacon == giveaway.BeaconNone {
		return nil
	}
	chain := draw.Digest(beacon.Quicknet().Hash)
	return &chain
}

// takingAt is a time at which the terms take entries: now, if they do.
func takingAt(t giveaway.Terms, at time.Time) time.Time {
	if at.Before(t.Opens.UTC) || !at.Before(t.Closes.UTC) {
		return t.Opens.UTC
	}
	return at
}

// postPreview decides about a test entry and stores nothing: it calls nothing
// but [entries.Decide], which is pure.
func (d *desk) postPreview(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	f, err := decodeForm(c.Request())
	if err != nil {
		return err
	}
	verdict := entries.Decide(f, g.Terms, takingAt(g.Terms, now(c)))
	if !verdict.OK() {
		return d.showPreview(c, http.StatusUnprocessableEntity, g, formState{Form: f, Verdict: verdict, Sent: true})
	}
	p := previewPage{Frame: d.frame(g, "A test entry", now(c)), G: g, Address: verdict.Entry.Typed, Rows: enteredRows(g, verdict.Entry)}
	for _, h := range verdict.Hints {
		p.Hints = append(p.Hints, strings.TrimSpace(h.Text))
	}
	return d.render(c, http.StatusOK, "desk_preview", p)
}
