package giveaway

import "time"

// A TypedForm is a form of a giveaway that is being written, kept as it was
// typed: whoever closes the laptop in the middle goes on on the phone.
type TypedForm struct {
	Key     string // random, 16 characters or more, for a new giveaway; "g/<id>" for a draft that is changed
	Title   string // what a list of forms shows
	Values  []byte // the fields, as whoever keeps the form wrote them
	Version int64  // greater after each save; what a save was made from, 0 for the first
	At      time.Time
}
