package check

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// remarks are the remarks of package draw with values in them, one for each
// row of the table of plain words at least.
var remarks = []string{
	"revised 2026-08-11T20:30:00Z: closes from 2026-08-22T18:29:59Z to 2026-08-22T20:29:59Z, event from 2026-08-22T19:39:59Z to 2026-08-22T21:39:59Z",
	"revised 2026-08-22T22:30:00Z: event from 2026-08-22T19:39:59Z to 2026-08-22T23:39:59Z; moved after the event: a result may have been tried and dropped",
	"revised 2026-08-22T22:30:00Z: rules from " + strings.Repeat("ab", 32) + " to " + strings.Repeat("cd", 32) + "; rules changed after entries closed",
	"weak: no beacon: whoever holds all secrets could have steered the draw, and no file shows that they are different people",
	"weak: the beacon's chain is not quicknet: " + strings.Repeat("ab", 32),
	"weak: the secret of sponsor was withheld: its holder, or the host by claiming it, could choose between two results",
	"weak: the secrets of sponsor and teller were withheld: their holders, or the host by claiming it, could choose between 4 results",
	"frozen 9 minutes before the event: hardly anybody can have seen it in time",
	"the beacon's signature was not verified here; its relays have the same",
	"cancelled when the host could already know the result",
	"30 alternates for 1 winners: the more places, the more can be passed",
	"read from example.org, but signed by example.com",
	"the event, 2026-08-22T21:39:59Z, has come and the list was never frozen",
	"frozen, but neither drawn nor cancelled 24 hours after the event",
	"place 1 passed for no reply 3h0m0s after its turn, less than 24 hours",
	"and 4 more passes for no reply less than 24 hours after the place's turn",
	"place 1 passed and moved on in one step, to place 2: its holder could not object",
	"and 4 more places passed and moved on in one step",
	"not checked: beacon not checked: chain " + strings.Repeat("ab", 32) + " is not known here",
	"not checked: roll.txt: no answer in time",
	"is the entry of another draw, socks", // one that has no other words
}

// The script says each remark, and each sentence of the statement, in the same
// plain words as package draw does for the command line and the server's pages.
// Each row of the table is tried.
func TestSamePlainWords(t *testing.T) {
	_, b := bench(t)
	quoted, err := json.Marshal(remarks)
	must(t, err)
	got := browsertest.Eval[[]string](b, fmt.Sprintf(`%s.map(plainWords)`, quoted))
	for i, text := range remarks {
		if want := (draw.Finding{Level: draw.Remark, Text: text}).InWords(); got[i] != want {
			t.Errorf("%s:\nthe script says  %s\npackage draw     %s", text, got[i], want)
		}
	}
	var table struct{ Remarks, Pages []struct{ Was, Say string } }
	must(t, json.Unmarshal(draw.StatementTable, &table))
	if len(table.Remarks) < 20 || len(table.Pages) < 3 {
		t.Fatalf("%d remarks and %d words are in the table", len(table.Remarks), len(table.Pages))
	}
	all := strings.Join(remarks, "\n")
	for _, row := range table.Remarks {
		if !regexp.MustCompile("(?m)" + row.Was).MatchString(all) {
			t.Errorf("no remark here is one of %s", row.Was)
		}
	}
	for _, row := range table.Pages {
		text := "Before " + row.Was + ", and after " + row.Was + "."
		got := browsertest.Eval[string](b, fmt.Sprintf("onPages(%q)", text))
		if want := draw.OnPages(text); got != want || strings.Contains(got, row.Was) {
			t.Errorf("the script says %q, package draw %q", got, want)
		}
	}
}
