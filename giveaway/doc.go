// Package giveaway knows what a giveaway is: its terms, its states, and the
// moves between them, up to the draw and to who gets the prize.
//
// # Where to start
//
// [ReadTerms] reads a [Terms] value, the one JSON value that the desk stores
// and the command line reads. [Opening] and [Revision] turn terms into the
// posted terms of the draw protocol. A [Giveaway] is one row: terms, state,
// current opening. A [Host] makes the moves: Draft, Open, Revise, Lock, Draw.
// [Host.Due] says what the once-a-second tick has to do. After the draw,
// [Host.Pass] and [Host.Confirm] publish what becomes of each place, and
// [Host.Outcome] says how they stand.
//
// # What it promises
//
// Every move is idempotent: if two people press one button at once, or one
// presses it twice, exactly one of them changes the row, and both get the
// giveaway as it then stands, without an error. The [Store] settles that by
// compare-and-swap; this package reads the row again when it has lost.
//
// No move writes a note that a check of the publication would fault: a move
// that comes too early returns [ErrTooEarly] with the time to wait for, and
// stamps never run backwards within a draw (draw protocol, version 1).
//
// # Clock and chance
//
// The package has no clock and no random source of its own. The time of a move
// is an argument; random bytes come from [Host.Rand]. Times are UTC in whole
// seconds; what is handed in is cut down to the second.
//
// # Left to others
//
// Storing (store), entries (entries), the texts and the arithmetic of the draw
// (draw), fetching a beacon value (draw/relay), pages (web).
package giveaway
