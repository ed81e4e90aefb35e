package web

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A termsPage is the short page for terms.
type termsPage struct {
	Frame
	F      termsForm
	ID     string // of the draft that is changed; "": a new one
	Faults []fault
	Zones  []string
	Twice  map[string]bool // times of which it is asked which one is meant
	Seen   string          // the draft that the form was filled from; see [seen]
	Note   string          // a sentence about what was just tried, or ""
}

// seen tells one state of a draft from another, so that nobody posts or
// overwrites what they haven't seen; "" for a new one.
func seen(g giveaway.Giveaway) string {
	b, err := g.Terms.JSON()
	if err != nil || g.ID == "" {
		return ""
	}
	return draw.Hash(b).String()
}

// stale reports whether a form was made from another state of the draft.
func stale(c echo.Context, g giveaway.Giveaway) bool {
	was := c.FormValue("seen")
	return was != "" && was != seen(g)
}

// A fault is what is wrong with one field.
type fault struct{ Field, Label, Text string }

// Of returns what is wrong with a field.
func (p termsPage) Of(field string) []string {
	var texts []string
	for _, f := range p.Faults {
		if f.Field == field {
			texts = append(texts, f.Text)
		}
	}
	return texts
}

// zones are offered as one types; any IANA name is taken.
var zones = strings.Fields(`America/New_York America/Chicago America/Denver America/Phoenix America/Los_Angeles
	America/Anchorage Pacific/Honolulu America/Puerto_Rico America/Toronto America/Winnipeg America/Edmonton
	America/Vancouver America/Halifax America/St_Johns America/Mexico_City America/Sao_Paulo Europe/London
	Europe/Dublin Europe/Paris Europe/Berlin Europe/Madrid Europe/Rome Europe/Warsaw Asia/Tokyo Asia/Kolkata
	Australia/Sydney Australia/Perth Pacific/Auckland UTC`)

// labels name the form's fields in the summary of what is wrong, in the order
// in which they stand on the page.
var labels = []fault{
	{Field: "draw", Label: "Short name"}, {Field: "title", Label: "Heading"}, {Field: "prize", Label: "Prize"}, {Field: "value", Label: "Worth"},
	{Field: "channel", Label: "Channel"}, {Field: "sponsor", Label: "Who sends the prize"}, {Field: "host", Label: "Contact"},
	{Field: "zone", Label: "Time zone"}, {Field: "opens", Label: "Entries start"}, {Field: "closes", Label: "Entries close"}, {Field: "event", Label: "The draw"},
	{Field: "winners", Label: "Winners"}, {Field: "alternates", Label: "Next in line"}, {Field: "answer_days", Label: "Days to answer"},
	{Field: "lock_minutes", Label: "Minutes before the draw"},
	{Field: "mens_from", Label: "Men’s sizes"}, {Field: "mens_to", Label: "Men’s sizes"}, {Field: "mens_widths", Label: "Men’s widths"}, {Field: "mens_except", Label: "Men’s sizes left out"},
	{Field: "womens_from", Label: "Women’s sizes"}, {Field: "womens_to", Label: "Women’s sizes"}, {Field: "womens_widths", Label: "Women’s widths"}, {Field: "womens_except", Label: "Women’s sizes left out"},
	{Field: "scale", Label: "Men’s and women’s"}, {Field: "live", Label: "Where people may live"}, {Field: "not_live", Label: "States left out"},
	{Field: "ship", Label: "Where it can be sent"}, {Field: "min_age", Label: "Least age"}, {Field: "steps", Label: "Your own steps"}, {Field: "rules", Label: "Rules"},
}

// fieldOf is the form's field for a field of the terms.
var fieldOf = map[string]string{
	"sizes.run": "mens_from", "sizes.scale": "scale",
	"region.live": "live", "region.not_live": "not_live", "region.ship": "ship",
}

var runField = regexp.MustCompile(`^sizes\.run\.(\d+)\.(from|to|widths|except)$`)

// onForm names the form's field for what is wrong in a range of sizes.
func onForm(t giveaway.Terms, err error) giveaway.Problems {
	var problems giveaway.Problems
	errors.As(err, &problems)
	problems = slices.Clone(problems)
	for i, p := range problems {
		m := runField.FindStringSubmatch(p.Field)
		if m == nil || t.Sizes == nil {
			continue
		}
		if n, err := strconv.Atoi(m[1]); err == nil && n < len(t.Sizes.Run) {
			problems[i].Field = string(t.Sizes.Run[n].System) + "_" + m[2]
		}
	}
	return problems
}

// faultsOf puts each problem beside a field of the form, in the page's order.
// One of a field that the form lacks stands last, in the summary alone.
func faultsOf(problems giveaway.Problems) []fault {
	var faults []fault
	at := func(field string) int {
		return slices.IndexFunc(labels, func(l fault) bool { return l.Field == field })
	}
	for _, p := range problems {
		field := p.Field
		if f, ok := fieldOf[field]; ok {
			field = f
		}
		if i := at(field); i >= 0 {
			faults = append(faults, fault{Field: field, Label: labels[i].Label, Text: p.Text})
		} else {
			faults = append(faults, fault{Label: p.Field, Text: p.Text})
		}
	}
	// not there is -1, the greatest as a uint
	slices.SortStableFunc(faults, func(a, b fault) int { return cmp.Compare(uint(at(a.Field)), uint(at(b.Field))) })
	return faults
}

func (d *desk) showTerms(c echo.Context, status int, f termsForm, problems giveaway.Problems) error {
	p := termsPage{Frame: deskFrame("The terms"), F: f, Faults: faultsOf(problems), Zones: zones, Twice: twiceOf(f)}
	return d.render(c, status, "desk_terms", p)
}

