package web

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// A columnsPage asks what a file's columns mean, and shows its first rows as
// they would be understood.
type columnsPage struct {
	Frame
	ID, URL string
	Head    string
	Commas  []option
	Fields  []columnField
	More    []columnField // those that nothing needs and no column was found for
	At      string        // the time of all rows, where no column holds one
	Zone    string
	Zones   []string
	Rules   bool // everybody accepted the rules, where no column says so
	Faults  []fault
	First   []sampleRow
}

// A columnField asks for the column of one field.
type columnField struct {
	importField
	Columns []option
	Fills   []option // the same for all rows; none: it can't be
	Faults  []string
}

// ID is the control's id in the page, apart from those of the entry form.
func (f columnField) ID() string { return columnID(f.Name) }

func columnID(field string) string { return "column-" + strings.ReplaceAll(field, ".", "-") }

// A sampleRow is a row as it would be understood.
type sampleRow struct{ Name, Address, Text, Becomes string }

// samples is how many rows are shown.
const samples = 5

func (d *desk) getColumns(c echo.Context) error {
	u, err := d.upload(c)
	if err != nil {
		return err
	}
	return d.showColumns(c, http.StatusOK, u, nil)
}

// postColumns keeps the choice, and goes on where nothing is missing.
func (d *desk) postColumns(c echo.Context) error {
	u, err := d.upload(c)
	if err != nil {
		return err
	}
	if err := c.Request().ParseForm(); err != nil {
		return unreadable(err)
	}
	v := c.Request().PostForm
	if comma := v.Get("comma"); commaNames[comma] != "" && comma != u.choice.Comma {
		if problem := uploadProblem(u.file, comma); problem != "" {
			return d.showColumns(c, http.StatusUnprocessableEntity, u, []fault{{"comma", "What parts the cells", "Not parted by " + commaNames[comma] + ": " + problem}})
		}
		u.choice = guessChoice(u.g.Terms, u.file, comma)
	} else {
		u.choice = readChoice(u.choice.Comma, u.g.Terms, v)
	}
	b, err := json.Marshal(u.choice)
	if err != nil {
		return err
	}
	if err := d.cfg.Desk.Uploads.SaveUpload(uncut(c), now(c), u.g.ID, u.key, uploadChoice, b); err != nil {
		return err
	}
	if v.Get("do") == "look" {
		return c.Redirect(http.StatusSeeOther, u.url())
	}
	if faults := u.faults(); len(faults) > 0 {
		return d.showColumns(c, http.StatusUnprocessableEntity, u, faults)
	}
	return c.Redirect(http.StatusSeeOther, u.url()+"/try")
}

func readChoice(comma string, t giveaway.Terms, v url.Values) importChoice {
	c := importChoice{Comma: comma, Zone: strings.TrimSpace(v.Get("zone_name")), At: strings.TrimSpace(v.Get("at")),
		Columns: map[string]string{}, Fill: map[string]string{"rules": v.Get("fill_rules")}}
	for _, f := range importFields(t) {
		c.Columns[f.Name] = v.Get("col_" + f.Name)
		if fill := v.Get("fill_" + f.Name); fill != "" {
			c.Fill[f.Name] = fill
		}
	}
	return c
}

func (d *desk) showColumns(c echo.Context, status int, u upload, faults []fault) error {
	head, err := entries.ReadHead(bytes.NewReader(u.file), commaOf(u.choice.Comma), samples)
	if err != nil {
		return err
	}
	p := columnsPage{
		Frame: d.frame(u.g, "What the columns mean", now(c)), ID: u.g.ID, URL: u.url(),
		Head: capitalized(many(int64(head.Rows), "row was", "rows were")) + " read. What do the columns mean?",
		At:   u.choice.At, Zone: u.choice.Zone, Zones: zones, Rules: u.choice.Fill["rules"] != "", Faults: faults,
	}
	for _, comma := range []string{",", ";", "\t"} {
		p.Commas = append(p.Commas, option{comma, commaNames[comma], comma == u.choice.Comma})
	}
	for _, f := range importFields(u.g.Terms) {
		field := columnField{importField: f, Columns: columnOptions(head.Columns, u.choice.Columns[f.Name]), Fills: fillOptions(f.Name, u.g.Terms, u.choice.Fill[f.Name])}
		for _, x := range faults {
			if x.Field == field.ID() {
				field.Faults = append(field.Faults, x.Text)
			}
		}
		if said := u.choice.Columns[f.Name]+u.choice.Fill[f.Name] != ""; f.Needed || said || len(field.Faults) > 0 || f.Name == "rules" {
			p.Fields = append(p.Fields, field)
		} else {
			p.More = append(p.More, field)
		}
	}
	p.First = u.sample(head)
	return d.render(c, status, "desk_import_map", p)
}

// Of returns what is wrong with a field of the page.
func (p columnsPage) Of(field string) []string {
	var texts []string
	for _, f := range p.Faults {
		if f.Field == field {
			texts = append(texts, f.Text)
		}
	}
	return texts
}

// columnOptions offers the columns that have a name, each name once.
func columnOptions(header []string, chosen string) []option {
	list := []option{{"", "no column", chosen == ""}}
	seen := map[string]bool{}
	for _, h := range header {
		if name := plainHeader(h); name != "" && !seen[name] {
			seen[name] = true
			list = append(list, option{h, strings.Join(strings.Fields(h), " "), name == plainHeader(chosen)})
		}
	}
	return list
}

