package giveaway

import (
	"fmt"
	"strings"
	"time"
)

// RulesText returns the rules of the giveaway: the text that was given, or,
// where none was, one written from the terms. It is Markdown that also reads
// well as plain text, and always the same for the same terms.
func (t Terms) RulesText() string {
	if t.Rules != "" && !t.RulesWritten {
		return t.Rules
	}
	return t.writtenRules()
}

// WithRules returns the terms as they are posted at a time: with the rules
// written out where none were given.
func (t Terms) WithRules(now time.Time) Terms {
	if t.Rules == "" || t.RulesWritten {
		t.RulesWritten, t.RulesDate = true, second(now)
		t.Rules = t.RulesText()
	}
	return t
}

func (t Terms) writtenRules() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Rules: %s\n\n%s gives away %s. %s sends the prize.\n", t.Title, t.Channel, t.PrizeWithin(), t.Sponsor)
	if t.Paragraphs != "" {
		fmt.Fprintf(&b, "\n## Also\n\n%s\n", strings.TrimSpace(t.Paragraphs))
	}
	return b.String()
}

// ValueWords is what one prize is worth, in words; "" where nothing was said.
func (t Terms) ValueWords() string {
	if t.Value == "" && t.Worth != nil {
		return t.Worth.Words()
	}
	return t.Value
}

// DaysKept is the number of days from the end of all handling until personal
// data are deleted.
func (t Terms) DaysKept() int {
	if t.KeepDays == 0 {
		return DefaultKeepDays
	}
	return t.KeepDays
}
