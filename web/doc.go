// Package web is the service as people and programs meet it: addresses, forms,
// pages, JSON. Each handler decodes what was sent, calls a room (giveaway,
// entries, draw) and renders; no rule of a giveaway is decided here, and no
// SQL is known.
//
// # Where to start
//
// [New] makes the handler from a [Config]. All addresses stand in routes.go;
// those of the desk in desk_routes.go. Files named public_*.go serve viewers,
// desk_*.go the creator, claim_*.go a winner and sponsor_*.go the sponsor.
// render.go turns a named struct and a template of pages/ into a page; errors.go is the one table from errors to statuses;
// words.go holds the sentences and the plain word for each thing.
//
// # What it promises
//
// Every page works without script, asks no other host for anything and
// bears headers that forbid it to. A GET changes nothing, but that the desk's
// first look at a drawn place makes its winner's link, and that a visit to the
// sponsor's page is noted. Unsafe requests from other origins are refused ([http.CrossOriginProtection]), so forms carry no
// tokens. No log line holds an address of the network, a path, a query, a user
// agent or anything typed: a line has the route's pattern, the draw id, the
// request id and the status.
//
// # What it tells
//
// Without mail the answer to an entry tells the sender whether an address has
// entered already (409). Mail with a link will end that. The very same form
// sent again is told its private page as before: it bears 128 random bits of
// its own that nobody else knows (entries.Form). Programs send theirs in the
// header Idempotency-Key.
package web
