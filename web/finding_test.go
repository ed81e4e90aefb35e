package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
)

// The times are those in the samples' opening.txt, written out by hand: New
// York is on summer time (UTC−4) in August (testdata/facts/time.md).
func TestRemarksInWords(t *testing.T) {
	for sample, want := range map[string]string{
		"revised": "The posted terms were changed on Tuesday 11 August 2026, 4:30 pm New York time. " +
			"The end of entries was moved from Saturday 22 August 2026, 2:29:59 pm New York time to Saturday 22 August 2026, 4:29:59 pm New York time. " +
			"The draw was moved from Saturday 22 August 2026, 3:39:59 pm New York time to Saturday 22 August 2026, 5:39:59 pm New York time.",
		"rules-revised": "The posted terms were changed on Tuesday 11 August 2026, 4:30 pm New York time. The rules were changed; those before are kept.",
		"one-step":      "Place 1 was skipped and the prize moved on in one step, to place 2: its holder could not object.",
		"host-only":     "", // why it is weak stands on top
	} {
		wrong, _ := findings(checkSample(t, sample), "America/New_York")
		var got []string
		for _, f := range wrong {
			for _, p := range f.Parts {
				got = append(got, p.Text)
			}
		}
		if s := strings.Join(got, "|"); s != want {
			t.Errorf("%s: got  %q\nwant %q", sample, s, want)
		}
	}
}

func checkSample(t *testing.T, name string) draw.Report {
	t.Helper()
	return draw.Check(t.Context(), os.DirFS(filepath.Join("../testdata/vectors/publications", name)), draw.Options{})
}

// Of all samples, no sentence that people read keeps the machine's form: no
// time, no straight apostrophe, no hash but one set apart, no word of the files
// where pages have another.
func TestNoMachineFormInWords(t *testing.T) {
	all, err := os.ReadDir("../testdata/vectors/publications")
	if err != nil || len(all) < 40 {
		t.Fatalf("%d samples, %v", len(all), err)
	}
	remarks := 0
	for _, d := range all {
		if !d.IsDir() {
			continue
		}
		r := checkSample(t, d.Name())
		wrong, fit := findings(r, "America/New_York")
		var texts []string
		for _, s := range r.Statement {
			texts = append(texts, onPages(s))
		}
		for _, f := range wrong {
			remarks++
			for _, p := range f.Parts {
				if f.Level == "To know" {
					for _, word := range []string{"the event", "frozen", "passed", "beacon", "revised"} {
						if strings.Contains(p.Text, word) {
							t.Errorf("%s: %q in %q", d.Name(), word, p.Text)
						}
					}
				}
			}
		}
		for _, f := range append(wrong, fit...) {
			for _, p := range f.Parts {
				if !p.Hash {
					texts = append(texts, p.Text)
				} else if len(p.Text) != 64 {
					t.Errorf("%s: hash %q", d.Name(), p.Text)
				}
			}
		}
		for _, s := range texts {
			if instants.MatchString(s) || straight.MatchString(s) || hashes.MatchString(s) {
				t.Errorf("%s: the machine's form in %q", d.Name(), s)
			}
		}
		for _, s := range r.Statement {
			if s := onPages(s); strings.Contains(s, "the event") {
				t.Errorf("%s: %q", d.Name(), s)
			}
		}
	}
	if remarks == 0 {
		t.Error("no sample has a remark")
	}
}
