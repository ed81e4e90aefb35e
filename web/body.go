package web

import (
	"bytes"
	"io"
	"mime"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"
)

// The kinds of body that handlers may take.
const (
	typeForm = "application/x-www-form-urlencoded"
	typeJSON = "application/json"
	typeFile = "multipart/form-data"
)

// maxEntry is the most bytes of an entry. The longest honest one has some
// 5,000.
const maxEntry = 64 << 10

// body caps a request's body and lets only some kinds of content through. A
// body that is too long is refused here where its length is given, and where
// it is read otherwise.
//
// The whole body is read before the handler runs, and then the clock anew: a
// body that drips in over a closing time came after it, and what the handler
// reads of the database is what stands then.
func body(most int64, types ...string) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			r := c.Request()
			if r.ContentLength > most {
				c.Response().Header().Set("Connection", "close") // the rest is not read
				return errTooLong
			}
			if !slices.Contains(types, contentType(r)) {
				return errContentType
			}
			b, err := io.ReadAll(http.MaxBytesReader(c.Response(), r.Body, most))
			if err != nil {
				return unreadable(err)
			}
			r.Body = io.NopCloser(bytes.NewReader(b))
			readClock(c)
			return next(c)
		}
	}
}

// contentType is the body's type without its parameters, "" if unreadable. A
// charset other than UTF-8 is none that we read.
func contentType(r *http.Request) string {
	kind, params, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if charset := params["charset"]; err != nil || charset != "" && !isUTF8(charset) {
		return ""
	}
	return kind
}

func isUTF8(charset string) bool {
	return slices.Contains([]string{"utf-8", "UTF-8", "utf8", "UTF8", "Utf-8"}, charset)
}
