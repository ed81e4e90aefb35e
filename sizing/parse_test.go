package sizing

import (
	"encoding/json"
	"testing"
)

// What people type into a size field. The accepted forms are those of SZ-12
// and their neighbours; from experience, no published list.
func TestParseSize(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
		kind InputKind
	}{
		{"10", 10, ""}, {"10.5", 10.5, ""}, {"10½", 10.5, ""}, {"10 ½", 10.5, ""}, {"10 1/2", 10.5, ""}, {"10-1/2", 10.5, ""},
		{"9,5", 9.5, ""}, {"9.50", 9.5, ""}, {"10.0", 10, ""}, {"  8 ", 8, ""}, {"8\u00a0", 8, ""}, {"US 11", 11, ""}, {"11 us", 11, ""}, {"09", 9, ""},
		{"1", 1, ""}, {"32.5", 32.5, ""}, {"10 1⁄2", 10.5, ""},
		{"", 0, Empty}, {"   ", 0, Empty}, {"us", 0, Empty},
		{"9.25", 0, NotHalf}, {"9.75", 0, NotHalf}, {"9.1", 0, NotHalf}, {"9 1/4", 0, NotHalf}, {"9¾", 0, NotHalf},
		{"33", 0, European}, {"42", 0, European}, {"42.5", 0, European}, {"EU 42", 0, European}, {"60", 0, European},
		{"270", 0, Length}, {"999", 0, Length},
		{"0", 0, TooSmall}, {"0.5", 0, TooSmall}, {"00", 0, TooSmall},
		{"½", 0, Malformed}, {"101/2", 0, Malformed}, {"1,000", 0, Malformed}, {"10.", 0, Malformed}, {"10.5.", 0, Malformed}, {".5", 0, Malformed},
		{"-10", 0, Malformed}, {"+10", 0, Malformed}, {"1e1", 0, Malformed}, {"0x9", 0, Malformed}, {"ten", 0, Malformed}, {"10 D", 0, Malformed},
		{"1000", 0, Malformed}, {"10.500", 0, Malformed}, {"１０", 0, Malformed}, {"١٠", 0, Malformed}, {"10 5", 0, Malformed}, {"10\x00", 0, Malformed}, {"UK 9", 0, Malformed},
		{"9" + string(make([]byte, 100)), 0, Malformed},
	} {
		got, err := ParseSize(c.text)
		if got != half(c.want) || kindOf(err) != c.kind || (err == nil) != (c.kind == "") {
			t.Errorf("%q: got %v, %v, want %v %s", c.text, got, err, c.want, c.kind)
		}
	}
}

func TestParseSystem(t *testing.T) {
	for _, c := range []struct {
		text string
		want System
		kind InputKind
	}{
		{"mens", Mens, ""}, {"Men's", Mens, ""}, {"MEN’S", Mens, ""}, {" m ", Mens, ""}, {"men", Mens, ""},
		{"womens", Womens, ""}, {"Women's", Womens, ""}, {"WOMEN", Womens, ""}, {"w", Womens, ""},
		{"", "", Empty}, {"unisex", "", Ambiguous}, {"kids", "", Malformed}, {"menswear", "", Malformed},
	} {
		got, err := ParseSystem(c.text)
		if got != c.want || kindOf(err) != c.kind {
			t.Errorf("%q: got %q, %v, want %q %s", c.text, got, err, c.want, c.kind)
		}
	}
}

func TestParseWidth(t *testing.T) {
	for _, c := range []struct {
		text, mens, womens string
		kind               InputKind
	}{
		{"d", "D", "D", ""}, {"AA", "2A", "2A", ""}, {"eeee", "4E", "4E", ""}, {"1E", "E", "E", ""}, {"E-E", "2E", "2E", ""},
		{"Wide", "2E", "D", ""}, {"extra wide", "4E", "2E", ""}, {"X-Wide", "4E", "2E", ""}, {"Medium", "D", "B", ""}, {"slim", "2A", "4A", ""},
		{"EE (wide)", "2E", "", Malformed}, // on the women's scale EE is extra wide, so the two disagree
		{"B/M", "", "B", Malformed},        // and the other way round
		{"2E/EE", "2E", "2E", ""},
		{"", "", "", Empty}, {" - ", "", "", Empty}, {"()", "", "", Empty},
		{"S", "", "", Ambiguous}, {"s", "", "", Ambiguous},
		{"F", "", "", Malformed}, {"7E", "", "", Malformed}, {"5A", "", "", Malformed}, {"AAAAA", "", "", Malformed}, {"EEEEEEE", "", "", Malformed},
		{"BB", "", "", Malformed}, {"2D", "", "", Malformed}, {"D E", "", "", Malformed}, {"0E", "", "", Malformed}, {"Ｄ", "", "", Malformed},
	} {
		for system, want := range map[System]string{Mens: c.mens, Womens: c.womens} {
			got, err := ParseWidth(system, c.text)
			if got != want || want == "" && kindOf(err) != c.kind {
				t.Errorf("%s %q: got %q, %v, want %q %s", system, c.text, got, err, want, c.kind)
			}
		}
	}
	if _, err := ParseWidth("", "wide"); err == nil {
		t.Error("a word without a system: no error")
	}
}

