package web

import (
	"encoding/hex"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/draw/beacon"
)

// A resultSheet is the draw's result for print, without personal data.
type resultSheet struct {
	Frame
	Know
	Head      string
	Lead      []string
	Terms     termsShort
	Rows      []whenRow
	Tickets   string // "3,206 tickets"
	Print     string // fingerprint of the list
	Secrets   []secretRow
	Number    *numberRow // nil: the posted terms name no public number
	Seed      string
	Places    []sheetPlace
	More      string // how many places stand in the file only, or ""
	Line      string // what makes the first place's number
	First     string
	Statement []string
	Fair      string
	Page      string
	Check     string // where a browser does the draw again
}

type termsShort struct{ Title, Prize, Sponsor, Channel string }

// A secretRow is one secret number, open now.
type secretRow struct {
	Who, Value string // Value "": it did not arrive
}

// A numberRow is the public number.
type numberRow struct {
	At    Stamp
	Round string // its number in the network's count
	Value string
}

// A sheetPlace is one place with the ticket's number in full.
type sheetPlace struct {
	placeRow
	Score string
}

func (s *Site) getResultSheet(c echo.Context) error {
	l, err := s.drawnLine(c)
	if err != nil {
		return err
	}
	know, _, err := s.know(c.Request().Context(), l.g)
	if err != nil {
		return err
	}
	g, r := l.g, &l.report
	p := resultSheet{Frame: frame(g, now(c), "The result"), Know: know, Terms: termsShort{g.Terms.Title, g.Terms.Prize, g.Terms.Sponsor, g.Terms.Channel},
		Rows: closedTimes(g, now(c)), Tickets: count(r.Tickets, "ticket", "tickets"), Print: r.FreezeAt.String(), Seed: l.seed.String(),
		Fair: s.link(fairURL(g.ID)), Page: s.link(homeURL(g.ID)), Check: s.link(checkURL(g.ID)), First: r.Record.Places[0].Score.String(),
		Line: l.seed.String() + r.Record.Places[0].Ticket.String(), Number: numberOf(l)}
	p.Head, p.Lead = drawnWords(r)
	p.Secrets = secretRows(l)
	rows := placeRows(g, r)
	for i, row := range rows {
		p.Places = append(p.Places, sheetPlace{row, r.Record.Places[i].Score.String()})
	}
	if more := len(r.Record.Places) - len(rows); more > 0 {
		p.More = count(int64(more), "more place stands", "more places stand") + " in the draw’s result among the files."
	}
	for _, said := range r.Statement {
		p.Statement = append(p.Statement, onPages(said))
	}
	return s.render(c, http.StatusOK, "sheet", p)
}

// secretRows are the secret numbers in the order of the posted terms.
func secretRows(l drawnLine) []secretRow {
	who := map[string]string{}
	for _, second := range l.g.Terms.Seconds {
		who[second.Role] = second.Who
	}
	var rows []secretRow
	for _, one := range l.report.Record.Secrets {
		row := secretRow{Who: who[one.Role]}
		if row.Who == "" {
			row.Who = l.g.Terms.Channel
		}
		if !one.Withheld {
			row.Value = hex.EncodeToString(one.Value[:])
		}
		rows = append(rows, row)
	}
	return rows
}

// numberOf is the public number of a draw.
func numberOf(l drawnLine) *numberRow {
	b := l.report.Record.Beacon
	if b == nil {
		return nil
	}
	random := beacon.Randomness(b.Signature)
	return &numberRow{At: stamp("", l.g.DrawAt(), l.g.Terms.Event.Zone), Round: number(int64(b.Round)), Value: hex.EncodeToString(random[:])}
}
