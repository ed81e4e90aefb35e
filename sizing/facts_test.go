package sizing

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// facts is the part of testdata/facts/sizing.json that these tests read; its
// sources stand in sizing.md beside it.
type facts struct {
	Men []struct {
		Men    float64 `json:"us_men"`
		Foot   float64 `json:"foot_mm"`
		Mondo  int     `json:"mondopoint_nearest_5mm"`
		UK     float64 `json:"uk_by_formula"`
		EU     float64 `json:"eu_by_formula"`
		Common float64 `json:"us_women_common_plus_1_5"`
		FIA    float64 `json:"us_women_fia_brannock_iso_plus_1"`
	} `json:"men_table"`
	Women []struct {
		Women      float64 `json:"us_women"`
		FootCommon float64 `json:"foot_mm_common"`
		FootFIA    float64 `json:"foot_mm_fia_brannock_iso"`
		Mondo      int     `json:"mondopoint_nearest_5mm_common"`
		MenCommon  float64 `json:"us_men_common_minus_1_5"`
		MenFIA     float64 `json:"us_men_fia_minus_1"`
		UK         float64 `json:"uk_by_formula_iso"`
		EUCommon   float64 `json:"eu_by_formula_common"`
		EUFIA      float64 `json:"eu_by_formula_fia"`
	} `json:"women_table"`
	ISO struct {
		Rows [][]float64
	} `json:"iso_19407_style_table"`
	Widths struct {
		Ladder  []string                     `json:"ladder_narrow_to_wide"`
		Rank    map[string]int               `json:"rank"`
		Aliases map[string][]string          `json:"aliases"`
		Words   map[string]map[string]string `json:"word_to_letter"`
		Short   map[string]string            `json:"word_abbreviations"`
		Stock   map[string]any               `json:"stock_widths_usually_made"`
	}
	Checks []struct{ ID, Given, Expect string } `json:"check_values"`
}

func loadFacts(t *testing.T) facts {
	t.Helper()
	text, err := os.ReadFile("../testdata/facts/sizing.json")
	if err != nil {
		t.Fatal(err)
	}
	var f facts
	if err := json.Unmarshal(text, &f); err != nil {
		t.Fatal(err)
	}
	for name, n := range map[string]int{
		"men's rows": len(f.Men), "women's rows": len(f.Women), "ISO rows": len(f.ISO.Rows), "checks": len(f.Checks),
		"ladder": len(f.Widths.Ladder), "ranks": len(f.Widths.Rank), "aliases": len(f.Widths.Aliases),
		"words": len(f.Widths.Words), "abbreviations": len(f.Widths.Short), "stock": len(f.Widths.Stock),
	} {
		if n == 0 {
			t.Fatalf("sizing.json: no %s", name)
		}
	}
	return f
}

// half turns a number of the tables into half sizes.
func half(n float64) Half { return Half(math.Round(2 * n)) }

func mens(n float64, width string) Size   { return Size{Mens, half(n), width} }
func womens(n float64, width string) Size { return Size{Womens, half(n), width} }

// near compares lengths that a table gives to a tenth of a millimetre.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 0.051 {
		t.Errorf("%s: got %.2f, want %.1f", what, got, want)
	}
}

func same[T comparable](t *testing.T, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// Source: testdata/facts/sizing.json, men_table (formulas of Wikipedia, "Shoe size").
func TestMensTable(t *testing.T) {
	for _, row := range loadFacts(t).Men {
		s := mens(row.Men, "D")
		near(t, s.String()+" foot", FootMM(s, Common), row.Foot)
		same(t, s.String()+" mondopoint", Mondopoint(s, Common), row.Mondo)
		same(t, s.String()+" UK", UK(s, Common), half(row.UK))
		same(t, s.String()+" EU", EU(s, Common), half(row.EU))
		same(t, s.String()+" common", Convert(s, Womens, Common), womens(row.Common, "B"))
		same(t, s.String()+" FIA", Convert(s, Womens, FIA), womens(row.FIA, "B"))
		same(t, s.String()+" +2", Convert(s, Womens, Unisex), womens(row.Men+2, "B"))
	}
}

// Source: testdata/facts/sizing.json, women_table.
func TestWomensTable(t *testing.T) {
	for _, row := range loadFacts(t).Women {
		s := womens(row.Women, "B")
		near(t, s.String()+" foot", FootMM(s, Common), row.FootCommon)
		near(t, s.String()+" foot FIA", FootMM(s, FIA), row.FootFIA)
		same(t, s.String()+" mondopoint", Mondopoint(s, Common), row.Mondo)
		same(t, s.String()+" common", Convert(s, Mens, Common), mens(row.MenCommon, "D"))
		same(t, s.String()+" FIA", Convert(s, Mens, FIA), mens(row.MenFIA, "D"))
		same(t, s.String()+" UK", UK(s, FIA), half(row.UK))
		same(t, s.String()+" EU", EU(s, Common), half(row.EUCommon))
		same(t, s.String()+" EU FIA", EU(s, FIA), half(row.EUFIA))
	}
}

// The table said to follow ISO 19407:2023, Table 2: every row lies within 0.31
// of a size and 0.25 of an EU size of the formulas, and its two US columns
// stand one size apart. Source: testdata/facts/sizing.json, iso_19407_style_table.
func TestISOTable(t *testing.T) {
	for _, row := range loadFacts(t).ISO.Rows {
		foot, eu, uk, men, women := row[0], row[1], row[2], mens(row[3], "D"), womens(row[4], "B")
		same(t, "women's of "+men.String(), Convert(men, Womens, FIA), women)
		same(t, "UK of "+men.String(), UK(men, FIA), half(uk))
		if d := math.Abs(FootMM(men, FIA)-foot) / 25.4 * 3; d > 0.31 {
			t.Errorf("%v: foot %.1f against %.0f: %.2f sizes apart", men, FootMM(men, FIA), foot, d)
		}
		if d := math.Abs(1.5*foot/10 + 2 - eu); d > 0.2501 {
			t.Errorf("%.0f mm: formula is %.2f EU sizes from the table", foot, d)
		}
	}
}
