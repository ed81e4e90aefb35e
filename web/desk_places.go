package web

import (
	"evenhand/giveaway"
)

// What was typed into the lists of countries is said back in words, and what
// can't be read in them is said at once: a list is typed blindly, and a name
// that is not known would else be found at the end.

// placeFaults are what can't be read in the lists of countries.
func (f termsForm) placeFaults() giveaway.Problems {
	r := formReader{}
	f.region(&r)
	return r.problems
}

// Places are the lists said back, by their field; "" where nothing is typed, or
// where a fault says what is wrong.
func (f termsForm) Places() map[string]string {
	r := formReader{}
	region := f.region(&r)
	said := map[string]string{"live": "", "ship": ""}
	for field, codes := range map[string][]string{"live": region.Live, "ship": region.Ship} {
		if len(codes) > 0 && len(r.problems.Of(field)) == 0 {
			said[field] = places(codes, nil) + "."
		}
	}
	return said
}

// placeWrongs are the faults of the lists by their field, for the page's script.
func (f termsForm) placeWrongs() map[string]string {
	wrong := map[string]string{}
	for _, p := range f.placeFaults() {
		wrong[p.Field] = joinFilled(" ", wrong[p.Field], p.Text)
	}
	return wrong
}
