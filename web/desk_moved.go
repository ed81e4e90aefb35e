package web

import (
	"strings"

	"evenhand/giveaway"
)

// zoneMovedNames are the times of the terms in a sentence.
var zoneMovedNames = map[string]string{"opens": "The start of entries", "closes": "The end of entries", "event": "The draw"}

// zoneMoved says which times newer zone data move, a line each; nothing once
// the draw is made or called off.
func zoneMoved(g giveaway.Giveaway) []string {
	if g.State == giveaway.StateDrawn || g.State == giveaway.StateCancelled {
		return nil
	}
	var lines []string
	for _, m := range giveaway.Moved(g.Terms) {
		said := strings.Replace(m.Said.Local, "T", " at ", 1)
		words := zoneMovedNames[m.Field] + " was announced for " + said + " on the clocks there. Their rules have changed since: the same moment is now " + timeWords(m.Said) + "."
		if g.State == giveaway.StateDraft {
			words += " Look at that time again before you post it."
		} else {
			words += " The posted moment stands; tell your viewers what their clocks will show."
		}
		lines = append(lines, words)
	}
	return lines
}
