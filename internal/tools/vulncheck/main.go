// Command vulncheck reads govulncheck's findings and fails on each that our
// code calls and that DEVELOPERS.md does not list with a reason.
//
//	govulncheck -format json ./... | vulncheck DEVELOPERS.md
//
// A listed finding starts a table row: "| GO-2026-1234 | reason |". Findings in
// code that nothing of ours calls don't count, as with govulncheck itself. A
// row that matches nothing is named, so that the list gets shorter again.
// Exit status: 0 nothing new, 1 something new, 2 the input could not be read.
package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"regexp"
	"slices"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: govulncheck -format json ./... | vulncheck DEVELOPERS.md")
		os.Exit(2)
	}
	document, err := os.ReadFile(os.Args[1])
	if err != nil {
		fmt.Fprintln(os.Stderr, "vulncheck:", err)
		os.Exit(2)
	}
	found, err := readFindings(os.Stdin)
	if err != nil {
		fmt.Fprintln(os.Stderr, "vulncheck: read findings:", err)
		os.Exit(2)
	}
	if !report(os.Stdout, found, listed(document)) {
		os.Exit(1)
	}
}

// finding is one way from our code to a vulnerable function. Field names are
// those of govulncheck's JSON (golang.org/x/vuln/internal/govulncheck, Finding).
type finding struct {
	OSV          string  `json:"osv"`
	FixedVersion string  `json:"fixed_version"`
	Trace        []frame `json:"trace"` // from the vulnerable function to ours
}

type frame struct {
	Module   string `json:"module"`
	Package  string `json:"package"`
	Function string `json:"function"` // empty when it is not known to be called
}

// readFindings returns the called findings, one for each vulnerability.
func readFindings(r io.Reader) (map[string]finding, error) {
	found, started := map[string]finding{}, false
	decoder := json.NewDecoder(r)
	for {
		var message struct {
			Config  *struct{} `json:"config"`
			Finding *finding  `json:"finding"`
		}
		err := decoder.Decode(&message)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		started = started || message.Config != nil
		if f := message.Finding; f != nil && len(f.Trace) > 0 && f.Trace[0].Function != "" {
			found[f.OSV] = *f
		}
	}
	if !started {
		return nil, errors.New("no output of govulncheck")
	}
	return found, nil
}

var row = regexp.MustCompile(`(?m)^\| (GO-\d{4}-\d{4,}) \| +[^| ][^|]{20,}\|`)

// listed returns the findings that the document gives a reason for.
func listed(document []byte) map[string]bool {
	known := map[string]bool{}
	for _, match := range row.FindAllSubmatch(document, -1) {
		known[string(match[1])] = true
	}
	return known
}

// report says what is new, and whether nothing is.
func report(w io.Writer, found map[string]finding, known map[string]bool) bool {
	sound := true
	for _, id := range slices.Sorted(maps.Keys(found)) {
		if f := found[id]; !known[id] {
			sound = false
			fmt.Fprintf(w, "%s: our code calls %s.%s; fixed in %s; https://pkg.go.dev/vuln/%s\n",
				id, f.Trace[0].Package, f.Trace[0].Function, cmp.Or(f.FixedVersion, "no version"), id)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(known)) {
		if _, ok := found[id]; !ok {
			fmt.Fprintf(w, "remark: %s is listed and was not found here\n", id)
		}
	}
	if sound {
		fmt.Fprintf(w, "vulncheck: ok, %d findings, each with its reason in DEVELOPERS.md\n", len(found))
	}
	return sound
}
