package web

import (
	"bytes"
	"encoding/binary"
	"net/http"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A drawnLine is what the line of a drawn giveaway is made of.
type drawnLine struct {
	g      giveaway.Giveaway
	report draw.Report
	seed   draw.Digest
	order  []uint64 // the first 64 bits of every score, ascending
}

// drawnLine reads the line of the giveaway of the address; errNoSuchPage
// before its draw, and where the draw's result does not fit its files.
func (s *Site) drawnLine(c echo.Context) (drawnLine, error) {
	g, err := s.giveaway(c)
	if err != nil {
		return drawnLine{}, err
	}
	r, err := s.check(c.Request().Context(), g)
	if err != nil {
		return drawnLine{}, err
	}
	if r.Record == nil || r.Seed == nil || len(r.Record.Places) == 0 {
		return drawnLine{}, errNoSuchPage
	}
	order, err := s.ranks.order(s.known(g), *r.Seed)
	return drawnLine{g, r, *r.Seed, order}, err
}

// lineScores are the scores of an order as parts of one, by their first 32
// bits: those that the browser gets.
func lineScores(order []uint64) []float64 {
	all := make([]float64, len(order))
	for i, score := range order {
		all[i] = float64(score>>32) / (1 << 32)
	}
	return all
}

// lineBytes are the first 32 bits of every score, ascending, each four bytes,
// the lowest first.
func lineBytes(order []uint64) []byte {
	b := make([]byte, 0, 4*len(order))
	for _, score := range order {
		b = binary.LittleEndian.AppendUint32(b, uint32(score>>32))
	}
	return b
}

// getLineData serves lineBytes. They never change for a draw number, so an
// address that bears it may be kept.
func (s *Site) getLineData(c echo.Context) error {
	l, err := s.drawnLine(c)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Content-Type", "application/octet-stream")
	keepBy(h, c.QueryParam("v"), l.seed.String(), "line-"+l.seed.String())
	http.ServeContent(c.Response(), oneRange(c.Request()), "", time.Time{}, bytes.NewReader(lineBytes(l.order)))
	return nil
}

// keepBy sets the tag of an answer, and lets it be kept where the address
// bears the beginning of the draw number.
func keepBy(h http.Header, v, seed, tag string) {
	h.Set("ETag", `"`+tag+`"`)
	if v == seed[:12] {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
}

// rankIn is the index of a ticket's score in the order.
func (l drawnLine) rankIn(t draw.Ticket) int {
	i, _ := slices.BinarySearch(l.order, scorePrefix(l.seed, t))
	return i
}

// serveTagged serves bytes whose hash is their tag.
func serveTagged(c echo.Context, kind string, b []byte) error {
	h := c.Response().Header()
	h.Set("Content-Type", kind)
	h.Set("ETag", `"`+draw.Hash(b).String()+`"`)
	http.ServeContent(c.Response(), oneRange(c.Request()), "", time.Time{}, bytes.NewReader(b))
	return nil
}
