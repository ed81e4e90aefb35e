package web

import (
	"slices"
	"strings"

	"evenhand/giveaway"
)

// Who is left out most often is whoever works for the sponsor. The form has a
// tick for them; its line follows the sponsor's name.

// staffLine is the line of the terms that leaves out who works for a sponsor.
func staffLine(sponsor string) string { return "People who work for " + staffOf(sponsor) }

func staffOf(sponsor string) string { return orText(sponsor, "the sponsor") }

// StaffOf is whose people the tick leaves out.
func (f termsForm) StaffOf() string { return staffOf(f.Sponsor) }

// barred are all lines of who is left out, those of the sponsor first and once.
func (f termsForm) barred() []string {
	lines := splitLines(f.Barred)
	if !f.BarredStaff {
		return lines
	}
	staff := staffLine(f.Sponsor)
	lines = slices.DeleteFunc(lines, func(one string) bool { return one == staff })
	return append([]string{staff}, lines...)
}

// barredOf fills in who is left out by terms. Where it is nobody the tick
// stays as a new form has it.
func (f *termsForm) barredOf(t giveaway.Terms) {
	lines := t.Barred
	if len(lines) == 0 {
		return
	}
	if lines[0] == staffLine(t.Sponsor) {
		f.BarredStaff, lines = true, lines[1:]
	}
	f.Barred, f.BarredTick = strings.Join(lines, "\n"), t.BarredTick
}
