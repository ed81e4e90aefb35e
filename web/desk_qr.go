package web

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net/http"

	"github.com/labstack/echo/v4"
	"github.com/piglig/go-qr"

	"evenhand/giveaway"
)

// quiet is the empty space around the code, in modules: four (ISO/IEC 18004,
// "quiet zone").
const quiet = 4

// pngModule is the side of a module in the PNG, in pixels: sharp in a video.
const pngModule = 16

// A qrCode is the code of one address: dark is true where a module is black.
type qrCode struct {
	size int // modules of a side, the quiet zone on both sides included
	dark func(x, y int) bool
}

// qrOf makes the code of an address. Medium correction (15 %) bears a logo's
// worth of dirt; common practice, no source.
func qrOf(address string) (qrCode, error) {
	code, err := go_qr.EncodeText(address, go_qr.Medium)
	if err != nil {
		return qrCode{}, fmt.Errorf("make QR code: %w", err)
	}
	n := code.Size()
	return qrCode{size: n + 2*quiet, dark: func(x, y int) bool {
		x, y = x-quiet, y-quiet
		return x >= 0 && y >= 0 && x < n && y < n && code.Module(x, y)
	}}, nil
}

// svg draws each run of black modules in a line as one bar, on white.
func (q qrCode) svg(title string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges" role="img"><title>%s</title><path fill="#fff" d="M0 0h%dv%dH0z"/><path d="`,
		q.size, q.size, title, q.size, q.size)
	for y := range q.size {
		for x := 0; x < q.size; x++ {
			if !q.dark(x, y) {
				continue
			}
			from := x
			for x < q.size && q.dark(x, y) {
				x++
			}
			fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from, y, x-from, x-from)
		}
	}
	b.WriteString("\"/></svg>\n")
	return b.Bytes()
}

// png draws the code with so many pixels for a module's side.
func (q qrCode) png(module int) ([]byte, error) {
	side := q.size * module
	img := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range side {
		for x := range side {
			if q.dark(x/module, y/module) {
				img.SetColorIndex(x, y, 1)
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("draw QR code: %w", err)
	}
	return b.Bytes(), nil
}

func (d *desk) getQRSVG(c echo.Context) error {
	return d.sendQR(c, "image/svg+xml", "svg", func(q qrCode) ([]byte, error) { return q.svg("QR code of the entry page"), nil })
}

func (d *desk) getQRPNG(c echo.Context) error {
	return d.sendQR(c, "image/png", "png", func(q qrCode) ([]byte, error) { return q.png(pngModule) })
}

// sendQR sends the code of a posted giveaway's address; as a file to keep with
// ?download.
func (d *desk) sendQR(c echo.Context, kind, ending string, write func(qrCode) ([]byte, error)) error {
	g, err := d.find(c)
	if err == nil && g.State == giveaway.StateDraft {
		err = giveaway.ErrNotFound
	}
	if err != nil {
		return err
	}
	q, err := qrOf(d.link(homeURL(g.ID)))
	if err != nil {
		return err
	}
	b, err := write(q)
	if err != nil {
		return err
	}
	if c.QueryParams().Has("download") {
		c.Response().Header().Set("Content-Disposition", `attachment; filename="`+g.ID+"-entry-code."+ending+`"`)
	}
	return c.Blob(http.StatusOK, kind, b)
}