func (d *desk) getNew(c echo.Context) error {
	return d.showTerms(c, http.StatusOK, newForm(), nil)
}

func (d *desk) postNew(c echo.Context) error {
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read terms form: %w", errMalformed)
	}
	f := readTermsForm(form)
	t, problems := f.onto(giveaway.Terms{})
	return d.save(c, t, problems, true, func(problems giveaway.Problems) error {
		return d.showTerms(c, http.StatusUnprocessableEntity, f, problems)
	})
}

func (d *desk) getTerms(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDraft {
		return toDay(c, g)
	}
	return d.showDraft(c, http.StatusOK, g, formOf(g.Terms), nil)
}

// showDraft shows the form for a draft that is there.
func (d *desk) showDraft(c echo.Context, status int, g giveaway.Giveaway, f termsForm, problems giveaway.Problems) error {
	p := termsPage{Frame: deskFrame("The terms"), F: f, ID: g.ID, Faults: faultsOf(problems), Zones: zones, Twice: twiceOf(f), Seen: seen(g)}
	if status == http.StatusConflict {
		p.Note = wordStale
	}
	return d.render(c, status, "desk_terms", p)
}

func (d *desk) postTerms(c echo.Context) error {
	g, err := d.find(c)
	if err != nil {
		return err
	}
	if g.State != giveaway.StateDraft {
		return toDay(c, g)
	}
	form, err := c.FormParams()
	if err != nil {
		return fmt.Errorf("read terms form: %w", errMalformed)
	}
	if stale(c, g) {
		return d.showDraft(c, http.StatusConflict, g, formOf(g.Terms), nil)
	}
	f := readTermsForm(form)
	f.Draw = g.ID
	t, problems := f.onto(g.Terms)
	return d.save(c, t, problems, false, func(problems giveaway.Problems) error {
		return d.showDraft(c, http.StatusUnprocessableEntity, g, f, problems)
	})
}

// save saves a draft, or shows what is wrong. A new one takes a name that
// nobody has; what the form could not read comes before what the terms say of
// the same field.
func (d *desk) save(c echo.Context, t giveaway.Terms, problems giveaway.Problems, fresh bool, show func(giveaway.Problems) error) error {
	taken := giveaway.Problem{Field: "draw", Text: "There is a giveaway of this short name already. Choose another one; a name is used once."}
	if _, err := d.cfg.Host.Store.Giveaway(uncut(c), t.Draw); fresh && err == nil {
		problems = append(problems, taken)
	}
	if len(problems) > 0 {
		return show(merge(problems, onForm(t, t.Validate())))
	}
	g, err := d.cfg.Host.Draft(uncut(c), now(c), t)
	var wrong giveaway.Problems
	switch {
	case errors.As(err, &wrong):
		return show(onForm(t, wrong))
	case errors.Is(err, giveaway.ErrState):
		return show(giveaway.Problems{taken})
	case err != nil:
		return err
	}
	return toDay(c, g)
}

// merge adds what the terms say of fields that could be read.
func merge(read, terms giveaway.Problems) giveaway.Problems {
	was := read
	for _, p := range terms {
		if len(was.Of(p.Field)) == 0 && len(was.Of("zone")) == 0 {
			read = append(read, p)
		}
	}
	return read
}

// A filePage takes a terms file, uploaded or pasted.
type filePage struct {
	Frame
	Typed  string
	Faults []string
}

func (d *desk) getFile(c echo.Context) error { return d.showFile(c, http.StatusOK, "", nil) }

func (d *desk) showFile(c echo.Context, status int, typed string, faults []string) error {
	return d.render(c, status, "desk_file", filePage{Frame: deskFrame("Terms from a file"), Typed: typed, Faults: faults})
}

func (d *desk) postFile(c echo.Context) error {
	text, err := termsText(c)
	if err != nil {
		return err
	}
	t, err := giveaway.ReadTerms(strings.NewReader(text))
	var problems giveaway.Problems
	if err != nil && !errors.As(err, &problems) {
		return d.showFile(c, http.StatusUnprocessableEntity, text, []string{fileFault(text, err)})
	}
	return d.save(c, t, problems, true, func(problems giveaway.Problems) error {
		var faults []string
		for _, p := range problems {
			faults = append(faults, p.Field+": "+p.Text)
		}
		return d.showFile(c, http.StatusUnprocessableEntity, text, faults)
	})
}

// termsText is the uploaded file or, without one, what was pasted.
func termsText(c echo.Context) (string, error) {
	header, err := c.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) || err == nil && header.Size == 0 {
		return c.FormValue("terms"), nil
	}
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", unreadable(err))
	}
	f, err := header.Open()
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil {
		return "", fmt.Errorf("read terms file: %w", err)
	}
	return string(b), nil
}

// fileFault says why a text is no file of terms.
func fileFault(text string, err error) string {
	if strings.TrimSpace(text) == "" {
		return "Choose a file or paste its text."
	}
	var into any
	var syntax *json.SyntaxError
	if errors.As(json.Unmarshal([]byte(text), &into), &syntax) {
		line := 1 + strings.Count(text[:min(int(syntax.Offset), len(text))], "\n")
		return fmt.Sprintf("This is not JSON (line %d). “draw open -h” shows one.", line)
	}
	return "This is not a file of terms: " + lastCause(err) + "."
}

// lastCause drops what was being done from an error about a terms file.
func lastCause(err error) string { return strings.TrimPrefix(err.Error(), "read terms: ") }
