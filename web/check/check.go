// Package check is the check of a publication in a viewer's own browser: plain
// scripts that anybody can read, joined into one as they are, without a build
// step. It agrees with package draw, whose check the command line runs, in
// every finding; the tests here hold both against each other.
//
// Start with about.js, which says how the script is made up. [Script] is what
// the site serves beside its page; [Copy] is the same script in one document
// that needs nothing else: beside a publication's files on any web server, or
// saved on disk.
package check

import (
	"bytes"
	"embed"

	"evenhand/draw"
)

//go:embed *.js
var sources embed.FS

// parts are the files of the script, in the order in which they are joined.
var parts = []string{"about.js", "sha256.js", "ed25519.js", "text.js", "note.js", "files.js", "lists.js", "order.js", "relays.js",
	"check.js", "receipts.js", "statement.js", "sources.js", "worker.js", "page.js", "start.js"}

// Script is the whole script. It ends with the table of the statement's
// sentences, which package draw reads too.
func Script() []byte {
	var b bytes.Buffer
	for _, name := range parts {
		text, err := sources.ReadFile(name)
		if err != nil {
			panic("check: " + err.Error())
		}
		if name == "start.js" {
			b.WriteString("\n// ==== draw/statement.json ====\n\nconst statementTable = ")
			b.Write(bytes.TrimSpace(draw.StatementTable))
			b.WriteString(";\n")
		}
		if name != "about.js" {
			b.WriteString("\n// ==== " + name + " ====\n\n")
		}
		b.Write(text)
	}
	return b.Bytes()
}