// The two printed forms: the protocol's (section "entry text") and the pages'.
func TestPrint(t *testing.T) {
	for _, c := range []struct {
		h           Half
		text, shown string
	}{{21, "10.5", "10½"}, {20, "10", "10"}, {2, "1", "1"}, {1, "0.5", "½"}, {0, "0", "0"}, {-1, "-0.5", "-½"}, {-3, "-1.5", "-1½"}} {
		same(t, "text", c.h.String(), c.text)
		same(t, "shown", c.h.Shown(), c.shown)
	}
	same(t, "size", mens(10.5, "D").String(), "men’s 10½ D")
	same(t, "size without width", womens(8, "").String(), "women’s 8")
	same(t, "no size", Size{}.String(), "")
}

func TestFromText(t *testing.T) {
	for _, s := range []Size{{}, mens(10.5, "D"), womens(8, "2A"), mens(1, "6E")} {
		size := s.Size.String()
		if s.IsZero() {
			size = ""
		}
		got, err := FromText(string(s.System), size, s.Width)
		if err != nil || got != s {
			t.Errorf("%v: got %v, %v", s, got, err)
		}
	}
	for _, bad := range [][3]string{
		{"mens", "10.0", "D"}, {"mens", "10½", "D"}, {"mens", " 10", "D"}, {"mens", "010", "D"}, {"mens", "42", "D"}, {"mens", "", "D"},
		{"men", "10", "D"}, {"", "10", "D"}, {"mens", "10", ""}, {"mens", "10", "d"}, {"mens", "10", "EE"},
	} {
		if got, err := FromText(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("%q: got %v, want an error", bad, got)
		}
	}
}

func TestSizeJSON(t *testing.T) {
	for _, c := range []struct {
		s    Size
		want string
	}{{mens(10.5, "D"), `{"system":"mens","size":"10.5","width":"D"}`}, {Size{}, `{}`}} {
		text, err := json.Marshal(c.s)
		if err != nil || string(text) != c.want {
			t.Errorf("got %s, %v, want %s", text, err, c.want)
		}
		var back Size
		if err := json.Unmarshal(text, &back); err != nil || back != c.s {
			t.Errorf("%s: got %v, %v", text, back, err)
		}
	}
}

// Parse, print, parse: the same value, and the printed form is a fixed point.
func FuzzParseSize(f *testing.F) {
	for _, text := range []string{"10", "10.5", "10½", "10 1/2", "9,5", "9.25", "42", "US 9", "", "½", "1,000"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		h, err := ParseSize(text)
		if err != nil {
			if kindOf(err) == "" {
				t.Errorf("%q: %v is not an InputError", text, err)
			}
			return
		}
		for _, printed := range []string{h.String(), h.Shown()} {
			if again, err := ParseSize(printed); err != nil || again != h {
				t.Errorf("%q: %q reads back as %v, %v", text, printed, again, err)
			}
		}
		var strict Half
		if err := strict.UnmarshalText([]byte(text)); err == nil && strict.String() != text {
			t.Errorf("%q: strict reading prints %q", text, strict)
		}
	})
}

func FuzzParseWidth(f *testing.F) {
	for _, text := range []string{"D", "EE", "2e", "E E", "wide", "XW", "S", "D (medium)", "B/M", "", "_"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, system := range Systems() {
			width, err := ParseWidth(system, text)
			if err != nil {
				continue
			}
			if WidthRank(width) < 0 {
				t.Errorf("%s %q: %q is not on the ladder", system, text, width)
			}
			if again, err := ParseWidth(system, width); err != nil || again != width {
				t.Errorf("%s %q: %q reads back as %q, %v", system, text, width, again, err)
			}
		}
	})
}
