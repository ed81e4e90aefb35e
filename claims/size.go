package claims

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"evenhand/giveaway"
	"evenhand/sizing"
)

// nearest is how many sizes are offered for one that the sponsor lacks.
const nearest = 3

func itoa(n int) string { return strconv.Itoa(n) }

// readSize reads the size, the entered one where the fields are empty. Only
// what the sponsor makes is taken; the nearest are offered for anything else.
func (d *decision) readSize() {
	if d.terms.Sizes == nil {
		return
	}
	size := d.entry.Entry.Size
	if strings.TrimSpace(d.form.System+d.form.Size+d.form.Width) != "" {
		var problems []Problem
		if size, problems = parseSize(d.form); len(problems) > 0 {
			d.problems = append(d.problems, problems...)
			return
		}
	}
	d.Size = size
	if d.terms.Sizes.Run.Has(size) {
		return
	}
	p := Problem{Field: "size", Text: d.terms.Sponsor + " doesn’t make a " + size.String() + ". Please choose one that it makes; the nearest are below."}
	for _, near := range d.terms.Sizes.Run.Nearest(size, d.terms.Sizes.Scale, nearest) {
		p.Offers = append(p.Offers, Offer{Text: near.String(), Values: map[string]string{
			"system": string(near.System), "size": near.Size.String(), "width": near.Width,
		}})
	}
	d.problems = append(d.problems, p)
}

func parseSize(f Form) (sizing.Size, []Problem) {
	var s sizing.Size
	var problems []Problem
	add := func(field string, err error) {
		var input *sizing.InputError
		if errors.As(err, &input) {
			problems = append(problems, Problem{Field: field, Text: input.Sentence})
		}
	}
	var err error
	s.System, err = sizing.ParseSystem(f.System)
	add("system", err)
	s.Size, err = sizing.ParseSize(f.Size)
	add("size", err)
	if s.System != "" {
		s.Width, err = sizing.ParseWidth(s.System, f.Width)
		add("width", err)
	}
	return s, problems
}

// Conversion says a size on the other scale, as advice for whoever packs:
// "about women’s 12 B; foot 275 mm, Mondopoint 275". "" without sizes.
func Conversion(s sizing.Size, t giveaway.Terms) string {
	if s.IsZero() || t.Sizes == nil {
		return ""
	}
	other := sizing.Mens
	if s.System == sizing.Mens {
		other = sizing.Womens
	}
	scale := t.Sizes.Scale
	return fmt.Sprintf("about %s; for a foot of %d mm (Mondopoint %d)",
		sizing.Convert(s, other, scale), int(math.Round(sizing.FootMM(s, scale))), sizing.Mondopoint(s, scale))
}
