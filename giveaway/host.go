package giveaway

import (
	"context"
	"io"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// A Host makes the moves of all giveaways of one installation. Its methods may
// be called by any number of goroutines and processes at once.
type Host struct {
	Store    Store
	Outcomes OutcomeStore // for Pass and Confirm alone; the same store
	Desk     DeskStore    // for the desk's own moves, such as Cancel and HandIn; the same store
	Data     EraseStore   // for the deletion of personal data; the same store. Nil: none is due
	Keys     Keys
	Beacons  Beacons   // nil: a beacon's value has to be pasted
	Rand     io.Reader // a secure source

	// Now, where set, is read while a long list is written, for signs of
	// life and to see that the event has not come meanwhile. Without it the
	// time that Lock was given stands for all of it.
	Now func() time.Time
}

// Keys hold the installation's one signing key.
type Keys interface {
	// Signer returns the key; always the same one.
	Signer(ctx context.Context) (draw.Signer, error)
}

// Beacons fetch a round's signature.
type Beacons interface {
	// Fetch returns the signature, which it has verified, and in words where
	// it came from.
	Fetch(ctx context.Context, chain beacon.Chain, round uint64) (sig []byte, from string, err error)
}

// A Change is what a revision may change; nil leaves a thing as it is. Times
// may only become later (draw protocol, "opening.txt").
type Change struct {
	Closes, Event *Moment
	Rules         *string // a text of one's own in place of what stood
	Paragraphs    *string // one's own paragraphs; the rest of the rules is written anew from the terms
}
