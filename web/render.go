package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"

	"github.com/labstack/echo/v4"
)

//go:embed pages
var pageFiles embed.FS

// A Frame is what every page has around its own content. Page structs embed it.
type Frame struct {
	Title  string      // of the window; the page's name is added by nobody
	Left   string      // of the head: the channel, or "Your desk"
	Home   string      // where Left leads; "": nowhere
	Right  Stamp       // of the head: when it closes, or where it stands; zero: nothing
	Wide   bool        // for tables that need the whole width
	Sample bool        // an invented giveaway; every page of it says so
	Follow *liveFollow // nil: the page follows no show
}

// pages are the templates by name: pages/<name>.html, each with the layout and
// all parts (pages/part_*.html).
type pages map[string]*template.Template

// loadPages parses everything. A page file defines "main".
func loadPages(a assets) pages {
	shared := template.Must(template.New("").Funcs(template.FuncMap{
		"asset": a.address,
		"dict":  dict,
		"plus":  func(a, b int) int { return a + b },
	}).ParseFS(pageFiles, "pages/layout.html"))
	if parts, _ := fs.Glob(pageFiles, "pages/part_*.html"); len(parts) > 0 {
		shared = template.Must(shared.ParseFS(pageFiles, parts...))
	}
	files, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil || len(files) == 0 {
		panic("web: no pages")
	}
	all := pages{}
	for _, f := range files {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if name == "layout" || strings.HasPrefix(name, "part_") {
			continue
		}
		all[name] = template.Must(template.Must(shared.Clone()).ParseFS(pageFiles, f))
	}
	return all
}

// dict makes a map of names and values, to hand several values to a part.
func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict: want pairs")
	}
	m := map[string]any{}
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict: want a name first")
		}
		m[name] = pairs[i+1]
	}
	return m, nil
}

// render writes a page. It goes to a buffer first: a template that fails
// halfway becomes an error page and not half a page.
func (s *Site) render(c echo.Context, status int, name string, page any) error {
	return s.renderAs(c, status, name, "layout", page)
}

// renderAs writes a page with another frame than the layout: the template whole.
func (s *Site) renderAs(c echo.Context, status int, name, whole string, page any) error {
	t := s.pages[name]
	if t == nil {
		return fmt.Errorf("render page: no template %q", name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, whole, page); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	return c.HTMLBlob(status, b.Bytes())
}
