package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A showPage is what to look at before the show: a list of what is ready and
// what is not, each with what to do.
type showPage struct {
	Frame
	G     giveaway.Giveaway
	Head  string
	Lead  string
	When  Stamp
	Lines []readyLine
	Next  step // the one filled button
	More  []step
	Posts []postText
	Drawn bool
}

// A postText is a text to paste.
type postText struct{ ID, Name, Hint, Text string }

func (d *desk) showRoutes(in *echo.Group) {
	if d.cfg.Event == nil {
		return
	}
	form := body(maxEntry, typeForm)
	in.GET("/g/:id/show", d.getShow)
	in.POST("/g/:id/show/tick", d.postTick, form)
	in.GET("/g/:id/show/pair", d.getPair)
	in.POST("/g/:id/show/pair", d.postPair, form)
	in.POST("/g/:id/show/delay", d.postDelay, form)
	if d.cfg.Event.Rehearsals != nil {
		in.GET("/g/:id/show/rehearse", d.getRehearse)
		in.POST("/g/:id/show/rehearse", d.postRehearse, form)
		in.POST("/g/:id/show/rehearse/end", d.postRehearseEnd, form)
	}
	if d.cfg.Event.Names != nil {
		in.GET("/g/:id/show/names", d.getNames)
		in.POST("/g/:id/show/names", d.postNames, body(maxNames, typeForm))
	}
	in.GET("/g/:id/show/remote.svg", d.getRemoteQR)
	in.GET("/g/:id/show/stage.svg", d.getStageQR)
}

// getShow shows how ready everything is. Nothing is drawn of a giveaway that
// was called off: its day-book says so.
func (d *desk) getShow(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	if g.State == giveaway.StateCancelled {
		return toDay(c, g)
	}
	p := showPage{Frame: d.frame(g, "The show", now(c)), G: g, Drawn: g.State == giveaway.StateDrawn}
	if !p.Drawn {
		if p.Lines, err = d.readyLines(c, g); err != nil {
			return err
		}
	}
	p.More = []step{{"Stage and remote", "/desk/g/" + g.ID + "/show/pair"}}
	if d.cfg.Event.Rehearsals != nil && !p.Drawn {
		p.More = append(p.More, step{"Rehearsal", "/desk/g/" + g.ID + "/show/rehearse"})
	}
	if !p.Drawn {
		p.More = append(p.More, step{"Draw without a stage", "/desk/g/" + g.ID + "/draw"})
	}
	if err := d.showHead(c, &p); err != nil {
		return err
	}
	if p.Posts, err = d.postTexts(c, g); err != nil {
		return err
	}
	return d.render(c, http.StatusOK, "desk_show", p)
}

// showHead says in a sentence how ready everything is, and what is next.
func (d *desk) showHead(c echo.Context, p *showPage) error {
	zone := p.G.Terms.Event.Zone
	if p.Drawn {
		p.Head, p.Lead, p.Next = "The draw is made.", "The stage and the remote go on until you close them. The texts to post stand below.", step{"Go to the day-book", "/desk/g/" + p.G.ID}
		return nil
	}
	wrong, later, first := countLines(p.Lines)
	p.When = stamp("The draw can be made from", p.G.DrawAt(), zone)
	if !now(c).Before(p.G.DrawAt()) {
		p.When = stamp("It is time: the draw can be made since", p.G.DrawAt(), zone)
	}
	p.Head, p.Lead = "Everything is ready for the show.", "Open the stage in the picture, take the remote, and begin when you like."
	switch {
	case wrong > 0:
		p.Head, p.Lead = capitalized(many(wrong, "thing needs", "things need"))+" a look now.", "Each line that is not ready says what to do."
	case later > 0:
		p.Head, p.Lead = "Nothing is missing that could be there by now.", "Lines with “Not yet” say when their time comes."
	}
	live, err := d.underway(c, p.G.ID)
	if err != nil {
		return err
	}
	if live {
		p.Head, p.Lead = "The show is under way.", "The remote goes on from picture to picture. Below stands what would be looked at before a show."
	}
	remote, err := d.keyLink(c, p.G.ID, show.KeyRemote)
	switch p.Next = (step{"Open the remote", remote}); {
	case remote == "":
		p.Next = step{"Make stage and remote", "/desk/g/" + p.G.ID + "/show/pair"}
	case first.Path != "" && !live:
		p.Next = first
	}
	return err
}

// showNear is how long before the draw the day-book leads to the show. Our own
// choice.
const showNear = 6 * time.Hour

// sayEvening leads from a locked list to the show where one is near: whoever draws without a stage
// has to choose that. A fingerprint that nobody said is posted comes first, while
// posting it is in time.
func (p *dayPage) sayEvening(at time.Time, posted bool) {
	drawn, evening := p.G.DrawAt(), step{"Go to the show", p.path("show")}
	switch {
	case at.Before(drawn.Add(-showNear)):
	case !posted && at.Before(drawn.Add(-seenInTime)):
		p.More = append([]step{evening}, p.More...)
	default:
		p.Next, p.More = evening, append([]step{p.Next}, p.More...)
	}
}

// countLines counts what is wrong and what can wait, and finds the first page
// on which something wrong is put right.
func countLines(lines []readyLine) (wrong, later int64, first step) {
	for _, l := range lines {
		switch {
		case l.Good:
		case l.Later:
			later++
		default:
			if wrong++; first.Path == "" {
				first = l.Do
			}
		}
	}
	return wrong, later, first
}
