// Package entries takes entries: from a form, through a decision, to a ticket,
// a commitment and a receipt; and what an entrant may change afterwards. It
// also reads entries from a CSV file of any other form.
//
// # Where to start
//
// [Decide] is pure: a [Form], the terms and the time give a [Verdict], which
// is exactly one of accepted, fields to put right, or a refusal. [Intake] puts
// it to work for the service: Enter, Mine, ChangeSize, Withdraw. [Import] puts
// it to work for a file. [Look] says what anybody may know of a ticket, from
// the published lists alone.
//
// # Addresses
//
// [Canonical] turns a typed address into the key that counts for duplicates.
// The key is ours to choose, the address is not ours to change: mail always
// goes to [Address.Typed]. [Suggest] finds near misses of common domains and
// changes nothing.
//
// # What it promises
//
// One ticket for each key in a giveaway; the [Store]'s own constraint settles
// it. A ticket's number and its private link are independent random values;
// only a hash of the link is stored. Receipts are not stored: Ed25519 gives
// the same bytes for the same row each time.
//
// No error of this package bears an address, a name or anything else typed.
package entries
