package web

import (
	"net/http"

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
	var wrong int64
	var first step // that puts something right
	for _, l := range p.Lines {
		if l.Good {
			continue
		}
		if wrong++; first.Path == "" {
			first = l.Do
		}
	}
	p.When = stamp("The draw can be made from", p.G.DrawAt(), zone)
	p.Head, p.Lead = "Everything is ready for the show.", "Open the stage in the picture, take the remote, and begin when you like."
	if wrong > 0 {
		p.Head, p.Lead = capitalized(many(wrong, "thing needs", "things need"))+" a look before the show.", "Each line that is not ready says what to do. Most can wait until half an hour before."
	}
	remote, err := d.keyLink(c, p.G.ID, show.KeyRemote)
	switch p.Next = (step{"Open the remote", remote}); {
	case remote == "":
		p.Next = step{"Make stage and remote", "/desk/g/" + p.G.ID + "/show/pair"}
	case first.Path != "":
		p.Next = first
	}
	return err
}
