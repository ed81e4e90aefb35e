package main

import (
	"strings"
	"testing"
)

// Shaped as govulncheck 1.9.0 prints it with -format json; shortened.
const output = `{"config": {"protocol_version": "v1.0.0", "go_version": "go1.26.8"}}
{"osv": {"id": "GO-2026-0001"}}
{"finding": {"osv": "GO-2026-0001", "fixed_version": "v1.26.9", "trace": [{"module": "stdlib"}]}}
{"finding": {"osv": "GO-2026-0001", "fixed_version": "v1.26.9", "trace": [{"module": "stdlib", "package": "net/http", "function": "Do"}, {"module": "evenhand"}]}}
{"finding": {"osv": "GO-2026-0002", "trace": [{"module": "stdlib", "package": "os"}]}}`

func TestReport(t *testing.T) {
	for _, c := range []struct {
		name, document string
		ok             bool
		says           string
	}{
		{name: "listed", document: "| GO-2026-0001 | the service never sends CONNECT |", ok: true, says: "ok, 1 findings"},
		{name: "not listed", document: "", says: "GO-2026-0001: our code calls net/http.Do; fixed in v1.26.9"},
		{name: "no reason", document: "| GO-2026-0001 | |", says: "GO-2026-0001: our code calls"},
		{name: "another listed", document: "| GO-2026-0009 | the service never sends CONNECT |", says: "remark: GO-2026-0009"},
	} {
		t.Run(c.name, func(t *testing.T) {
			found, err := readFindings(strings.NewReader(output))
			if err != nil {
				t.Fatal(err)
			}
			var out strings.Builder
			if got := report(&out, found, listed([]byte(c.document))); got != c.ok || !strings.Contains(out.String(), c.says) {
				t.Errorf("ok %v, %q; want %v, %q", got, out.String(), c.ok, c.says)
			}
		})
	}
}

func TestReadFindingsRefuses(t *testing.T) {
	for _, text := range []string{"", "{}", `{"config": {}`, "govulncheck: loading packages"} {
		if _, err := readFindings(strings.NewReader(text)); err == nil {
			t.Errorf("%q was taken for output of govulncheck", text)
		}
	}
}
