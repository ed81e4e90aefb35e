"use strict";
// How a draw is checked, in your own browser.
//
// This script reads a publication: a folder of text files in which a giveaway
// published its terms, its list of tickets and its draw. It does every step
// again and says what fits and what does not. It needs no other script and
// asks nobody for anything but the files themselves and, for one number, the
// public relays of the network that made it.
//
// To understand a draw, read in this order:
//
//   sha256.js     the one-way function that every step is made of
//   ed25519.js    is this text signed by that key?
//   text.js       the exact form of lines, numbers, times
//   note.js       a signed text
//   files.js      what stands in each file
//   lists.js      the list of tickets; each ticket's number ("score")
//   order.js      what may change later, and whose turn it is
//   relays.js     what the public number's own relays say
//   check.js      the check itself; its steps are in the files check*.js
//   receipts.js   a proof of entry against the list; what a paper can not prove
//   statement.js  what all this proves, and what it does not
//   sources.js    reading files from an address, or from a folder on disk
//   worker.js     the check beside the page, so that the page stays quick
//   prose.js      the sentences that are shown
//   page.js       the page
//
// The server joins these files, as they are, into one script; nothing is
// translated or shortened on the way. The same script runs in the page and in
// the worker that the page starts.
//
// Every text is kept as a string with one character for each byte, so that
// what is hashed is what was published.
//
// For a drawing of all tickets
//
// When the worker is done it posts {type: "done", report, line}. line is null
// before a draw; after one it is
//
//   scores    Float64Array, one for each ticket in the order of roll.txt: the
//             first 52 bits of its score as a number from 0 (included) to 1
//             (excluded). Handed over, not copied.
//   sorted    the same numbers, ascending
//   places    [{place, ticket, score, line, share}], the first places in order;
//             line counts from 1: the ticket's line in roll.txt, so that
//             scores[line - 1] === share
//   own       [{ticket, line, share, rank}], the viewer's own tickets; rank is
//             the place in the order of all tickets, from 1
//   winners   how many places win
//
// The page then dispatches it as a CustomEvent "evenhand:line" on document,
// with that object as its detail, and in it ticketAt(line), which promises the
// ticket of a line. When it comes, the page has an empty, hidden element
// #check-line below the winner, to draw in. After it comes "evenhand:checked",
// with the report.