// fillOptions offers what may be the same for everybody.
func fillOptions(field string, t giveaway.Terms, chosen string) []option {
	none := option{"", "not said", chosen == ""}
	switch field {
	case "live", "ship":
		only := t.Region.Live
		if field == "ship" {
			only, none.Text = t.Region.Ship, "where they live"
		}
		return append([]option{none}, countryGroups(chosen, "", only)[0].Options[1:]...)
	case "system":
		return []option{none, {"mens", "men’s", chosen == "mens"}, {"womens", "women’s", chosen == "womens"}}
	case "age":
		list := []option{none}
		for _, r := range eligibility.AgeRanges(t.MinAge) {
			list = append(list, option{r.Code, r.Label, r.Code == chosen})
		}
		return list
	}
	return nil
}

// faults are what is missing or can't be.
func (u upload) faults() []fault {
	var out []fault
	add := func(field, label, text string) { out = append(out, fault{field, label, text}) }
	head, err := entries.ReadHead(bytes.NewReader(u.file), commaOf(u.choice.Comma), 0)
	if err != nil {
		return []fault{{"", "The file", capitalized(err.Error()) + "."}}
	}
	for _, f := range importFields(u.g.Terms) {
		name := u.choice.Columns[f.Name]
		known := slices.ContainsFunc(head.Columns, func(h string) bool { return plainHeader(h) == plainHeader(name) })
		switch {
		case name == "" && f.Name == "time" && u.choice.At == "":
			add(columnID(f.Name), f.Label, "Choose the column, or write one time for all rows below.")
		case name == "" && f.Needed && f.Name != "time" && u.choice.Fill[f.Name] == "":
			add(columnID(f.Name), f.Label, "Choose the column that holds it.")
		case name != "" && !known:
			add(columnID(f.Name), f.Label, "There is no such column in the file. Choose another.")
		case name != "" && !once(head.Columns, name):
			add(columnID(f.Name), f.Label, "The file has several columns of this name. Rename one in the file, and choose the file again.")
		}
	}
	if _, err := giveaway.LoadZone(u.choice.Zone); err != nil {
		add("zone_name", "Time zone of the file", "Choose a zone by its area and a place, such as America/New_York.")
	} else if u.choice.Columns["time"] == "" && u.choice.At != "" {
		if _, err := giveaway.ParseMoment(u.choice.At, u.choice.Zone, 1); err != nil {
			add("at", "One time for all rows", "Write a date and a time such as 2026-12-11T20:30 that comes in that zone.")
		}
	}
	return out
}

// otherFields are the fields that some terms don't ask for. A column with the
// name of one is not taken for it.
var otherFields = []string{"system", "size", "width", "state", "ship", "ship_state", "friend", "age", "step", "barred"}

// read reads rows of the file by the choice.
func (u upload) read(file []byte) (entries.Imported, error) {
	cols := entries.Columns{}
	for _, name := range otherFields {
		cols[name] = ""
	}
	for _, f := range importFields(u.g.Terms) {
		cols[f.Name] = u.choice.Columns[f.Name]
	}
	zone, err := giveaway.LoadZone(u.choice.Zone)
	if err != nil {
		return entries.Imported{}, err
	}
	fill := u.choice.Fill
	o := entries.ImportOptions{Comma: commaOf(u.choice.Comma), Fill: entries.Form{
		Live: fill["live"], Ship: fill["ship"], System: fill["system"], Age: fill["age"], Rules: fill["rules"]}}
	if o.Fill.Rules == "" {
		o.Fill.Rules = "no"
	}
	if u.choice.Columns["time"] == "" {
		at, err := giveaway.ParseMoment(u.choice.At, u.choice.Zone, 1)
		if err != nil {
			return entries.Imported{}, err
		}
		o.At = at.UTC
	}
	return entries.ReadRows(bytes.NewReader(file), cols, zone, u.g.Terms, o)
}

// sample shows the first rows as they would be understood, none while something
// is missing.
func (u upload) sample(head entries.Head) []sampleRow {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = commaOf(u.choice.Comma)
	if w.Write(head.Columns) != nil || w.WriteAll(head.First) != nil {
		return nil
	}
	got, err := u.read(b.Bytes())
	if err != nil {
		return nil
	}
	rows := make([]sampleRow, len(got.Rows)+len(got.Unreadable))
	for _, r := range got.Rows {
		becomes := "In the draw."
		if r.Reason != "" {
			becomes = "Not in the draw: " + outWords(r.Reason, r.Why)
		}
		putSample(rows, r.Row, sampleRow{capitalized(ordinal(int64(r.Row-1))) + " entry", r.Entry.Typed, u.understood(r), becomes})
	}
	for _, x := range got.Unreadable {
		putSample(rows, x.Row, sampleRow{Name: capitalized(ordinal(int64(x.Row-1))) + " entry", Becomes: "Can’t be read. " + unreadableWords(x.Why)})
	}
	return rows
}

// putSample puts a row where it stands in the file; the header is row 1.
func putSample(rows []sampleRow, row int, s sampleRow) {
	if i := row - 2; i >= 0 && i < len(rows) {
		rows[i] = s
	}
}

// understood says a row in words.
func (u upload) understood(r entries.ImportedRow) string {
	e := r.Entry
	words := []string{stamp("", r.Entered, u.g.Terms.Closes.Zone).Words}
	add := func(before, what string) {
		if what != "" {
			words = append(words, before+what)
		}
	}
	add("", e.Size.String())
	add("lives in ", placeName(e.Live))
	if e.Ship != e.Live && e.Ship.Country != "ZZ" {
		add("to be sent to ", placeName(e.Ship))
	}
	add("name to be said: ", e.Name)
	return strings.Join(words, "; ") + "."
}
