package web

import (
	"strings"

	"evenhand/entries"
)

var fateWords = map[entries.Fate]string{
	entries.FateIn: "In the draw", entries.FateOut: "Not in the draw", entries.FateAgain: "Brought in",
	entries.FateThere: "In already by another way", entries.FateUnreadable: "Can’t be read",
}

// originWords say how an entry came.
var originWords = map[string]string{
	entries.OriginForm: "by the form", entries.OriginFile: "from a file", entries.OriginPaper: "on paper",
}

// rowWords says a row's fate.
func rowWords(p entries.Planned) tryRow {
	r := tryRow{Row: p.Row, Becomes: fateWords[p.Fate], Notes: p.Notes}
	switch p.Fate {
	case entries.FateIn:
	case entries.FateOut:
		r.Why = outWords(p.Reason, p.Why)
	case entries.FateThere:
		r.Becomes = "In already " + wordOr(originWords, p.By)
	case entries.FateAgain:
		r.Ticket, r.Becomes = p.Ticket.Grouped(), fateWords[entries.FateIn]
		if p.Reason != "" {
			r.Becomes, r.Why = fateWords[entries.FateOut], outWords(p.Reason, p.Why)
		}
	case entries.FateUnreadable:
		r.Why = unreadableWords(p.Why)
	}
	return r
}

// unreadableWords say why a row can’t be read, where that much is said already.
func unreadableWords(why string) string {
	return capitalized(curly(endSentence(strings.Replace(why, " can't be read: ", ": ", 1))))
}

// outWords say why a row is not in the draw: the finer reason where there is
// one.
func outWords(reason, why string) string {
	if why == "" {
		why = wordOr(reasonWords, reason)
	}
	if field, text, ok := strings.Cut(why, ": "); ok && fieldWords[field] != "" {
		why = fieldWords[field] + ": " + text
	}
	return capitalized(curly(endSentence(why)))
}

// fieldWords name the field that a reason begins with.
var fieldWords = map[string]string{
	"email": "the address", "system": "men’s or women’s", "size": "the size", "width": "the width", "live": "where they live", "state": "the state",
	"ship": "where to send it", "ship_state": "the state to send it to", "name": "the name", "age": "the age", "rules": "the rules", "answers": "an answer",
}

func endSentence(s string) string {
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".?!") {
		return s
	}
	return s + "."
}
