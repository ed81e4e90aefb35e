package web

import (
	"encoding/csv"
	"strings"
	"testing"
)

// After signing in nobody is led out of the desk. What browsers make of dots,
// their escapes and backslashes is in the URL Standard (WHATWG, "path state").
func TestDeskPath(t *testing.T) {
	for typed, want := range map[string]string{
		"/desk/g/boots": "/desk/g/boots", "/desk/w/abcdefghijklmnop_-1": "/desk/w/abcdefghijklmnop_-1",
		"/desk/g/boots/paper/K7QF2M9X4RTBW8ZC": "/desk/g/boots/paper/K7QF2M9X4RTBW8ZC", "/desk/g/boots/qr.svg": "/desk/g/boots/qr.svg",
		"/desk": "/desk", "": "/desk", "/desk/": "/desk", "desk/g": "/desk", "/other": "/desk", "/desks/g": "/desk",
		"/desk/../g/evil": "/desk", "/desk/./../g/evil": "/desk", "/desk/g/..": "/desk", "/desk/g/boots/": "/desk",
		"/desk/%2e%2e/g/evil": "/desk", "/desk/.%2E/g/evil": "/desk", "/desk/%2f/evil.example": "/desk", "/desk/%5c": "/desk",
		"/desk//evil.example": "/desk", "//evil.example/desk/": "/desk", "/desk/\\evil.example": "/desk", "https://evil.example/desk/": "/desk",
		"/desk/g\r\nSet-Cookie: x": "/desk", "/desk/g/boots?x=//evil.example": "/desk", "/desk/g/\t/x": "/desk",
	} {
		if got := deskPath(typed); got != want {
			t.Errorf("%q leads to %q, want %q", typed, got, want)
		}
	}
}

// The characters that may begin a formula, those of full width too, are those of
// OWASP, "CSV Injection". A cell comes back as it was but for the quote.
func TestSafeCell(t *testing.T) {
	for typed, want := range map[string]string{
		"": "", "boots": "boots", "10½": "10½", "a=b": "a=b", " =1": " =1", "'=1": "'=1", "ﬁ": "ﬁ",
		"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@SUM(A1)": "'@SUM(A1)", "\t=1": "'\t=1", "\r=1": "'\r=1", "\n=1": "'\n=1",
		"＝1+1": "'＝1+1", "＋1": "'＋1", "－1": "'－1", "＠SUM(A1)": "'＠SUM(A1)",
	} {
		if got := safeCell(typed); got != want {
			t.Errorf("%q becomes %q, want %q", typed, got, want)
		}
	}
}

// Whatever somebody typed, no cell of a download begins a formula, and none
// breaks out of its cell (RFC 4180, section 2).
func TestDownloadsAreSafe(t *testing.T) {
	typed := []string{`=HYPERLINK("https://evil.example","x")`, `a","=1+1`, "a\r\n=1+1", "＝1", "@x", `"`, "plain"}
	b, err := csvFile([][]string{typed, typed})
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(b), "\ufeff"))).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows {
		if len(row) != len(typed) {
			t.Fatalf("%d cells, want %d", len(row), len(typed))
		}
		for i, cell := range row {
			if strings.ContainsAny(cell[:1], "=+-@\t\r\n") || strings.HasPrefix(cell, "＝") {
				t.Errorf("a cell begins a formula: %q", cell)
			}
			if plain := strings.ReplaceAll(typed[i], "\r\n", "\n"); strings.TrimPrefix(cell, "'") != plain {
				t.Errorf("%q came back as %q", typed[i], cell)
			}
		}
	}
}
