package web

import (
	"encoding/json"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenhand/entries"
)

// A problem is an error for programs: problem details (RFC 9457, section 3).
// The type is left out, which means about:blank: the status says it (section
// 4.2.1). Code, reason, way_out and errors are extensions (section 3.2).
type problem struct {
	Title  string         `json:"title"`
	Status int            `json:"status"`
	Detail string         `json:"detail,omitempty"`
	Code   string         `json:"code,omitempty"`
	Reason string         `json:"reason,omitempty"`
	WayOut string         `json:"way_out,omitempty"`
	Errors []problemField `json:"errors,omitempty"`
}

// A problemField is what is wrong in one field.
type problemField struct {
	Field  string              `json:"field"`
	Detail string              `json:"detail"`
	Offers []map[string]string `json:"offers,omitempty"` // field → value, any one of them
}

func problemOf(t trouble) problem {
	return problem{Title: http.StatusText(t.status), Status: t.status, Detail: t.head + " " + t.next,
		Code: t.code, Reason: t.head, WayOut: t.next}
}

// problemOfVerdict tells a program why an entry was not taken.
func problemOfVerdict(v entries.Verdict) problem {
	p := problem{Title: http.StatusText(http.StatusUnprocessableEntity), Status: http.StatusUnprocessableEntity}
	if d := v.Refusal; d != nil {
		p.Code, p.Reason, p.WayOut, p.Detail = d.Code, d.Reason, d.WayOut, d.Reason
		return p
	}
	p.Code, p.Reason, p.Detail = "fields", wordFieldsWrong, wordFieldsWrong
	p.Errors = problemFields(v.Fields)
	return p
}

func problemFields(list []entries.Problem) []problemField {
	var out []problemField
	for _, f := range list {
		pf := problemField{Field: f.Field, Detail: f.Text}
		for _, o := range f.Offers {
			pf.Offers = append(pf.Offers, o.Values)
		}
		out = append(out, pf)
	}
	return out
}

func writeProblem(c echo.Context, p problem) error {
	return writeJSON(c, p.Status, "application/problem+json", p)
}

func writeJSON(c echo.Context, status int, kind string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return c.Blob(status, kind, append(b, '\n'))
}
