// Package sample loads three invented giveaways, so that somebody can try the
// whole program within a minute: one that takes entries, one to be locked and
// drawn at the desk, one that is finished.
//
// Everything goes through the same doors as real giveaways: [giveaway.Host]
// makes the moves, [entries.Intake] takes the entries, one at a time. Only the
// time that is handed to them is earlier than it is, so that a giveaway can
// have a past. The channel, the shop and the people are invented; their
// addresses are of domains that are reserved for examples (RFC 2606).
//
// Start with [Loader.Load]. It leaves alone what an earlier run has loaded and
// finishes what an earlier run began.
package sample
