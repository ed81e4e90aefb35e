package claims

import (
	"regexp"
	"strconv"
	"time"

	"evenhand/giveaway"
)

// A PlaceLine is what the log keeps of a place once something was written down
// for it. It names nobody.
type PlaceLine struct {
	Place int
	What  string // one of those below, or the kind of a mark
	At    time.Time
}

// What a PlaceLine says beside the kinds of marks.
const (
	LineLetter = "letter" // the creator said that the letter is sent
	LineAnswer = "answer" // the first answer
	LineChange = "change" // an answer that takes the place of one before
	LineReply  = "reply"  // an answer to a question of the sponsor
)

var placeLine = regexp.MustCompile(`^place ([1-9][0-9]{0,8}): ([a-z-]+)$`)

// ReadPlaceLine reads a line of the log; false for one that is about something
// else.
func ReadPlaceLine(l giveaway.LogLine) (PlaceLine, bool) {
	m := placeLine.FindStringSubmatch(l.What)
	if m == nil {
		return PlaceLine{}, false
	}
	n, err := strconv.Atoi(m[1])
	return PlaceLine{Place: n, What: m[2], At: l.At}, err == nil
}
