package draw_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenhand/draw"
)

// Words that mark a clause of the statement.
const (
	sayAlone      = "nobody else"
	sayTogether   = "have to work together|would have had to work together"
	sayDifferent  = "No file shows that they are different people"
	saySeen       = "This holds only if other people"
	sayQuicknet   = "operators of the public number (quicknet)"
	sayOther      = "does not know by itself"
	sayShut       = "did not arrive"
	sayUnchanged  = "no change of them is among these files"
	sayRevised    = "changed before entries closed"
	sayAfterClose = "changed after entries had closed"
	sayAfterEvent = "A result may have been tried and dropped"
	sayImported   = "outside the time for entries"
	sayPerson     = "different real person"
	sayFromFile   = "the host wrote their proofs of entry, after the fact"
	sayLeftOut    = "rightly left out"
	saySkipped    = "rightly skipped"
	sayHour       = "an hour written by the host is true"
	sayPage       = "A page that the host serves can lie"
	sayBroken     = "breaks the rules"
	sayCancelled  = "was cancelled"
	sayDropped    = "A result may have been seen and dropped"
)

var allClauses = []string{sayAlone, sayTogether, sayDifferent, saySeen, sayQuicknet, sayOther, sayShut, sayUnchanged, sayRevised, sayAfterClose,
	sayAfterEvent, sayImported, sayPerson, sayFromFile, sayLeftOut, saySkipped, sayHour, sayPage, sayBroken, sayCancelled, sayDropped}

// wantClauses checks that these clauses are said and no others.
func wantClauses(t *testing.T, r draw.Report, want ...string) {
	t.Helper()
	text := strings.Join(r.Statement, "\n")
	for _, c := range allClauses {
		said := false
		for alternative := range strings.SplitSeq(c, "|") {
			said = said || strings.Contains(text, alternative)
		}
		if said != slices.Contains(want, c) {
			t.Errorf("%q: said %v\n%s\n%s", c, said, text, lines(r))
		}
	}
}

type statementCase struct {
	name, beacon, seals, revised string
	imported                     bool
}

func statementCases() []statementCase {
	var out []statementCase
	for _, b := range []string{"none", "quicknet", "other"} {
		for _, s := range []string{"one", "two", "one withheld"} {
			for _, v := range []string{"no", "before closing", "after closing", "after event"} {
				for _, i := range []bool{false, true} {
					name := fmt.Sprintf("beacon %s, seals %s, revised %s, imported %v", b, s, v, i)
					out = append(out, statementCase{name, b, s, v, i})
				}
			}
		}
	}
	return out
}

func (c statementCase) forge(t *testing.T) *forge {
	f := newForge(t)
	f.stage = draw.StageDrawn
	switch c.beacon {
	case "none":
		f.noBeacon()
	case "other":
		useOtherChain(t0)(f)
	}
	switch c.seals {
	case "one":
		f.roles = []string{"host"}
	case "one withheld":
		f.withheld = []string{"sponsor"}
	}
	if at := map[string]float64{"before closing": 72, "after closing": 49, "after event": 47}[c.revised]; at > 0 {
		revised(48, at)(f)
	}
	return f
}

// want is the rule of each clause, apart from the code's.
func (c statementCase) want() []string {
	want := []string{sayPerson, sayFromFile, sayLeftOut, sayHour, sayPage}
	alone := c.beacon == "none" && c.seals != "two"
	if alone {
		want = append(want, sayAlone)
	} else {
		want = append(want, sayTogether, saySeen)
	}
	if c.beacon == "none" && !alone {
		want = append(want, sayDifferent)
	}
	want = append(want, map[string][]string{"none": nil, "quicknet": {sayQuicknet}, "other": {sayOther}}[c.beacon]...)
	if c.seals == "one withheld" {
		want = append(want, sayShut)
	}
	want = append(want, map[string][]string{"no": {sayUnchanged}, "before closing": {sayRevised}, "after closing": {sayAfterClose},
		"after event": {sayAfterEvent}}[c.revised]...)
	if c.imported {
		want = append(want, sayImported)
	}
	return want
}

// The golden text of every case, and each clause by its own rule.
func TestStatement(t *testing.T) {
	var out strings.Builder
	for _, c := range statementCases() {
		f := c.forge(t)
		p, opt := f.make(), draw.Options{}
		if f.chain != nil {
			giveOtherChain(f, p, &opt)
		}
		if c.imported {
			// A receipt of the last opening, given outside its entry time but before the freeze.
			given(func(f *forge, r *draw.Receipt) { r.Entered = f.frozen.Add(-1e9) })(f, p, &opt)
		}
		r := draw.Check(t.Context(), p, opt)
		if r.Status != 0 {
			t.Fatalf("%s: got %d\n%s", c.name, r.Status, lines(r))
		}
		wantClauses(t, r, c.want()...)
		fmt.Fprintf(&out, "# %s\n%s\n\n", c.name, strings.Join(r.Statement, "\n"))
	}
	golden(t, "statement", out.String())
}

// The other files that a clause hangs on.
func TestStatementByStage(t *testing.T) {
	var out strings.Builder
	common := []string{sayUnchanged, sayTogether, saySeen, sayQuicknet, sayPerson, sayFromFile, sayPage}
	for _, c := range []struct {
		name string
		set  func(f *forge)
		want []string
	}{
		{"open", at(draw.StageOpen), common},
		{"frozen", at(draw.StageFrozen), append([]string{sayLeftOut, sayHour}, common...)},
		{"drawn, nobody left out", func(f *forge) { f.stage, f.left = draw.StageDrawn, nil }, append([]string{sayHour}, common...)},
		{"confirmed", func(*forge) {}, append([]string{sayLeftOut, sayHour}, common...)},
		{"passed", outcomeOf(outcome(pass(1, draw.Declined, 1))), append([]string{sayLeftOut, sayHour, saySkipped}, common...)},
		{"open, host alone", func(f *forge) { f.noBeacon().roles, f.stage = []string{"host"}, draw.StageOpen }, []string{sayUnchanged, sayAlone, sayPerson, sayFromFile, sayPage}},
		{"two withheld", func(f *forge) {
			f.roles, f.withheld = []string{"host", "sponsor", "teller"}, []string{"sponsor", "teller"}
		}, append([]string{sayLeftOut, sayHour, sayShut}, common...)},
		{"cancelled", func(f *forge) {
			cancelled(f)
			f.cancel.At = f.frozen
		}, []string{sayCancelled}},
		{"cancelled late", cancelled, []string{sayCancelled, sayDropped}},
		{"a fault", breakNote(draw.RecordFile), []string{sayBroken}},
	} {
		f := newForge(t)
		c.set(f)
		r := f.check(draw.Options{})
		wantClauses(t, r, c.want...)
		fmt.Fprintf(&out, "# %s\n%s\n\n", c.name, strings.Join(r.Statement, "\n"))
	}
	golden(t, "statement by stage", out.String())
	if r := draw.Check(t.Context(), sample("no-opening").FS, draw.Options{}); r.Statement != nil {
		t.Errorf("a statement about no publication: %q", r.Statement)
	}
}
