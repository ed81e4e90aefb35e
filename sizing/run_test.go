package sizing

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
)

// boots is the demo shop's run: men's halves to 12, whole sizes after, women's
// halves but one.
var boots = Run{
	{System: Mens, From: 14, To: 24, Step: HalfSteps, Widths: []string{"D", "2E"}},
	{System: Mens, From: 26, To: 28, Step: WholeSteps, Widths: []string{"D"}},
	{System: Womens, From: 10, To: 20, Step: HalfSteps, Widths: []string{"B"}, Except: []Half{19}},
}

func TestRun(t *testing.T) {
	if err := boots.Validate(); err != nil {
		t.Fatal(err)
	}
	// Counted by hand: 11 numbers × 2, 2 numbers, 11 numbers less one.
	same(t, "sizes", len(boots.All()), 22+2+10)
	for _, c := range []struct {
		s    Size
		want bool
	}{
		{mens(7, "D"), true}, {mens(12, "2E"), true}, {mens(13, "D"), true}, {mens(14, "D"), true}, {womens(9, "B"), true},
		{mens(6.5, "D"), false}, {mens(12.5, "D"), false}, {mens(13.5, "D"), false}, {mens(13, "2E"), false}, {mens(14.5, "D"), false},
		{womens(9.5, "B"), false}, {womens(9, "D"), false}, {mens(9, ""), false}, {Size{}, false},
	} {
		same(t, c.s.String(), boots.Has(c.s), c.want)
		same(t, "all holds "+c.s.String(), slices.Contains(boots.All(), c.s), c.want)
	}
	if got := boots.Widths(Mens); !slices.Equal(got, []string{"D", "2E"}) {
		t.Errorf("men's widths: %v", got)
	}
	if got := boots.Numbers(Mens); len(got) != 13 || got[12] != half(14) {
		t.Errorf("men's numbers: %v", got)
	}
	if got := boots[:2].Systems(); !slices.Equal(got, []System{Mens}) {
		t.Errorf("systems: %v", got)
	}
	same(t, "empty", Run(nil).Empty(), true)
	same(t, "empty", boots.Empty(), false)
}

func TestRunOrder(t *testing.T) {
	overlapping := append(slices.Clone(boots), boots...)
	slices.Reverse(overlapping)
	if !slices.Equal(overlapping.All(), boots.All()) {
		t.Error("repeated ranges in another order give another list")
	}
	first, last := boots.All()[0], boots.All()[33]
	same(t, "first", first, mens(7, "D"))
	same(t, "last", last, womens(10, "B"))
}

func TestRunJSON(t *testing.T) {
	const text = `[{"system":"mens","from":"7","to":"14","step":"half","widths":["D","2E"],"except":["13.5"]}]`
	var run Run
	if err := json.Unmarshal([]byte(text), &run); err != nil {
		t.Fatal(err)
	}
	back, err := json.Marshal(run)
	if err != nil || string(back) != text {
		t.Errorf("got %s, %v, want %s", back, err, text)
	}
	same(t, "sizes", len(run.All()), 14*2)
	for _, bad := range []string{`"7.25"`, `7`, `"7.0"`, `"42"`} {
		if err := json.Unmarshal([]byte(`[{"from":`+bad+`}]`), &run); err == nil {
			t.Errorf("from %s: no error", bad)
		}
	}
}

