// Package migrations holds the schema: numbered SQL files, one folder for
// both databases, run in order, each in one transaction, each recorded.
//
// To change the schema, add the next number; a file that was released is
// never edited. Keep to what PostgreSQL and SQLite both read: text, bigint
// (times are Unix seconds), boolean, bytea, named constraints, partial
// indexes. No serial, no timestamp, no JSON operators. Columns that are read
// in order bear COLLATE "C": bytes, not the rules of a language. Every
// constraint is named after its rule, with a comment above it.
package migrations

import "embed"

// Files are the migrations. The part of a name before "_" is its number.
//
//go:embed *.sql
var Files embed.FS
