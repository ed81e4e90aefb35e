// Package store keeps giveaways, entries, publications, claims and sessions in
// a database: PostgreSQL, or SQLite where none is set up. All SQL of the
// program is here.
//
// [Open] connects and brings the schema up to date. A [DB] then implements
// the small interfaces that the packages giveaway, entries and claims declare.
// Each writing method is one whole business step: it decides inside one
// transaction and returns when the step is durable. No transaction crosses a
// method, so no caller can read, think and then write on what has changed
// meanwhile.
//
// Three rules hold everything together.
//
// The edge of the lock: whoever writes an entry first takes the giveaway's
// row under a shared lock and reads state, times and opening from it; the
// entry's stamp comes from there. Whoever moves the giveaway (a revision, the
// lock) takes the row alone, and stamps itself later than every entry that is
// already written. So no receipt can bear a time that the files contradict.
//
// Moves are compare-and-swap: a method that moves a giveaway from one state
// to the next returns [giveaway.ErrState] when somebody else was first.
//
// Bytes are written once: what was published keeps its bytes. A name may
// point at newer ones (opening.txt after a revision), and the old ones stand
// under their kept name (opening.1.txt).
//
// SQL is written once for both databases. What differs (locks, errors that
// mean "try again") sits in one small dialect value.
//
// What is dropped shall be gone. SQLite overwrites it in the file and, a moment
// later and at Close, empties its log; PostgreSQL clears away when it vacuums.
// What a file system or a backup still has of it is out of reach here.
//
// Secrets are sealed by the vault before they get here or in the method that
// stores them; tokens and links are kept as hashes. Of a claim this package
// sees ticket, times and kinds; all that a person wrote comes sealed. Errors name what was
// being done and never carry a value of an entry.
package store
