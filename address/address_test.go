package address

import (
	"encoding/json"
	"os"
	"testing"
)

// Source: WHATWG HTML, "valid e-mail address", as testdata/facts/email.json has
// it. The tables of that file are read in package entries, through the form's
// own decision.
func TestPattern(t *testing.T) {
	data, err := os.ReadFile("../testdata/facts/email.json")
	if err != nil {
		t.Fatal(err)
	}
	var facts struct {
		Pattern string `json:"whatwg_pattern"`
	}
	if err := json.Unmarshal(data, &facts); err != nil || facts.Pattern == "" {
		t.Fatalf("read the pattern: %q, %v", facts.Pattern, err)
	}
	if got, want := whatwg.String(), facts.Pattern; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
