package web

import (
	"slices"
	"strings"

	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// sizeFields are the three controls of a size.
type sizeFields struct {
	System, Number, Width field
	Seen                  string
	Sponsor               string
}

// Faulty are those with messages, in order.
func (s sizeFields) Faulty() []field {
	return slices.DeleteFunc([]field{s.System, s.Number, s.Width}, func(f field) bool { return !f.Invalid() })
}

// Keep reports whether the messages are only offers: then one's own size may
// be sent again.
func (s sizeFields) Keep() bool {
	all := s.Faulty()
	return len(all) == 1 && len(all[0].Offers()) > 0
}

// sizeOf makes the size's fields. Standard width stands first, and is what
// most people have.
func sizeOf(t giveaway.Terms, st formState) *sizeFields {
	s := &sizeFields{
		System:  st.text("system", "Men’s or women’s", "", st.Form.System, "off"),
		Number:  st.text("size", "US size", "", st.Form.Size, "off"),
		Width:   st.text("width", "Width", "", st.Form.Width, "off"),
		Sponsor: t.Sponsor,
	}
	s.System.Groups = options(st.Form.System, option{"", "Choose …", false}, option{"mens", "Men’s", false}, option{"womens", "Women’s", false})
	s.Width.Groups = widthGroups(st.Form, t.Sizes.Run)
	s.System.Needed, s.Number.Needed = true, true
	if st.Sent {
		s.Seen = st.Form.SizeTyped()
	} else {
		s.Seen = st.Form.SizeSeen
	}
	return s
}

var widthWordsOrder = []string{"standard", "extra narrow", "narrow", "wide", "extra wide", "triple wide"}

// widthGroups offers the widths that the sizes come in, by word with its letters,
// and by letter where some letter has no word; the ordinary one always, and the
// one that was chosen.
func widthGroups(f entries.Form, run sizing.Run) []group {
	var words, letters []option
	alone := false // a letter needs an option of its own
	for _, w := range widthWordsOrder {
		chosen := strings.EqualFold(f.Width, w) || f.Width == "" && w == "standard"
		if chosen || w == "standard" || comesIn(run, w) {
			words = append(words, option{w, w + lettersOf(run, w), chosen})
		}
	}
	for _, l := range sizing.Ladder() {
		if chosen := strings.EqualFold(f.Width, l); chosen || comesIn(run, l) {
			letters = append(letters, option{l, l + onlyIn(run, l), chosen})
			alone = alone || chosen || !worded(run, l)
		}
	}
	if !alone {
		return []group{{"", words}}
	}
	return []group{{"", words}, {"by letter", letters}}
}

// worded reports whether a letter has a word in all of the sizes that come in it.
func worded(run sizing.Run, letter string) bool {
	return !slices.ContainsFunc(systemsOf(run), func(system sizing.System) bool {
		return (run.Empty() || slices.Contains(run.Widths(system), letter)) && sizing.WidthWord(system, letter) == ""
	})
}

// systemsOf are those that sizes come in; sizes that are not told apart may come
// in any.
func systemsOf(run sizing.Run) []sizing.System {
	if run.Empty() {
		return sizing.Systems()
	}
	return run.Systems()
}

// lettersOf says which letter a word for a width stands for, since it is another
// one in men's and in women's sizes: " (men’s D, women’s B)"; " (D)" where all
// are men's.
func lettersOf(run sizing.Run, word string) string {
	var letters []string
	systems := systemsOf(run)
	for _, system := range systems {
		letter, err := sizing.ParseWidth(system, word)
		switch {
		case err != nil || word != "standard" && !run.Empty() && !slices.Contains(run.Widths(system), letter):
		case len(systems) == 1:
			letters = append(letters, letter)
		default:
			letters = append(letters, system.Shown()+" "+letter)
		}
	}
	if len(letters) == 0 {
		return ""
	}
	return " (" + strings.Join(letters, ", ") + ")"
}

// onlyIn says of a letter whose sizes alone come in it; "" where all do.
func onlyIn(run sizing.Run, letter string) string {
	in := slices.DeleteFunc(slices.Clone(systemsOf(run)), func(system sizing.System) bool {
		return !run.Empty() && !slices.Contains(run.Widths(system), letter)
	})
	if len(in) != 1 || len(systemsOf(run)) == 1 {
		return ""
	}
	return ", " + in[0].Shown() + " only"
}

// comesIn reports whether a width, a word or a letter, exists in men's or in
// women's sizes. Sizes that are not told apart may come in any.
func comesIn(run sizing.Run, width string) bool {
	return run.Empty() || slices.ContainsFunc(run.Systems(), func(system sizing.System) bool {
		letter, err := sizing.ParseWidth(system, width)
		return err == nil && slices.Contains(run.Widths(system), letter)
	})
}
