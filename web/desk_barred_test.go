package web

import (
	"slices"
	"strings"
	"testing"

	"evenhand/giveaway"
)

// The tick for the sponsor's own people puts one line into the terms and takes
// it out again; the others stay, and the form brings all of it back. No source
// outside.
func TestBarredStaff(t *testing.T) {
	const line, home = "People who work for Larkspur Trail Supply", "Everybody who lives with me"
	for _, c := range []struct {
		name, sponsor, typed string
		staff                bool
		want                 []string
		rest                 string // the box afterwards
	}{
		{"nobody", "Larkspur Trail Supply", "", false, nil, ""},
		{"staff", "Larkspur Trail Supply", "", true, []string{line}, ""},
		{"staff and others", "Larkspur Trail Supply", home + "\nsam@example.org", true, []string{line, home, "sam@example.org"}, home + "\nsam@example.org"},
		{"written and ticked", "Larkspur Trail Supply", home + "\n" + line, true, []string{line, home}, home},
		{"only others", "Larkspur Trail Supply", home, false, []string{home}, home},
		{"no sponsor yet", "", "", true, []string{"People who work for the sponsor"}, ""},
	} {
		f := newForm()
		f.Sponsor, f.Barred, f.BarredStaff = c.sponsor, c.typed, c.staff
		terms, _ := readTermsForm(f.values()).onto(giveaway.Terms{})
		if !slices.Equal(terms.Barred, c.want) || terms.BarredTick != (len(c.want) > 0) {
			t.Errorf("%s: %q, tick %t, want %q", c.name, terms.Barred, terms.BarredTick, c.want)
		}
		if back := formOf(terms); back.BarredStaff != c.staff || back.Barred != c.rest || !back.BarredTick {
			t.Errorf("%s: comes back as %t %q, tick %t", c.name, back.BarredStaff, back.Barred, back.BarredTick)
		}
	}
}

// Another sponsor's name changes the line with it; without the tick about it
// nobody is asked for one.
func TestBarredStaffFollowsTheSponsor(t *testing.T) {
	f := formOf(giveaway.Terms{Sponsor: "Larkspur Trail Supply", Barred: []string{"People who work for Larkspur Trail Supply"}})
	if f.BarredTick {
		t.Error("a tick that the terms don’t ask for came back")
	}
	f.Sponsor = "Moss & Fern"
	if got, _ := f.onto(giveaway.Terms{}); !slices.Equal(got.Barred, []string{"People who work for Moss & Fern"}) || got.BarredTick {
		t.Errorf("%q, tick %t", got.Barred, got.BarredTick)
	}
	page := makingPage(t, f, nil)
	if !strings.Contains(page, `People who work for <span data-staff>Moss &amp; Fern</span> can’t win`) || !strings.Contains(page, `name="barred_staff" value="yes" checked`) {
		t.Error("the page lacks the tick by the sponsor’s name")
	}
	if f := newForm(); foldedAt(makingPage(t, f, nil), "barred_staff") || !foldedAt(makingPage(t, f, nil), "barred") {
		t.Error("the tick is folded, or the box is not")
	}
}
