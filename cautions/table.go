package cautions

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"maps"
)

//go:embed rules.json
var rulesJSON []byte

// A table is what rules.json holds.
type table struct {
	Looked string              `json:"looked"` // the day on which the sources were looked up
	Sets   map[string][]string `json:"sets"`   // lists of countries that a "when" may name, as @EEA
	Tax    taxTable            `json:"tax"`
	Rules  []rule              `json:"rules"`
	Notes  []string            `json:"notes"` // for readers of the file
}

// A taxTable is the sum of prizes to one person in one year from which on the
// United States want them reported, by the first year in which it holds.
type taxTable struct {
	From []struct {
		Year    int   `json:"year"`
		Dollars int64 `json:"dollars"`
	} `json:"from"`
	KnownUntil int `json:"known_until"` // the last year whose sum is known
}

// A rule is one caution and when it is raised.
type rule struct {
	ID     string `json:"id"`
	Level  Level  `json:"level"`
	About  string `json:"about"` // in a few words, for a list of what can't be judged; "" leaves it out
	When   string `json:"when"`  // see expr.go
	Why    string `json:"why"`   // the trigger in words; {name} stands for a value
	Text   string `json:"text"`
	Also   string `json:"also"` // of the same, what only explains; folded on pages
	Source string `json:"source"`
	// Unsourced: nothing outside was looked up; Source says what it rests on.
	Unsourced bool `json:"unsourced"`

	when node
}

// rules is the embedded table; a mistake in it shows at the first start, and
// in the tests.
var rules = mustRead(rulesJSON)

func mustRead(data []byte) table {
	t, err := readTable(data)
	if err != nil {
		panic(err)
	}
	return t
}

// readTable reads and compiles a table.
func readTable(data []byte) (table, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	var t table
	if err := dec.Decode(&t); err != nil {
		return t, fmt.Errorf("read rules of cautions: %w", err)
	}
	known := maps.Clone(kinds)
	for i := range t.Rules {
		r := &t.Rules[i]
		if _, twice := known[r.ID]; twice || order(r.Level) < 0 {
			return t, fmt.Errorf("read rules of cautions: %s: twice, or of no known level", r.ID)
		}
		var err error
		if r.when, err = compile(r.When, known, t.Sets); err != nil {
			return t, fmt.Errorf("read rules of cautions: %s: %w", r.ID, err)
		}
		if err := checkWords(r.Why); err != nil {
			return t, fmt.Errorf("read rules of cautions: %s: %w", r.ID, err)
		}
		known[r.ID] = isBool
	}
	return t, nil
}
