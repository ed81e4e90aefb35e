package web

import (
	"bytes"
	"slices"
	"strings"

	"evenhand/entries"
	"evenhand/giveaway"
)

// An importChoice says what a file's columns mean. It is kept beside the file.
type importChoice struct {
	Comma   string            `json:"comma"`
	Zone    string            `json:"zone"`    // of times that bear none
	Columns map[string]string `json:"columns"` // field → column; "" none
	Fill    map[string]string `json:"fill"`    // field → the same for all rows, where no column holds it
	At      string            `json:"at"`      // the time of all rows, local, where no column holds one
}

// An importField is one thing that a column may hold.
type importField struct {
	Name, Label string
	Hint        string
	Needed      bool
}

// importFields are those that the terms ask for.
func importFields(t giveaway.Terms) []importField {
	all := []importField{
		{"email", "E-mail address", "", true},
		{"time", "When they entered", "It decides who was in time, and which of two entries with one address counts.", true},
		{"zone", "Time zone of that row", "Only if a column names one.", false},
	}
	if t.Sizes != nil {
		all = append(all,
			importField{"system", "Men’s or women’s", "Leave it out if the size says so.", false},
			importField{"size", "Size", "", true},
			importField{"width", "Width", "", false})
	}
	all = append(all, importField{"live", "Country where they live", "", true})
	if r := t.Region; len(statesNeeded(r.LiveStateNeeded)) > 0 {
		all = append(all, importField{"state", "State where they live", "", false})
	}
	if home := t.Region.Ship; len(home) != 1 || len(t.Region.Live) != 1 || home[0] != t.Region.Live[0] {
		all = append(all, importField{"ship", "Country to send it to", "Where there is none, it goes where they live.", false})
		if len(statesNeeded(t.Region.ShipStateNeeded)) > 0 {
			all = append(all, importField{"ship_state", "State to send it to", "", false})
		}
		if t.Region.Friend && someAbroad(t.Region) {
			all = append(all, importField{"friend", "A friend can receive it", "", false})
		}
	}
	all = append(all, importField{"name", "Name to be said", "", false})
	if t.MinAge > 0 {
		all = append(all, importField{"age", "Age", "", true})
	}
	for _, q := range t.Questions {
		all = append(all, importField{answerPrefix + q.Key, q.Label, "", q.Required})
	}
	if t.Steps != "" {
		all = append(all, importField{"step", "Did the extra step", "It changes nobody’s chance.", false})
	}
	if t.BarredTick {
		all = append(all, importField{"barred", "None of those who can’t win", "Without a column everybody counts as none of them.", false})
	}
	return append(all, importField{"rules", "Accepted the rules", "", false})
}

// headerWords are what columns are called, by field; the surest first (common
// practice, no source). "=" wants the whole name, others a word or words in it.
var headerWords = []struct {
	field string
	words []string
}{
	{"email", []string{"=email", "=e-mail", "email address", "e-mail address", "email", "e-mail", "mail"}},
	{"zone", []string{"time zone", "timezone", "=zone", "=tz"}},
	{"time", []string{"=timestamp", "=time", "timestamp", "submitted", "submission date", "entered", "created", "completed", "start date", "=date", "date", "time"}},
	{"system", []string{"men's or women's", "mens or womens", "men’s or women’s", "men or women", "=m/w", "=w/m", "men/women", "mens/womens", "men's/women's", "men’s/women’s", "system", "men's", "women's", "gender", "=sex"}},
	{"width", []string{"width"}},
	{"size", []string{"=size", "shoe size", "us size", "size"}},
	{"ship_state", []string{"ship_state", "shipping state", "state to send", "ship to state"}},
	{"ship", []string{"=ship", "ship to", "shipping country", "country to send", "send it", "deliver"}},
	{"live", []string{"=live", "=country", "country", "where do you live", "where you live", "live"}},
	{"state", []string{"=state", "state", "province", "region"}},
	{"friend", []string{"friend"}},
	{"name", []string{"=name", "first name", "nickname", "display name", "name"}},
	{"age", []string{"=age", "how old", "your age", "age"}},
	{"step", []string{"=step", "subscribed", "follow"}},
	{"rules", []string{"=rules", "rules", "terms", "accept", "agree"}},
}

// guessColumns finds a column for each field by its name. No column is taken
// twice, nor one whose name stands twice.
func guessColumns(fields []importField, header []string) map[string]string {
	cols, taken := map[string]string{}, map[int]bool{}
	names, times := make([]string, len(header)), map[string]int{}
	for i, h := range header {
		names[i] = plainHeader(h)
		times[names[i]]++
	}
	wanted := func(name string) int {
		return slices.IndexFunc(fields, func(f importField) bool { return f.Name == name })
	}
	take := func(field string, fits func(name string) bool) bool {
		for i, h := range header {
			if name := names[i]; name != "" && !taken[i] && times[name] == 1 && fits(name) {
				cols[field], taken[i] = h, true
				return true
			}
		}
		return false
	}
	for _, f := range fields { // a question is known by its own words
		if key, ok := strings.CutPrefix(f.Name, answerPrefix); ok {
			take(f.Name, func(name string) bool { return name == plainHeader(f.Label) || name == strings.ToLower(key) })
		}
	}
	for _, h := range headerWords {
		if wanted(h.field) < 0 {
			continue
		}
		for _, w := range h.words {
			if whole, ok := strings.CutPrefix(w, "="); ok && take(h.field, func(name string) bool { return name == whole }) ||
				!ok && take(h.field, func(name string) bool { return hasWord(name, w) }) {
				break
			}
		}
	}
	return cols
}

func plainHeader(h string) string {
	return strings.ReplaceAll(strings.ToLower(strings.Join(strings.Fields(h), " ")), " / ", "/")
}

// once reports whether a name stands in the header once.
func once(header []string, name string) bool {
	n := 0
	for _, h := range header {
		if plainHeader(h) == plainHeader(name) {
			n++
		}
	}
	return n == 1
}

// hasWord reports whether words stand in a name with no letter beside them.
func hasWord(name, words string) bool {
	i := strings.Index(name, words)
	if i < 0 {
		return false
	}
	letter := func(b byte) bool { return b >= 'a' && b <= 'z' }
	end := i + len(words)
	return (i == 0 || !letter(name[i-1])) && (end == len(name) || !letter(name[end]))
}

// guessChoice is what the page with the columns begins with.
func guessChoice(t giveaway.Terms, file []byte, comma string) importChoice {
	c := importChoice{Comma: comma, Zone: t.Closes.Zone, Columns: map[string]string{}, Fill: map[string]string{"rules": "yes"}}
	if head, err := entries.ReadHead(bytes.NewReader(file), commaOf(comma), 0); err == nil {
		c.Columns = guessColumns(importFields(t), head.Columns)
	}
	if len(t.Region.Live) == 1 {
		c.Fill["live"] = t.Region.Live[0]
	}
	return c
}
