package sizing

import (
	"errors"
	"math"
	"slices"
	"testing"
)

func kindOf(err error) InputKind {
	var e *InputError
	if errors.As(err, &e) {
		return e.Kind
	}
	return ""
}

func wantSize(t *testing.T, text string, want Half) {
	t.Helper()
	got, err := ParseSize(text)
	if err != nil || got != want {
		t.Errorf("%q: got %v, %v, want %v", text, got, err, want)
	}
}

func wantWidth(t *testing.T, system System, text, want string) {
	t.Helper()
	got, err := ParseWidth(system, text)
	if err != nil || got != want {
		t.Errorf("%s %q: got %q, %v, want %q", system, text, got, err, want)
	}
}

// checks holds the check values SZ-01 to SZ-14 of testdata/facts/sizing.json.
// The JSON has them in words, so each is written out here as code.
var checks = map[string]func(*testing.T){
	"SZ-01": func(t *testing.T) { near(t, "foot", FootMM(mens(1, "D"), Common), 194.7) },
	"SZ-02": func(t *testing.T) {
		near(t, "foot", FootMM(mens(9, "D"), Common), 262.5)
		near(t, "inches", FootMM(mens(9, "D"), Common)/25.4, 10.33)
	},
	"SZ-03": func(t *testing.T) {
		near(t, "foot", FootMM(mens(10, "D"), Common), 270.9)
		same(t, "UK", UK(mens(10, "D"), Common), half(9))
		same(t, "EU", EU(mens(10, "D"), Common), half(42.5))
	},
	"SZ-04": func(t *testing.T) {
		same(t, "common", Convert(mens(10, "D"), Womens, Common).Size, half(11.5))
		same(t, "FIA", Convert(mens(10, "D"), Womens, FIA).Size, half(11))
	},
	"SZ-05": func(t *testing.T) {
		same(t, "common", Convert(womens(8.5, "B"), Mens, Common).Size, half(7))
		same(t, "FIA", Convert(womens(8.5, "B"), Mens, FIA).Size, half(7.5))
	},
	"SZ-06": func(t *testing.T) {
		if d := FootMM(mens(9.5, "D"), Common) - FootMM(mens(9, "D"), Common); math.Abs(d-4.23) > 0.005 {
			t.Errorf("half a size: got %.3f mm, want 4.23", d)
		}
	},
	"SZ-07": func(t *testing.T) {
		for _, text := range []string{"EE", "2E", "ee", "E E", "2e", "2 E"} {
			wantWidth(t, Mens, text, "2E")
			wantWidth(t, Womens, text, "2E")
		}
	},
	"SZ-08": func(t *testing.T) { wantWidth(t, Mens, "W", "2E"); wantWidth(t, Womens, "W", "D") },
	"SZ-09": func(t *testing.T) { same(t, "steps", WidthRank("D")-WidthRank("B"), 2) },
	"SZ-10": func(t *testing.T) {
		got, ok := NextWider(Mens, "D")
		same(t, "wider", got, "2E")
		same(t, "ok", ok, true)
	},
	"SZ-11": checkAdvice,
	"SZ-12": checkTyped,
	"SZ-13": func(t *testing.T) {
		_, err := ParseSize("42")
		same(t, "kind", kindOf(err), European)
		same(t, "sentence", err.(*InputError).Sentence, "That looks like a European size. Please write the US size.")
	},
	"SZ-14": func(t *testing.T) {
		for _, s := range []Size{mens(8, "E"), mens(10, "C")} {
			if d := GirthChangeMM(mens(9, "D"), s, Common); math.Abs(d) > 1e-9 {
				t.Errorf("girth of %v against 9D: got %.3f mm, want 0", s, d)
			}
		}
	},
}

func TestCheckValues(t *testing.T) {
	for _, c := range loadFacts(t).Checks {
		check, ok := checks[c.ID]
		if !ok {
			t.Errorf("%s: no check for %q", c.ID, c.Given)
			continue
		}
		t.Run(c.ID, check)
	}
}

// SZ-11: men's 9B out of stock: suggest 8.5B without footbed (FIT-1) and 8.5D
// (FIT-2), never assign silently.
func checkAdvice(t *testing.T) {
	run := Run{{System: Mens, From: half(7), To: half(8.5), Step: HalfSteps, Widths: []string{"B", "D"}}}
	want := mens(9, "B")
	got := run.Advise(want, true, Common)
	if len(got) != 2 {
		t.Fatalf("got %d suggestions, want 2: %v", len(got), got)
	}
	same(t, "first rule", got[0].Rule, "FIT-1")
	same(t, "first size", got[0].Size, mens(8.5, "B"))
	same(t, "first footbed", got[0].WithoutFootbed, true)
	same(t, "second rule", got[1].Rule, "FIT-2")
	same(t, "second size", got[1].Size, mens(8.5, "D"))
	same(t, "second footbed", got[1].WithoutFootbed, false)
	near(t, "shorter", got[1].LengthMM, -4.23)
	near(t, "looser", got[1].GirthMM, 2*6.35-3.175) // two letters, half a size: sizing.md, FIT-2
	same(t, "never assigned", run.Has(want), false)
}

// SZ-12: 9.25 is refused, men's 3 and 20 lie out of the listed range and warn,
// a fraction and a comma are usual input.
func checkTyped(t *testing.T) {
	_, err := ParseSize("9.25")
	same(t, "9.25", kindOf(err), NotHalf)
	wantSize(t, "9 1/2", half(9.5))
	wantSize(t, "9,5", half(9.5))
	for _, text := range []string{"3", "20"} {
		h, err := ParseSize(text)
		if err != nil {
			t.Errorf("%q: %v, want a size", text, err)
		}
		if (Size{Mens, h, "D"}).Warning() == "" {
			t.Errorf("men's %s: no warning", text)
		}
	}
	for _, n := range []float64{6, 9.5, 15} {
		same(t, "warning", mens(n, "D").Warning(), "")
	}
}

// Source: testdata/facts/sizing.json, widths.
func TestWidthTables(t *testing.T) {
	f := loadFacts(t)
	if got := Ladder(); !slices.Equal(got, f.Widths.Ladder) {
		t.Errorf("ladder: got %v, want %v", got, f.Widths.Ladder)
	}
	for letter, rank := range f.Widths.Rank {
		same(t, letter, WidthRank(letter), rank)
		wantWidth(t, Mens, letter, letter)
	}
	for letter, aliases := range f.Widths.Aliases {
		for _, alias := range aliases {
			if alias == "SS" {
				continue // a word, and another letter on the men's scale: below
			}
			wantWidth(t, Mens, alias, letter)
			wantWidth(t, Womens, alias, letter)
		}
	}
	key := map[System]string{Mens: "men", Womens: "women"}
	for _, system := range Systems() {
		letters := f.Widths.Words[key[system]]
		if len(letters) != len(words) {
			t.Errorf("%s: %d words, want %d", system, len(words), len(letters))
		}
		for word, letter := range letters {
			wantWidth(t, system, word, letter) // "extra_narrow"
			got := foldWidth(WidthWord(system, letter))
			same(t, "word of "+letter, got, foldWidth(word))
		}
		for short, word := range f.Widths.Short {
			if short == "S" {
				_, err := ParseWidth(system, short)
				same(t, "S", kindOf(err), Ambiguous) // word_abbreviation_warning: ask
				continue
			}
			wantWidth(t, system, short, letters[word])
		}
		for _, stock := range f.Widths.Stock[key[system]].([]any) {
			if WidthWord(system, stock.(string)) == "" {
				t.Errorf("%s %s is usually stocked but has no word", system, stock)
			}
		}
	}
}
