// Package eligibility decides who may enter a giveaway and where its prize can
// go. Each rule is a function from plain values to a Decision: yes, or no with
// a code, one plain sentence and, where there is one, the way out.
//
// Start with Region, the part of a giveaway's terms that names countries and
// states, and its method Decide. Window, Age, Rules and Barred are the other
// rules. ParseCountry, ParseState, Countries and States serve the form.
// CheckZIP and CheckPostalCode tell whether a postal code fits a state; that is
// a hint to ask again, never a reason to refuse.
//
// The package is pure: time is an argument, the postal tables are data. Their
// sources stand in testdata/facts/postal.md, against which the tests check them.
package eligibility

import (
	"slices"
	"strings"
	"time"
)

// Decision is the answer of one rule. The zero value is no answer.
type Decision struct {
	OK     bool   `json:"ok"`
	Code   string `json:"code,omitempty"`
	Reason string `json:"reason,omitempty"`  // one plain sentence
	WayOut string `json:"way_out,omitempty"` // what the viewer can do, or ""
}

// The codes of a no. The last five ask for a better answer in a field; the
// others refuse.
const (
	CodeLiveRegion          = "live-region"
	CodeShipRegion          = "ship-region"
	CodeAbroadWithoutFriend = "abroad-without-friend"
	CodeTooYoung            = "too-young"
	CodeNotYetOpen          = "not-yet-open"
	CodeWindowClosed        = "window-closed"
	CodeBarred              = "barred"

	CodeRules          = "rules"
	CodeAgeNeeded      = "age-needed"
	CodeStateNeeded    = "state-needed"
	CodeUnknownCountry = "unknown-country"
	CodeUnknownState   = "unknown-state"
)

// Field reports whether the decision only asks for a field to be filled in
// properly, so that a form shows it beside the field and keeps the door open.
func (d Decision) Field() bool {
	return slices.Contains([]string{CodeRules, CodeAgeNeeded, CodeStateNeeded, CodeUnknownCountry, CodeUnknownState}, d.Code)
}

// ExcludedReason is the reason that excluded.txt gives for an entry decided
// so: "region" or "ineligible"; "" if it was accepted.
func (d Decision) ExcludedReason() string {
	switch d.Code {
	case "":
		if d.OK {
			return ""
		}
	case CodeLiveRegion, CodeShipRegion, CodeAbroadWithoutFriend, CodeStateNeeded, CodeUnknownCountry, CodeUnknownState:
		return "region"
	}
	return "ineligible"
}

func yes() Decision { return Decision{OK: true} }

func no(code, reason, wayOut string) Decision {
	return Decision{Code: code, Reason: reason, WayOut: wayOut}
}

// Window decides whether now lies in [opens, closes): an entry at opens is in,
// one at closes is late.
func Window(now, opens, closes time.Time) Decision {
	switch {
	case now.Before(opens):
		return no(CodeNotYetOpen, "Entries are not open yet.", "Come back when they open.")
	case !now.Before(closes):
		return no(CodeWindowClosed, "Entries have closed.", "")
	}
	return yes()
}

// Rules decides whether the rules were accepted.
func Rules(accepted bool) Decision {
	if !accepted {
		return no(CodeRules, "Please read and accept the rules to enter.", "")
	}
	return yes()
}

// Barred decides whether an entrant, by canonical address, is one of those who
// may not win: the host, the sponsor's staff, their households.
func Barred(key string, barred []string) Decision {
	if slices.Contains(barred, key) {
		return no(CodeBarred, "The host said beforehand that this address can’t win.", "")
	}
	return yes()
}

// AgeRange is one neutral choice of the age question. Neither is preselected.
type AgeRange struct {
	Code  string // what the form sends: "under-18", "18-or-over"
	Label string // "under 18", "18 or over"
}

// AgeRanges are the choices for a least age in years, youngest first; none
// where there is no least age, so the question isn't asked.
func AgeRanges(least int) []AgeRange {
	if least <= 0 {
		return nil
	}
	n := itoa(least)
	return []AgeRange{{"under-" + n, "under " + n}, {n + "-or-over", n + " or over"}}
}

// Age decides by the chosen range's code or label.
func Age(least int, choice string) Decision {
	ranges := AgeRanges(least)
	if ranges == nil {
		return yes()
	}
	switch strings.ReplaceAll(strings.ToLower(strings.TrimSpace(choice)), " ", "-") {
	case ranges[0].Code:
		return no(CodeTooYoung, "This giveaway is for people who are "+itoa(least)+" or over.", "")
	case ranges[1].Code:
		return yes()
	}
	return no(CodeAgeNeeded, "Please choose your age range.", "")
}
