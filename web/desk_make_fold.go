package web

import (
	"slices"
	"strconv"
	"strings"
)

// Parts of the form that are seldom touched are folded. They open where they
// hold something other than at first, or where something in them is wrong.

// anyOf reports whether something is wrong with one of these fields.
func (p termsPage) anyOf(fields ...string) bool {
	for _, f := range fields {
		if len(p.Of(f)) > 0 {
			return true
		}
	}
	return false
}

// MoreWho: the rarer fields of who can win.
func (p termsPage) MoreWho() bool {
	f := p.F
	return f.Territories || f.Military || f.FreelyAssociated || f.NotLive+f.NotShip+f.Carriers != "" || len(f.Filed) > 0 || p.anyOf("not_live", "not_ship", "carriers", "filed_NY")
}

// BarredOpen: who else may not win, and the tick about it.
func (p termsPage) BarredOpen() bool {
	return p.F.Barred != "" || !p.F.BarredTick || p.anyOf("barred", "barred_tick")
}

// moreFields are the fields of the last fold, as the labels have them.
var moreFields = []string{"title", "draw", "follows", "steps", "number", "second_who", "second_role", "second_hash", "paragraphs", "rules"}

// MoreOpen: the last fold, with all that is seldom touched. A name that was
// proposed stays folded.
func (p termsPage) MoreOpen() bool {
	f := p.F
	return f.Title != "" && f.Title != headingOf(f.Prize) || f.Follows != "" || p.StepsOpen() || !f.Number || p.SecondsOpen() ||
		f.Paragraphs+f.Rules != "" || slices.ContainsFunc(p.Faults, func(one fault) bool { return slices.Contains(moreFields, baseField(one.Field)) })
}

// AfterOpen: the numbers of what comes after the draw. It opens too where one
// of them would leave time to lock the list by hand; see [termsForm.lockSaid].
func (p termsPage) AfterOpen() bool {
	f, first := p.F, newForm()
	return f.Alternates != first.Alternates || f.KeepDays != first.KeepDays || f.LockMinutes != first.LockMinutes ||
		f.lockHelps() ||
		p.anyOf("alternates", "keep_days", "lock_minutes")
}

// SecondsOpen: the secrets of others.
func (p termsPage) SecondsOpen() bool {
	return len(p.F.Seconds) > 0 || slices.ContainsFunc(p.Faults, func(f fault) bool { return strings.HasPrefix(f.Field, "second_") })
}

// StepsOpen: the creator's own steps.
func (p termsPage) StepsOpen() bool {
	return p.F.Steps != "" || len(p.F.StepKinds) > 0 || p.anyOf("steps")
}

// AfterWords say what stands in the folded numbers.
func (f termsForm) AfterWords() string {
	count := func(typed, one, more string) string {
		n, err := strconv.ParseInt(typed, 10, 64)
		if err != nil {
			return typed + " " + more
		}
		return many(n, one, more)
	}
	locks := strings.TrimSpace(f.LockMinutes) + " minutes before the draw."
	if f.lock().AtClosing() {
		locks = "when entries close."
	}
	return capitalized(count(f.Alternates, "is next in line", "are next in line")) +
		"; people’s data are deleted after " + count(f.KeepDays, "day", "days") + "; the list locks itself " + locks
}

// ScaleSaid says how far men’s and women’s numbers lie apart.
func (f termsForm) ScaleSaid() string {
	return "Men’s and women’s numbers: " + map[string]string{"2": "1", "3": "1½", "4": "2"}[f.Scale] + " apart"
}
