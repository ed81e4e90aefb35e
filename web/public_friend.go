package web

import (
	"slices"
	"time"

	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
)

// friendFirst turns a refusal that a friend's tick would undo into a question
// beside that tick: whoever lives abroad is asked for one thing more, and not
// sent away. What else is to be put right is said in the same answer, and who
// can't enter with a friend either reads why. Nothing is ticked for anybody.
func friendFirst(st formState, t giveaway.Terms, at time.Time) formState {
	if !st.Sent || !t.Region.Friend || st.Form.Friend != "" || !overParcel(st.Verdict) {
		return st
	}
	with := st.Form
	with.Friend = "yes"
	again := entries.Decide(with, t, at)
	switch {
	case overParcel(again):
		return st
	case again.Refusal != nil:
		st.Verdict = again
		return st
	}
	state := slices.ContainsFunc(again.Fields, forState)
	asked := entries.Problem{Field: "friend", Text: friendQuestion(st.Form.Live, t.Region.Ship, state)}
	st.Verdict = entries.Verdict{Fields: append([]entries.Problem{asked}, slices.DeleteFunc(again.Fields, forState)...)}
	st.Friendly = true
	return st
}

// overParcel reports whether somebody was refused for where the parcel can't go.
func overParcel(v entries.Verdict) bool {
	return v.Refusal != nil && slices.Contains([]string{eligibility.CodeShipRegion, eligibility.CodeAbroadWithoutFriend}, v.Refusal.Code)
}

// forState is about the state that the friend lives in: the question for the
// friend asks for it too.
func forState(p entries.Problem) bool { return p.Field == "ship_state" }

// friendQuestion asks for a friend where the parcel can go, and for their state.
func friendQuestion(live string, ship []string, state bool) string {
	do := "tick this box"
	if state {
		do = "tick this box, then choose their state,"
	}
	home := "where you live"
	if code, err := eligibility.ParseCountry(live); err == nil {
		home = eligibility.CountryPhrase(code) + ", where you live"
	}
	return "The parcel can’t go to " + home + ". If a friend in " + friendPlace(ship) + " can receive it for you, " + do +
		" and send the form again. You only name them if you win. Without such a friend you can’t enter."
}
