package web

import (
	"fmt"
	"strings"

	"evenhand/draw"
	"evenhand/giveaway"
)

// changedLines are the times that change, old beside new.
func changedLines(old, next giveaway.Terms) []changedLine {
	var lines []changedLine
	add := func(name string, was, is giveaway.Moment) {
		if !was.UTC.Equal(is.UTC) {
			lines = append(lines, changedLine{name, timeWords(was), timeWords(is)})
		}
	}
	add("Entries close", old.Closes, next.Closes)
	add("The draw", old.Event, next.Event)
	return lines
}

// costsOf are the sentences that every check will say of a change from then
// on: those of the check itself (package draw), in the words of pages.
func costsOf(old, next draw.Opening, zone string) []string {
	var said []string
	if !next.Closes.Equal(old.Closes) {
		said = append(said, fmt.Sprintf("closes from %s to %s", draw.FormatTime(old.Closes), draw.FormatTime(next.Closes)))
	}
	if !next.Event.Equal(old.Event) {
		said = append(said, fmt.Sprintf("event from %s to %s", draw.FormatTime(old.Event), draw.FormatTime(next.Event)))
	}
	if next.Rules != old.Rules {
		said = append(said, fmt.Sprintf("rules from %s to %s", old.Rules, next.Rules))
	}
	if !next.Revised.Before(old.Event) {
		said = append(said, "moved after the event: a result may have been tried and dropped")
	}
	if next.Rules != old.Rules && !next.Revised.Before(old.Closes) {
		said = append(said, "rules changed after entries closed")
	}
	for i, one := range said {
		f := inWords("", draw.Finding{Level: draw.Remark, Text: one}, zone)
		var b strings.Builder
		for _, p := range f.Parts {
			b.WriteString(p.Text)
		}
		said[i] = strings.TrimSpace(b.String())
	}
	return said
}

// costMark tells one set of costs, and one text, from another.
func costMark(p surePage) string {
	return draw.Hash([]byte(strings.Join(p.Costs, "\n") + "\n" + string(p.Rules))).String()[:16]
}
