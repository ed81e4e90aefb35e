package giveaway

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"evenhand/address"
	"evenhand/draw"
)

// More limits of terms. Common practice, no source, save for the seals (draw
// protocol: at most 8, the host's among them).
const (
	maxParagraphs = 20_000 // bytes
	maxKeepDays   = 3650
	maxSeconds    = 7
	maxCents      = 100_000_000_00
	maxBarred     = 2000 // lines; a page that says something of each stays readable
)

// What terms may name, in the order in which forms offer it.
var (
	Currencies = []string{"USD", "CAD", "GBP", "EUR", "AUD", "NZD"}
	StepKinds  = []string{StepFollow, StepShare, StepReview, StepRefer, StepPay, StepOther}
	Filings    = []string{"NY", "FL", "RI"}
)

// checkMore checks what the rules and the cautions are written from.
func (t Terms) checkMore(p *Problems) {
	p.line("sponsor_address", t.SponsorAddress, false)
	p.worth(t.Worth)
	p.line("disclosure", t.Disclosure, false)
	p.oneOf("step_kinds", t.StepKinds, StepKinds)
	if t.BarredTick && len(t.Barred) == 0 {
		p.add("barred_tick", "Say who may not win before you ask for a tick about it.")
	}
	if len(t.Barred) <= maxBarred {
		p.barred(t.Barred)
	}
	if t.KeepDays != 0 { // 0: left out
		p.inRange("keep_days", t.KeepDays)
	}
	p.oneOf("filed", t.Filed, Filings)
	p.seconds(t.Seconds)
}

// barred checks the addresses that may not win as the entry form does: one that
// it would not take bars nobody.
func (p *Problems) barred(list []string) {
	for i, b := range list {
		field := fmt.Sprintf("barred.%d", i)
		if !strings.Contains(b, "@") {
			continue
		}
		if !IsAddress(b) {
			p.add(field, "Write an e-mail address on a line of its own, and nothing else beside it: a sentence is published with the rules, an address is not.")
			continue
		}
		var wrong *address.Error
		if _, err := address.Canonical(b); errors.As(err, &wrong) {
			p.add(field, "Nobody could enter with this address, so it bars nobody. %s", wrong.Sentence)
		}
	}
}

func (p *Problems) worth(w *Worth) {
	if w == nil {
		return
	}
	if w.Cents < 1 || w.Cents > maxCents {
		p.add("worth.cents", "Write what one prize costs in a shop, more than nothing.")
	}
	if !slices.Contains(Currencies, w.Currency) {
		p.add("worth.currency", "Write one of %s.", strings.Join(Currencies, ", "))
	}
}

// oneOf checks that each of a list is known and stands once.
func (p *Problems) oneOf(field string, list, known []string) {
	for i, s := range list {
		at := fmt.Sprintf("%s.%d", field, i)
		switch {
		case !slices.Contains(known, s):
			p.add(at, "Write one of %s.", strings.Join(known, ", "))
		case slices.Contains(list[:i], s):
			p.add(at, "This stands in the list already.")
		}
	}
}

func (p *Problems) seconds(list []Second) {
	if len(list) > maxSeconds {
		p.add("seconds", "Take %d second secrets at most.", maxSeconds)
	}
	for i, s := range list {
		at := fmt.Sprintf("seconds.%d.", i)
		switch {
		case !draw.ValidRole(s.Role) || s.Role == HostRole:
			p.add(at+"role", "Write a short name of a–z, 0–9 and hyphens that begins with a letter, such as sponsor; not %s.", HostRole)
		case i > 0 && list[i-1].Role >= s.Role:
			p.add(at+"role", "Give each second secret a short name of its own, in the order of the alphabet.")
		}
		p.line(at+"who", s.Who, true)
		if s.Hash.IsZero() {
			p.add(at+"hash", "Paste the fingerprint of their secret, 64 characters.")
		}
	}
}

// checkRules checks the text of the rules, where there is one already, and the
// creator's own paragraphs.
func (t Terms) checkRules(p *Problems) {
	p.text("rules", t.Rules, maxRulesBytes)
	p.text("paragraphs", t.Paragraphs, maxParagraphs)
	switch {
	case t.Rules != "" && strings.TrimSpace(t.Rules) == "", t.Rules == "" && t.RulesWritten:
		p.add("rules", "Give the rules, or leave them out: then they are written from what you filled in.")
	case t.RulesWritten == t.RulesDate.IsZero(), t.RulesDate.Nanosecond() != 0, t.RulesDate.Year() > 9999:
		p.add("rules", "Leave out rules_written and rules_date: both are set when the terms are posted.")
	}
}

// text checks a text of several lines.
func (p *Problems) text(field, s string, most int) {
	switch {
	case len(s) > most:
		p.add(field, "Shorten this to %d bytes.", most)
	case !utf8.ValidString(s):
		p.add(field, "Give this as UTF-8 text.")
	}
}
