package web

import (
	"errors"
	"net/http/httptest"
	"strings"
	"testing"
)

// FuzzDecode feeds both readers of entries: they never fail but in the two
// ways that the table knows, and the error never holds what was sent.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{`{"email":"a@example.com","age":30,"rules":true,"answers":{"k":1}}`, `{"answers":null}`, `[]`, `{"email":{}}`, "{} {}",
		"email=a%40example.com&take=size%3D10", "answers.=x&answers.k=y", "%zz=1", "a;b=c", `{"email":"` + "\xff" + `"}`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, sent string) {
		r := httptest.NewRequest("POST", "/g/x", strings.NewReader(sent))
		_, err := decodeJSON(r)
		if err != nil && !errors.Is(err, errMalformed) && !errors.Is(err, errTooLong) {
			t.Errorf("JSON: %v", err)
		}
		r = httptest.NewRequest("POST", "/g/x", strings.NewReader(sent))
		r.Header.Set("Content-Type", typeForm)
		form, err := decodeForm(r)
		if err != nil && !errors.Is(err, errMalformed) {
			t.Errorf("form: %v", err)
		}
		if err == nil && form.Rules != r.PostForm.Get("rules") {
			t.Error("an offer changed a field that no offer may change")
		}
	})
}

// Only names that the protocol knows are asked for (its "The publication").
func TestStemOf(t *testing.T) {
	for name, want := range map[string]string{
		"opening.txt": "opening.txt", "opening.12.txt": "opening.txt 12", "cancelled.txt": "cancelled.txt", "outcome.1.txt": "outcome.txt 1",
		"opening.0.txt": "", "opening.01.txt": "", "Opening.txt": "", "opening.txt.bak": "", "../opening.txt": "", "secret.txt": "", "": "", "opening..txt": "",
	} {
		stem, n := stemOf(name)
		if got := strings.TrimSpace(stem + " " + n); got != want {
			t.Errorf("stemOf(%q) = %q, want %q", name, got, want)
		}
	}
}