func TestRunValidate(t *testing.T) {
	good := Range{System: Mens, From: 14, To: 28, Step: HalfSteps, Widths: []string{"D"}}
	for _, c := range []struct {
		name string
		edit func(*Range)
		want string
	}{
		{"system", func(g *Range) { g.System = "kids" }, "system"},
		{"step", func(g *Range) { g.Step = "" }, "step: Write half or whole."},
		{"backwards", func(g *Range) { g.From, g.To = 28, 14 }, "to: The largest size is below the smallest: swap them."},
		{"nothing", func(g *Range) { g.From, g.To = 0, 0 }, "between 1 and 32.5"},
		{"huge", func(g *Range) { g.To = 1 << 40 }, "between 1 and 32.5"},
		{"whole steps miss the end", func(g *Range) { g.Step, g.To = WholeSteps, 27 }, "to: Whole sizes from 7 never reach 13.5."},
		{"no width", func(g *Range) { g.Widths = nil }, "widths: Give at least one width"},
		{"loose width", func(g *Range) { g.Widths = []string{"EE"} }, "letters"},
		{"width twice", func(g *Range) { g.Widths = []string{"D", "D"} }, "letters"},
		{"exception outside", func(g *Range) { g.Except = []Half{30} }, "except"},
		{"exception between steps", func(g *Range) { g.Step, g.Except = WholeSteps, []Half{15} }, "except"},
		{"exception twice", func(g *Range) { g.Except = []Half{20, 20} }, "except"},
		{"everything excepted", func(g *Range) { g.To, g.Except = 14, []Half{14} }, "No size is left."},
	} {
		g := good
		c.edit(&g)
		err := Run{g}.Validate()
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
		Run{g}.All() // an unchecked run must not run away
	}
	if err := (Run{}).Validate(); err == nil {
		t.Error("no ranges: no error")
	}
	if err := make(Run, 41).Validate(); err == nil {
		t.Error("41 ranges: no error")
	}
	if err := (Run{good, {}}).Validate(); err == nil || !strings.Contains(err.Error(), "range 2") {
		t.Errorf("second range wrong: got %v", err)
	}
}

// The order follows from the rule by hand: foot length (half a size is one
// step), then ladder steps, then own system, longer, wider.
func TestNearest(t *testing.T) {
	for _, c := range []struct {
		name  string
		run   Run
		want  Size
		scale Scale
		sizes string
	}{
		{"the size itself", boots, mens(10, "D"), Common, "men’s 10 D, men’s 10 2E"},
		{"length before width", boots[:1], mens(10, "B"), Common, "men’s 10 D, men’s 10 2E, men’s 10½ D"},
		{"longer before shorter", boots[:2], mens(12.5, "D"), Common, "men’s 13 D, men’s 12 D, men’s 12 2E, men’s 11½ D"},
		{"wider before narrower", boots[:1], mens(9, "E"), Common, "men’s 9 2E, men’s 9 D"},
		{"women's to men's, common", boots[:1], womens(8.5, "B"), Common, "men’s 7 D, men’s 7 2E"},
		{"women's to men's, FIA", boots[:1], womens(8.5, "B"), FIA, "men’s 7½ D, men’s 7½ 2E"},
		{"women's to men's, +2", boots[:1], womens(9, "B"), Unisex, "men’s 7 D"},
		{"own system first", boots, womens(9.5, "B"), Common, "men’s 8 D, men’s 8 2E, women’s 10 B, women’s 9 B"},
		{"own system before the other", Run{
			{System: Mens, From: 14, To: 14, Step: HalfSteps, Widths: []string{"D"}},
			{System: Womens, From: 17, To: 17, Step: HalfSteps, Widths: []string{"B"}},
		}, Size{Womens, 17, "B"}, Common, "women’s 8½ B, men’s 7 D"},
		{"no width is standard", boots[:1], mens(9, ""), Common, "men’s 9 D, men’s 9 2E"},
		{"below the run", boots[2:], womens(3, "B"), Common, "women’s 5 B, women’s 5½ B"},
	} {
		var got []string
		for _, s := range c.run.Nearest(c.want, c.scale, strings.Count(c.sizes, ",")+1) {
			got = append(got, s.String())
		}
		if s := strings.Join(got, ", "); s != c.sizes {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, s, c.sizes)
		}
	}
	same(t, "all at most", len(boots.Nearest(mens(9, "D"), Common, 1000)), 34)
	same(t, "none asked", len(boots.Nearest(mens(9, "D"), Common, 0)), 0)
	same(t, "no size", len(boots.Nearest(Size{}, Common, 3)), 0)
	same(t, "nothing there", len(Run(nil).Nearest(mens(9, "D"), Common, 3)), 0)
}

