// Package draw is the draw protocol, version 1: what a giveaway publishes so
// that anyone can check its draw, byte for byte. It is pure: bytes, times and
// random readers come in, values come out; no clock, network, SQL or logger.
// The server, the command line and a stranger's check run this same code.
//
// # The story
//
// Before the first entry the host seals a secret ([Seal]) and publishes an
// [Opening]: when entries open and close, when the event is, how many win, the
// hash of the rules, the hash of each sealed secret, and the public beacon
// that will be used. Each entrant gets a [Ticket], a signed [Receipt] and the
// text of the entry ([EntryText]) whose hash, the commitment, stands on the
// list. After closing, the list is written ([ListWriter]: roll and excluded)
// and its hash signed in a [Freeze]. At the event the secrets are opened and
// the beacon's value is read; from these [ComputeSeed] makes the seed, and the
// order of the draw is the order of [Score] of every ticket ([Order]). The
// [Record] says all of it, the [Outcome] what became of each place.
// [Cancelled] explains a draw that will never be made.
//
// # Where to start
//
// [Check] reads a publication through [io/fs] and answers with a [Report].
// [Compare] looks for two faces: notes of one key that contradict each other.
// [MakeRecord] makes a draw. Each text has a printer (Text) and an exact
// parser (ParseOpening and so on): what parses prints back to the same bytes,
// and anything else is a [SyntaxError] with file, line and what was expected.
//
// Every hash is SHA-256 (FIPS 180-4) of text that a person can read. Times are
// UTC in whole seconds.
package draw
