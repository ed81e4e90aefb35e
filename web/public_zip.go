package web

import (
	"archive/zip"
	"io"
	"io/fs"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

// zipURL is all that was published, as one file.
func zipURL(id string) string { return homeURL(id) + "/files.zip" }

// getZip sends the published files in a folder with the giveaway's name, byte
// for byte: a copy to keep before the draw, and to check on one's own disk. They
// are mostly hashes, which nothing makes smaller.
func (s *Site) getZip(c echo.Context) error {
	g, err := s.giveaway(c)
	if err != nil {
		return err
	}
	at := now(c)
	rows, public := s.files(g, at), s.public(g, at)
	if len(rows) == 0 {
		return errNoSuchPage
	}
	h := c.Response().Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+g.ID+`.zip"`)
	if c.Request().Method == http.MethodHead {
		return nil
	}
	w := zip.NewWriter(c.Response())
	for _, row := range rows {
		if err := addFile(w, g, public, row.Name); err != nil {
			return err
		}
	}
	return w.Close()
}

func addFile(w *zip.Writer, g giveaway.Giveaway, public fs.FS, name string) error {
	f, err := public.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	into, err := w.CreateHeader(&zip.FileHeader{Name: g.ID + "/" + name, Method: zip.Store, Modified: g.Opened})
	if err != nil {
		return err
	}
	_, err = io.Copy(into, f)
	return err
}
