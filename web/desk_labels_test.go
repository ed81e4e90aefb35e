package web

import (
	"bytes"
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/giveaway"
)

// makingPage renders the form with faults.
func makingPage(t *testing.T, f termsForm, faults []fault) string {
	t.Helper()
	p := termsPage{Frame: deskFrame("Making a giveaway"), F: f, Faults: faults, makePart: makePart{
		Path: "/desk/w/x", Times: f.times(time.Unix(1_800_000_000, 0)), Ranges: padded(f.Ranges, 2, 40), Questions: padded(f.Questions, 1, 10),
		StepKinds: kindOptions(nil), Currencies: currencyOptions("USD"), Places: f.Places(),
	}}
	p.Seconds = []makeSecond{{}}
	var b bytes.Buffer
	if err := loadPages(loadAssets())["desk_terms"].ExecuteTemplate(&b, "layout", p); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var (
	tagsOut  = regexp.MustCompile(`<[^>]*>`)
	openFold = regexp.MustCompile(`<(/?)details[^>]*?( open)?>`)
)

// labelAt is what the page calls a field: its label, or its fieldset's legend.
func labelAt(page, field string) string {
	at := strings.Index(page, `id="f-`+field+`"`)
	if at < 0 {
		return ""
	}
	if m := regexp.MustCompile(`(?s)<label for="f-` + field + `"[^>]*>(.*?)</label>`).FindStringSubmatch(page); m != nil {
		return html.UnescapeString(tagsOut.ReplaceAllString(m[1], ""))
	}
	if end := strings.Index(page[at:], "</label>"); strings.HasPrefix(field, "barred_tick") || field == "number" {
		return strings.TrimSpace(html.UnescapeString(tagsOut.ReplaceAllString(page[at:at+end], "")[strings.Index(tagsOut.ReplaceAllString(page[at:at+end], ""), ">")+1:]))
	}
	legend := page[strings.LastIndex(page[:at], "<legend>")+len("<legend>"):]
	return html.UnescapeString(legend[:strings.Index(legend, "<")])
}

// foldedAt reports whether a field stands in a fold that is closed.
func foldedAt(page, field string) bool {
	before, _, there := strings.Cut(page, `id="f-`+field+`"`)
	var open []bool
	for _, m := range openFold.FindAllStringSubmatch(before, -1) {
		if m[1] == "/" {
			open = open[:len(open)-1]
			continue
		}
		open = append(open, m[2] != "")
	}
	return there && slices.Contains(open, false)
}

// A fault is named as the page names its field, its link leads to a field that
// is there, and a fold with a fault in it is open. All fields; no source
// outside.
func TestFaultsAreNamedAsTheirFields(t *testing.T) {
	f := newForm()
	f.Value, f.Follows = "a lot", "earlier"
	folded := 0
	for _, l := range labels {
		field := l.Field
		if l.Field == "q_key" {
			continue // hidden; its fault can't come from this form
		}
		for list := range map[string]bool{"run": true, "q": true, "second": true} {
			if rest, ok := strings.CutPrefix(l.Field, list+"_"); ok {
				field = list + "_0_" + rest
			}
		}
		page := makingPage(t, f, faultsOf(giveaway.Problems{{Field: field, Text: "Look at this."}}))
		want := strings.TrimPrefix(strings.TrimSuffix(l.Label, ", in"), "Sizes: ")
		if got := labelAt(page, field); !strings.HasPrefix(got, want) && l.Field != "worth_currency" {
			t.Errorf("the fault of %s is named %q, the page says %q", field, l.Label, got)
		}
		if !strings.Contains(page, `href="#f-`+field+`"`) || foldedAt(page, field) {
			t.Errorf("the fault of %s can't be reached: folded %v", field, foldedAt(page, field))
		}
		if foldedAt(makingPage(t, newForm(), nil), field) {
			folded++
		}
	}
	if folded < 10 {
		t.Errorf("only %d fields are folded: the test looks at nothing", folded)
	}
}

// The first needed field is where somebody goes on, and a list of countries is
// said back, or is a fault at once.
func TestGoingOn(t *testing.T) {
	f := newForm()
	f.Prize, f.Channel = "Boots", "Slow Miles"
	var names []string
	for _, n := range f.needed() {
		names = append(names, n.Field)
	}
	if got := strings.Join(names, " "); got != "sponsor disclosure_kind zone closes event" {
		t.Errorf("needed are %s", got)
	}
	for prize, missing := range map[string]bool{
		"Boots": false, "a pair of boots in your size": true, "Boots in the winner’s size": true, "a poster of size A2": false, "a life-size trail map": false,
	} {
		f.Prize, f.Ranges = prize, nil
		if f.sizesMissing() != missing {
			t.Errorf("%s: sizes missing: %v, want %v", prize, !missing, missing)
		}
		f.Ranges = []rangeForm{{System: "mens", From: "7", To: "12"}}
		if f.sizesMissing() {
			t.Errorf("%s: sizes are missing where there are some", prize)
		}
	}
	f.Live, f.Ship = "US, canada", "US, Narnia"
	if said := f.Places(); said["live"] != "United States, Canada." || said["ship"] != "" {
		t.Errorf("said back: %q", said)
	}
	if wrong := f.placeWrongs(); wrong["live"] != "" || !strings.HasPrefix(wrong["ship"], "There is no country “Narnia”.") {
		t.Errorf("wrong: %q", wrong)
	}
	page := makingPage(t, f, faultsOf(f.placeFaults()))
	if strings.Count(page, "There is no country “Narnia”.") != 2 || !strings.Contains(page, `data-said="live">United States, Canada.<`) {
		t.Error("the page lacks what can’t be read, or what can")
	}
}

// Widths as people write them. "Extra wide" is one (testdata/facts/sizing.json,
// words for widths); how they are parted is common practice, no source.
func TestWidthsAsTheyAreTyped(t *testing.T) {
	for typed, want := range map[string]string{
		"D, 2E": "D 2E", "D 2E": "D 2E", "D/2E": "D 2E", "D & 2E": "D 2E", "D and 2E": "D 2E", "D,2E and 4E": "D 2E 4E", "d or extra wide": "D 4E", "D": "D",
	} {
		r := formReader{}
		g := r.sizes("run_0", rangeForm{System: "mens", From: "7", To: "12", Step: "half", Widths: typed})
		if got := strings.Join(g.Widths, " "); got != want || len(r.problems) > 0 {
			t.Errorf("%q is read as %q, %v, want %q", typed, got, r.problems, want)
		}
	}
	f := newForm()
	f.Ranges = []rangeForm{{System: "mens", From: "7", To: "12", Step: "half", Whole: "14", Widths: "Q"}}
	terms, problems := f.onto(giveaway.Terms{})
	if got := f.ownRows(onForm(terms, terms.Validate())); len(problems.Of("run_0_widths")) != 1 || len(got.Of("run_0_whole")) != 0 {
		t.Errorf("a width that is none: %v, %v", problems, got)
	}
}

// The heading follows the prize, and the short name the heading, until somebody
// writes another.
func TestNameFollowsThePrize(t *testing.T) {
	f := newForm()
	f.Prize = "a lantern"
	if !f.nameFollows("lantern") || f.Heading() != "Win a lantern." {
		t.Errorf("an empty name is not proposed, or the heading is %q", f.Heading())
	}
	f.Draw, f.DrawProposed = "lantern-2", "lantern-2"
	for name, want := range map[string]bool{"lantern": false, "boots": true, "lanter": true} {
		if f.nameFollows(name) != want {
			t.Errorf("the name lantern-2 follows to %s: %v, want %v", name, !want, want)
		}
	}
	if f.Draw = "my-own"; f.nameFollows("boots") {
		t.Error("a name of one’s own is replaced")
	}
	terms := giveaway.Terms{Prize: "a lantern", Title: "Win a lantern."}
	if f := formOf(terms); f.Title != "" || f.Heading() != terms.Title {
		t.Errorf("a heading made from the prize comes back as %q", f.Title)
	}
	terms.Title = "Light for one of you"
	if f := formOf(terms); f.Title != terms.Title {
		t.Errorf("a heading of one’s own comes back as %q", f.Title)
	}
}

// One row holds half sizes and the whole ones behind them, as shops have them:
// 7 to 12 with the halves, then 13 and 14 (testdata/facts/sizing.json has such
// runs). A fault of either part stands in that row.
func TestWholeSizesInOneRow(t *testing.T) {
	row := rangeForm{System: "mens", From: "7", To: "12", Step: "half", Whole: "14", Widths: "D"}
	f := newForm()
	f.Ranges = []rangeForm{row, {System: "womens", From: "9", To: "6", Step: "half", Widths: "B"}}
	if got := sizeWords(giveaway.Terms{Sizes: f.sizes(&formReader{})}); !strings.HasPrefix(got, "Men’s 7 to 12 in half sizes, widths D; men’s 13 to 14 in whole sizes, widths D; women’s") {
		t.Errorf("the row is read as %q", got)
	}
	terms, _ := f.onto(giveaway.Terms{})
	if got := f.ownRows(onForm(terms, terms.Validate())); len(got.Of("run_1_to")) != 1 || len(got.Of("run_2_to")) != 0 {
		t.Errorf("the second row’s fault stands elsewhere: %v", got)
	}
	for typed, good := range map[string]bool{"14": true, "13": true, "13.5": false, "12": false, "9": false, "x": false} {
		r := formReader{}
		row.Whole = typed
		termsForm{Scale: "3", Ranges: []rangeForm{row}}.sizes(&r)
		if wrong := len(r.problems.Of("run_0_whole")) > 0; wrong == good {
			t.Errorf("whole sizes to %s: %v", typed, r.problems)
		}
	}
	if rows := rangesOf(f.sizes(&formReader{}).Run); len(rows) != 2 || rows[0].Whole != "14.0" && rows[0].Whole != "14" {
		t.Errorf("the rows come back as %v", rows)
	}
}
