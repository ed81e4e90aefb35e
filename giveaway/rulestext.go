package giveaway

import (
	"strings"
	"time"
)

// RulesText returns the rules of the giveaway: the text that was given, or,
// where none was, one written from the terms. It is Markdown that also reads
// well as plain text, and always the same for the same terms. After a change
// of times alone the posted text, Terms.Rules, still has the times before.
//
// Each sentence of a written text says what the programs do: entries, claims
// and the draw go by the same terms. What it asks of people (a parcel sent
// without cost, data deleted) it asks of the channel and the sponsor by name.
// Addresses in Barred are counted and not shown.
func (t Terms) RulesText() string {
	if t.Rules != "" && !t.RulesWritten {
		return t.Rules
	}
	r := rulesPaper{t: t.marked()}
	r.write()
	return r.String()
}

// WithRules returns the terms with the rules written out at a time where none
// were given. [Terms.AsPosted] is what is posted.
func (t Terms) WithRules(now time.Time) Terms {
	if t.Rules == "" || t.RulesWritten {
		t.RulesWritten, t.RulesDate = true, second(now)
		t.Rules = t.RulesText()
	}
	return t
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

// A rulesPaper is a text of rules in the making. The strings of its terms are
// marked: nothing in them is taken for Markdown.
type rulesPaper struct {
	strings.Builder
	t    Terms
	said []ruleSaid // what was written, in order
}

// write writes everything, a section at a time.
func (r *rulesPaper) write() {
	r.WriteString("# Rules: " + r.t.Title + "\n")
	if r.t.RulesDate.IsZero() {
		r.par("This is a draft; nothing is posted yet.")
	} else {
		r.par("Posted on " + r.day(r.t.RulesDate) + ".")
	}
	r.givers()
	r.prize()
	r.who()
	r.enter()
	r.draw()
	r.told()
	r.parcel()
	r.data()
	r.changes()
	if own := strings.TrimSpace(r.t.Paragraphs); own != "" {
		r.head("More from " + r.t.Channel)
		r.par(own)
	}
}

func (r *rulesPaper) head(text string) {
	r.WriteString("\n## " + text + "\n")
	r.said = append(r.said, ruleSaid{ruleHead, text})
}

// par writes one paragraph of the sentences that are not empty.
func (r *rulesPaper) par(sentences ...string) {
	var said []string
	for _, s := range sentences {
		if s != "" {
			said = append(said, s)
		}
	}
	if len(said) > 0 {
		r.saidAll(ruleSentence, said)
		r.WriteString("\n" + strings.Join(said, " ") + "\n")
	}
}

// items writes a list.
func (r *rulesPaper) items(list []string) {
	if len(list) > 0 {
		r.saidAll(ruleItem, list)
		r.WriteString("\n- " + strings.Join(list, "\n- ") + "\n")
	}
}

// many reports whether there is more than one prize.
func (r *rulesPaper) many() bool { return r.t.many() }

// day is a date in the zone of the draw.
func (r *rulesPaper) day(at time.Time) string {
	loc, place := r.t.Event.zone()
	return at.In(loc).Format("2 January 2006") + " (" + place + ")"
}

// both is a time in the zone in which it was announced, and in UTC.
func both(m Moment) string {
	if m.Zone == "UTC" {
		return m.Words()
	}
	return m.Words() + ", which is " + Moment{UTC: m.UTC, Zone: "UTC"}.Words()
}

// where returns text if it holds, "" otherwise.
func where(holds bool, text string) string {
	if holds {
		return text
	}
	return ""
}

// listed joins words: "a, b and c".
func listed(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}