// Against a slow reference: for every size on the ladder the differences in
// millimetres never fall along the list.
func TestNearestIsSorted(t *testing.T) {
	for _, scale := range []Scale{FIA, Common, Unisex} {
		for _, system := range Systems() {
			for h := minHalf; h <= maxHalf; h++ {
				want, last := Size{system, h, "D"}, -1.0
				for _, s := range boots.Nearest(want, scale, 100) {
					d := math.Abs(FootMM(s, scale) - FootMM(want, scale))
					if d < last-1e-6 {
						t.Fatalf("%v on scale %d: %v at %.2f mm after %.2f", want, scale, s, d, last)
					}
					last = d
				}
			}
		}
	}
}

func TestConvertWidths(t *testing.T) {
	// Source: testdata/facts/sizing.md, section 4: the men's letter of a word
	// is always two ladder steps wider.
	for _, c := range []struct{ mens, womens string }{{"2A", "4A"}, {"B", "2A"}, {"D", "B"}, {"2E", "D"}, {"4E", "2E"}, {"6E", "4E"}, {"C", "A"}} {
		same(t, c.mens, Convert(mens(9, c.mens), Womens, Common).Width, c.womens)
		same(t, c.womens, Convert(womens(9, c.womens), Mens, Common).Width, c.mens)
	}
	same(t, "narrow end", Convert(mens(9, "3A"), Womens, Common).Width, "4A")
	same(t, "wide end", Convert(womens(9, "6E"), Mens, Common).Width, "6E")
	same(t, "no width", Convert(mens(9, ""), Womens, Common).Width, "")
	same(t, "same system", Convert(mens(9, "D"), Mens, FIA), mens(9, "D"))
	same(t, "no size", Convert(Size{}, Mens, FIA), Size{})
	same(t, "zero scale", Convert(mens(9, "D"), Womens, 0), Convert(mens(9, "D"), Womens, Common))
}

func TestAdviseOnlyWhereItApplies(t *testing.T) {
	run := Run{{System: Mens, From: 14, To: 17, Step: HalfSteps, Widths: []string{"B", "D"}}}
	same(t, "in stock", len(run.Advise(mens(8, "B"), true, Common)), 0)
	same(t, "footbed stays, standard width", len(run.Advise(mens(9, "D"), false, Common)), 0)
	same(t, "footbed stays, narrow", len(run.Advise(mens(9, "B"), false, Common)), 1)
	same(t, "standard width", len(run.Advise(mens(9, "D"), true, Common)), 1)
	same(t, "far away", len(run.Advise(mens(12, "B"), true, Common)), 0)
	same(t, "no size", len(run.Advise(Size{}, true, Common)), 0)
	wideToo := Run{{System: Mens, From: 17, To: 17, Step: HalfSteps, Widths: []string{"2E"}}}
	same(t, "standard width, wider in stock", len(wideToo.Advise(mens(9, "D"), false, Common)), 0)
	women := Run{{System: Womens, From: 14, To: 17, Step: HalfSteps, Widths: []string{"B"}}}
	same(t, "women's B is not narrow", len(women.Advise(womens(9, "B"), false, Common)), 0)
	same(t, "women's 2A is", len(women.Advise(womens(9, "2A"), false, Common)), 1)
}

func TestNextWider(t *testing.T) {
	for _, c := range []struct {
		system     System
		from, want string
		ok         bool
	}{{Mens, "C", "D", true}, {Mens, "4E", "6E", true}, {Womens, "B", "D", true}, {Mens, "6E", "", false}, {Womens, "4E", "", false}, {Mens, "x", "", false}} {
		got, ok := NextWider(c.system, c.from)
		same(t, string(c.system)+c.from, got, c.want)
		same(t, string(c.system)+c.from, ok, c.ok)
	}
}
