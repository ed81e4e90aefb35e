package web

import (
	"bytes"
	"embed"
	"net/http"
	"path"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/web/check"
)

//go:embed static
var staticFiles embed.FS

// An asset is a file of static/.
type asset struct {
	bytes []byte
	kind  string
	tag   string // hash of the bytes
}

// assets are all files of static/ by name.
type assets map[string]asset

// kinds are the content types of what stands in static/.
var kinds = map[string]string{
	".css": "text/css; charset=utf-8",
	".js":  "text/javascript; charset=utf-8",
	".svg": "image/svg+xml",
}

func loadAssets() assets {
	list, err := staticFiles.ReadDir("static")
	if err != nil {
		panic("web: " + err.Error())
	}
	all := assets{}
	for _, f := range list {
		b, err := staticFiles.ReadFile("static/" + f.Name())
		kind := kinds[path.Ext(f.Name())]
		if err != nil || kind == "" {
			panic("web: static file of no known kind: " + f.Name())
		}
		all[f.Name()] = asset{b, kind, draw.Hash(b).String()}
	}
	script := check.Script()
	all[checkScript] = asset{script, kinds[".js"], draw.Hash(script).String()}
	return all
}

// address is where pages find an asset. It changes with the bytes, so a
// browser may keep them.
func (a assets) address(name string) string {
	one, ok := a[name]
	if !ok {
		panic("web: no static file " + name)
	}
	return "/static/" + name + "?v=" + one.tag[:12]
}

func (s *Site) getAsset(c echo.Context) error {
	one, ok := s.assets[c.Param("name")]
	if !ok {
		return errNoSuchPage
	}
	h := c.Response().Header()
	h.Set("Content-Type", one.kind)
	if c.Param("name") == checkScript { // a worker is under the policy of its script
		h.Set("Content-Security-Policy", s.checkPolicy())
	}
	h.Set("ETag", `"`+one.tag+`"`)
	if strings.HasPrefix(one.tag, c.QueryParam("v")) && c.QueryParam("v") != "" {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	http.ServeContent(c.Response(), oneRange(c.Request()), "", time.Time{}, bytes.NewReader(one.bytes))
	return nil
}
