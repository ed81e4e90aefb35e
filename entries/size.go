package entries

import (
	"regexp"
	"strings"

	"evenhand/giveaway"
	"evenhand/sizing"
)

// nearestOffers is how many sizes are offered for one that the sponsor lacks.
const nearestOffers = 3

// SizeTyped is the size as typed, in one line: what SizeSeen is compared with.
func (f Form) SizeTyped() string {
	return strings.ToLower(strings.Join(strings.Fields(f.System+" "+f.Size+" "+f.Width), " "))
}

// readSize reads the size by the terms. A size that the sponsor lacks is told
// once, with the nearest; sent again it is taken, to be settled if it wins.
func (d *decision) readSize() {
	if d.terms.Sizes == nil {
		return
	}
	size, problems := parseSize(d.form, *d.terms.Sizes)
	d.Fields = append(d.Fields, problems...)
	if len(problems) > 0 {
		return
	}
	d.Entry.Size = size
	if d.terms.Sizes.Run.Has(size) {
		return
	}
	hint := d.otherSizes(size)
	if d.form.SizeSeen != "" && d.form.SizeTyped() == strings.ToLower(strings.Join(strings.Fields(d.form.SizeSeen), " ")) {
		d.Hints = append(d.Hints, hint)
	} else {
		d.Fields = append(d.Fields, hint)
	}
}

// otherSizes says that the sponsor lacks a size and offers the nearest.
func (d *decision) otherSizes(size sizing.Size) Problem {
	p := Problem{Field: "size"}
	var words []string
	for _, near := range d.terms.Sizes.Run.Nearest(size, d.terms.Sizes.Scale, nearestOffers) {
		text := near.String()
		if near.System == size.System {
			text = near.Size.Shown() + " " + near.Width
		}
		words = append(words, text)
		p.Offers = append(p.Offers, Offer{Text: text, Values: map[string]string{
			"system": string(near.System), "size": near.Size.String(), "width": near.Width,
		}})
	}
	p.Text = d.terms.Sponsor + " doesn’t make a " + size.String() + ". The nearest are " +
		list(words) + ". You can also send your own size again as it is and settle it if you win."
	return p
}

// list joins words: "a, b and c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// whole finds system, number and width in one field, as some forms ask for
// them: "men’s 10.5 D", "US 9 1/2 wide".
var whole = regexp.MustCompile(`^(?i:us)?\s*([\pL’'‘` + "`" + `]*?)\s*(?i:us)?\s*(\d{1,3}(?:[.,]\d+|\s*½|[ -]\d/\d)?)\s*(.*)$`)

// parseSize reads the three fields. A run with one system or one width needs
// no answer for that.
func parseSize(f Form, terms giveaway.SizeTerms) (sizing.Size, []Problem) {
	system, number, width := f.System, f.Size, f.Width
	if m := whole.FindStringSubmatch(strings.TrimSpace(number)); m != nil {
		if blank(system) && !blank(m[1]) {
			system, number = m[1], m[2]+" "+m[3]
		}
		if blank(width) && !blank(m[3]) {
			number, width = m[2], m[3]
		}
	}
	if systems := terms.Run.Systems(); blank(system) && len(systems) == 1 {
		system = string(systems[0])
	}
	var s sizing.Size
	var problems []Problem
	var err error
	if s.System, err = sizing.ParseSystem(system); err != nil {
		problems = append(problems, Problem{Field: "system", Text: inputSentence(err)})
	}
	if s.Size, err = sizing.ParseSize(number); err != nil {
		problems = append(problems, Problem{Field: "size", Text: inputSentence(err)})
	}
	if widths := terms.Run.Widths(s.System); blank(width) && len(widths) == 1 {
		width = widths[0]
	}
	if s.System != "" {
		if s.Width, err = sizing.ParseWidth(s.System, width); err != nil {
			problems = append(problems, Problem{Field: "width", Text: inputSentence(err)})
		}
	}
	return s, problems
}

func blank(s string) bool { return strings.TrimSpace(s) == "" }
