package web

import (
	"bytes"
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/entries"
)

// safeCell keeps a spreadsheet from reading a cell as a formula: one that
// begins with a character that could start one gets a single quote in front
// (OWASP, "CSV Injection").
func safeCell(s string) string {
	if first, _ := utf8.DecodeRuneInString(s); s != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + s
	}
	return s
}

// csvFile writes rows as a CSV file (RFC 4180), every cell harmless. It begins
// with a byte-order mark, without which some spreadsheets don't read UTF-8.
func csvFile(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = safeCell(cell)
		}
		if err := w.Write(safe); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func (d *desk) sendCSV(c echo.Context, name string, rows [][]string) error {
	b, err := csvFile(rows)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="`+name+`.csv"`)
	return c.Blob(http.StatusOK, "text/csv; charset=utf-8", b)
}

// getRowsFile hands out what would become of each row, or became of it. It
// bears nothing of what stands in a row.
func (d *desk) getRowsFile(c echo.Context) error {
	u, plan, err := d.plan(c)
	if err != nil {
		return d.toColumns(c, u, err)
	}
	rows := [][]string{{"row", "what becomes of it", "why", "notes"}}
	for _, p := range plan {
		r := rowWords(p)
		rows = append(rows, []string{strconv.Itoa(r.Row), r.Becomes, r.Why, strings.Join(r.Notes, "; ")})
	}
	return d.sendCSV(c, "rows-"+u.g.ID, rows)
}

// getTicketsFile hands out the tickets of the rows that are in, each with the
// address of its private page. Whoever has such an address can change the size
// and withdraw the ticket.
func (d *desk) getTicketsFile(c echo.Context) error {
	u, plan, err := d.plan(c)
	if err != nil {
		return d.toColumns(c, u, err)
	}
	rows := [][]string{{"row", "ticket", "in the draw", "private page"}}
	for _, p := range plan {
		if p.Fate != entries.FateAgain {
			continue
		}
		in := "yes"
		if p.Reason != "" {
			in = "no: " + wordOr(reasonWords, p.Reason)
		}
		rows = append(rows, []string{strconv.Itoa(p.Row), p.Ticket.Grouped(), in, d.privateLink(u.g.ID, p.Ticket)})
	}
	return d.sendCSV(c, "tickets-"+u.g.ID, rows)
}

// privateLink is the full address of the private page of a ticket that came
// through the door.
func (d *desk) privateLink(id string, t draw.Ticket) string {
	return d.link(privateURL(id, d.cfg.Desk.Door.Link(id, t)))
}
